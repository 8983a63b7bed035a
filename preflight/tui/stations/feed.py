"""Station 9: where the boards go, as a pattern a person can follow, and what has been fed so far.

The computed places stand from the start; what was really fed plans the rest anew at each key.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from preflight.checks.feed.feed_progress import progress
from preflight.checks.feed.feed_task import FeedTask, chosen_plan, task_for
from preflight.checks.feed.feed_words import named_by, next_name, turns
from preflight.quantities import Kind, QuantityError, parse
from preflight.tui.rows import Choice, Row
from preflight.tui.stations.feed_picture import picture

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preflight.engine.boards import Placement
    from preflight.tui.run import Run

__all__ = ["picture", "rows", "tally"]

AS_COMPUTED = "computed places"
MIDDLE = "all down the middle"
EXTRA = (2, 5, 10)
"""Feeds more than the fewest that can be chosen; a sheet may state any number."""
HINT = 112
"""Characters on the two lines of a hint."""
SHOWN = 30
"""Characters of a fact on one line at 80 columns."""
MOST_FEEDS = 6
"""Different feeds with a line of their own."""
CARE = "Gloves off near the infeed; stand beside, not in line."
_TALLY = re.compile(
    r"(?:(?P<part>[1-9][0-9]?)@)?(?P<at>[0-9]+(?:[.,][0-9]+)?)(?P<unit>mm|in)?(?:x(?P<count>[1-9][0-9]{0,4}))?"
)


def rows(run: Run) -> list[Row]:
    """How it is fed, the pattern, what goes in next, and the tallies."""
    if run.view is None or run.sheet is None:
        return []
    task = task_for(run.sheet, run.view, run.history)
    if not isinstance(task, FeedTask):
        return []
    asked = [_way(task)]
    try:
        followed = chosen_plan(run.sheet, task)
        rest = progress(run.sheet, task, followed).rest
    except ValueError:  # said by the check; what was typed must stay within reach
        return [*asked, *_tallies(task)]
    units, count = run.view.machine.units, named_by(run.sheet, task)
    taken = turns(followed, task, count, units)
    from_edge = "" if count is not None else f", {Kind.LENGTH.unit_in(units)}"
    lots = f", {task.lots} lots" if task.lots > 1 else ""
    following = rest.rows[0] if rest.feeds else ()
    first = next(
        (name for name, row in zip(taken.feeds, followed.different, strict=True) if _lies_in(following, row)), None
    )
    asked += [
        Row(
            f"feed.pattern.{letter}",
            f"{'next: ' if first == (letter, places) else ''}feed {letter}{from_edge}",
            shown=places.replace(f" {Kind.LENGTH.unit_in(units)}", ""),
            hint="Left edge of each board, from the left end of the width in use.",
        )
        for letter, places in taken.feeds[:MOST_FEEDS]
    ]
    if first not in taken.feeds[:MOST_FEEDS]:
        told = next_name(rest, task, count, units) or "all fed"
        asked.append(Row("feed.next", "next", shown=told, hint="Left edge of each board. Widest boards first."))
    more = f"and {len(taken.feeds) - MOST_FEEDS} feeds more; " if len(taken.feeds) > MOST_FEEDS else ""
    asked.append(
        Row(
            "feed.pattern",
            f"in turn, {followed.share_of_best:.0%} of best",
            shown=f"{followed.feeds} feeds{lots}, see below" if more or len(taken.in_turn) > SHOWN else taken.in_turn,
            hint=_clipped(f"{more}{taken.in_turn}"),
            subjects=("feeds", "turns", "wear"),
        )
    )
    return [*asked, *_tallies(task)]


def _lies_in(row: Sequence[Placement], feed: Sequence[Placement]) -> bool:
    """Whether a feed is that one, or that one less boards."""
    return bool(row) and {(p.part, p.left_edge) for p in row} <= {(p.part, p.left_edge) for p in feed}


def _clipped(text: str) -> str:
    return text if len(text) <= HINT else f"{text[: HINT - 12].rsplit(';', 1)[0]}; and so on"


def _way(task: FeedTask) -> Row:
    middle = [
        {"part": index + 1, "left_edge": f"{(task.belt.left + (task.belt.width - part.width) / 2) * 1000:.1f} mm"}
        for index, part in enumerate(task.parts)
    ]
    trade, at = ("feed", "trade"), ("feed", "at")
    choices = [
        Choice(AS_COMPUTED),
        Choice("as even as can be", ((trade, "evenest"),)),
        Choice("fewest feeds", ((trade, "fewest"),)),
        *(Choice(f"at most {extra} feeds more", ((trade, extra),)) for extra in EXTRA),
    ]
    if task.marks is not None:
        choices += [Choice("at the marks", ((at, "marks"),)), Choice("at any place", ((at, "any place"),))]
    return Row(
        "feed.way",
        "fed at",
        choices=(*choices, Choice(MIDDLE, ((("feed", "boards"), middle),))),
        hint=CARE,
        subjects=("evenness", "places", "run time", "feed speed"),
        optional=True,
        stands=AS_COMPUTED,
    )


def _tallies(task: FeedTask) -> list[Row]:
    second = "  2@7 part 2" if len(task.parts) > 1 else ""
    return [
        Row(
            "feed.fed",
            "fed so far",
            ("feed", "fed"),
            reads=tally(task),
            hint=f"+12 feeds as shown; else boards: 7 at place 7  7x3  120mm{second}. In order: +3 7 +9",
            subjects=("fed",),
            optional=True,
            long=True,
        ),
    ]


def tally(task: FeedTask) -> Callable[[str], list[dict[str, Any]]]:
    """Reader of what was fed, in its order: "+12" feeds as planned, "7", "7x3", "120mm", "2@7" boards elsewhere."""

    def read(typed: str) -> list[dict[str, Any]]:
        return [_fed(word, task) for word in re.split(r"[\s;]+", typed.strip())]

    return read


def _fed(word: str, task: FeedTask) -> dict[str, Any]:
    if re.fullmatch(r"\+[1-9][0-9]{0,4}", word):
        return {"feeds": int(word[1:])}
    found = _TALLY.fullmatch(word)
    if found is None:
        raise ValueError(f"{word!r}: write +12 for 12 feeds as shown, 7 for a board at place 7, 7x3, 120mm.")
    part = int(found["part"] or 1)
    if part > len(task.parts):
        raise ValueError(f"{word!r}: the job has {len(task.parts)} parts.")
    one: dict[str, Any] = {"part": part, "count": int(found["count"] or 1)}
    if found["unit"]:
        return one | {"left_edge": _from_left(f"{found['at']} {found['unit']}", task)}
    if not found["at"].isdigit():
        raise ValueError(f"{word!r}: a distance has its unit, 120.5mm.")
    task.left_of(part - 1, int(found["at"]))  # refuses a place that is not there
    return one | {"place": int(found["at"])}


def _from_left(text: str, task: FeedTask) -> str:
    try:
        return f"{(parse(text, Kind.LENGTH).value + task.belt.left) * 1000:.1f} mm"
    except QuantityError as error:
        raise ValueError(str(error)) from error
