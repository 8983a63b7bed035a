"""Station 9: where the boards go, as a pattern a person can follow, and what has been fed so far.

The computed places stand from the start; what was really fed plans the rest anew at each key.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from preflight.checks.feed_task import FeedTask, chosen_plan, left_to_feed, task_for
from preflight.checks.feed_words import named_by, next_name, pattern_blocks
from preflight.quantities import Kind, QuantityError, parse
from preflight.tui.rows import Choice, Row, whole
from preflight.tui.stations.feed_picture import picture

if TYPE_CHECKING:
    from collections.abc import Callable

    from preflight.tui.run import Run

__all__ = ["picture", "rows", "tally"]

AS_COMPUTED = "computed places"
MIDDLE = "all down the middle"
EXTRA = (2, 5, 10)
"""Feeds more than the fewest that can be chosen; a sheet may state any number."""
CARE = "Gloves off near the infeed; stand beside it, not in line."
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
        rest = left_to_feed(run.sheet, task, followed)
    except ValueError:  # said by the check; what was typed must stay within reach
        return [*asked, *_tallies(task)]
    units, count = run.view.machine.units, named_by(run.sheet, task)
    blocks = pattern_blocks(followed, task, count, units)
    lots = f", {task.lots} lots" if task.lots > 1 else ""
    asked += [
        Row(
            "feed.pattern",
            f"{followed.share_of_best:.0%} of best, {followed.feeds} feeds"[:26],
            shown=blocks[0] if len(blocks[0]) <= 60 else f"{len(followed.rows)} feeds, in the picture{lots}",
            hint=_hint(blocks),
            subjects=("feeds", "turns"),
        ),
        Row(
            "feed.next",
            "next",
            shown=next_name(rest, task, count, units) or "all fed",
            hint="Left edge of each board, from the left end of the width in use. Widest boards first.",
            subjects=("wear",),
        ),
    ]
    return [*asked, *_tallies(task)]


def _way(task: FeedTask) -> Row:
    middle = [
        {"part": index + 1, "left_edge": f"{(task.belt.left + (task.belt.width - part.width) / 2) * 1000:.1f} mm"}
        for index, part in enumerate(task.parts)
    ]
    trade, at = ("feed", "trade"), ("feed", "at")
    choices = [
        Choice(AS_COMPUTED),
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


def _hint(blocks: list[str]) -> str:
    """As much of the pattern as two lines hold."""
    text = "; then ".join(blocks)
    return text if len(text) <= 112 else f"{len(blocks)} blocks; the picture and F3 show them."


def _tallies(task: FeedTask) -> list[Row]:
    return [
        Row(
            "feed.done",
            "feeds done as planned",
            ("feed", "done"),
            reads=whole,
            hint="Count up as you go; what goes in next stands above.",
            subjects=("places",),
            optional=True,
        ),
        Row(
            "feed.elsewhere",
            "boards fed elsewhere",
            ("feed", "fed"),
            reads=tally(task),
            hint=f"Place, or distance from the left edge: 7  7x3  120mm{'  2@7 is part 2' if len(task.parts) > 1 else ''}",
            subjects=("places",),
            optional=True,
        ),
    ]


def tally(task: FeedTask) -> Callable[[str], list[dict[str, Any]]]:
    """Reader of boards fed elsewhere: "7", "7x3", "120mm", "2@7" for part 2, parted by blanks or commas."""

    def read(typed: str) -> list[dict[str, Any]]:
        fed: list[dict[str, Any]] = []
        for word in re.split(r"[\s;]+", typed.strip()):
            found = _TALLY.fullmatch(word)
            if found is None:
                raise ValueError(f"{word!r} is no place: 7 is place 7, 7x3 three boards there, 120mm a distance.")
            part = int(found["part"] or 1)
            if part > len(task.parts):
                raise ValueError(f"{word!r}: the job has {len(task.parts)} parts.")
            one: dict[str, Any] = {"part": part, "count": int(found["count"] or 1)}
            if found["unit"]:
                one["left_edge"] = _from_left(f"{found['at']} {found['unit']}", task)
            elif found["at"].isdigit():
                one["place"] = int(found["at"])
                task.left_of(part - 1, one["place"])
            else:
                raise ValueError(f"{word!r}: a distance has its unit, 120.5mm.")
            fed.append(one)
        return fed

    return read


def _from_left(text: str, task: FeedTask) -> str:
    try:
        return f"{(parse(text, Kind.LENGTH).value + task.belt.left) * 1000:.1f} mm"
    except QuantityError as error:
        raise ValueError(str(error)) from error
