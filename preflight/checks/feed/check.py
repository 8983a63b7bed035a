"""Station 9: where each board goes over the width, and how even that is against the best these parts allow.

Wear, evenness and belt economy are never a stop; a board where none may lie is.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from preflight.checks.feed.feed_evenness import LEFT_BARE, evenness, worn_before
from preflight.checks.feed.feed_progress import progress
from preflight.checks.feed.feed_run import carried_parts, speed_findings, time_finding
from preflight.checks.feed.feed_task import (
    FeedTask,
    TooWide,
    chosen_plan,
    task_for,
)
from preflight.checks.feed.feed_words import named_by, next_name
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.engine.lane_cells import NoMarkFreeError
from preflight.engine.lanes import LEAST_GAP
from preflight.engine.part_limits import SAME_THICKNESS, thickness_step
from preflight.quantities import Kind, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.engine.lanes import FeedPlan
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Evenness of the plan accepted or given, feeds, run time, feed speed, and what may not lie where it lies."""
    job = shop.job(sheet)
    if job is None:
        what = "Without a job card there are no parts to place."
        return [missing("job", what, "Pick the job card at the first station.", "job")]
    found = [*carried_parts(job, shop), *speed_findings(sheet, shop)]
    task = task_for(sheet, shop, history)
    if not isinstance(task, FeedTask):
        assert isinstance(task, TooWide)  # the job is there
        return [_stop("width", task.statement, task.remedy, "conveyor.working_width", shop), *found]
    found += _abreast(sheet, task, shop)
    try:
        followed = chosen_plan(sheet, task)
    except NoMarkFreeError as error:
        remedy = "Feed it at any place, not at the marks, or wash or change the belt."
        return [_stop("places", _sentence(error), remedy, "conveyor.places", shop), *found]
    except ValueError as error:
        remedy = "Give the board another place, clear of margin and keep-off strip."
        return [_stop("places", _sentence(error), remedy, "conveyor.edge_margin", shop), *found]
    rest = followed
    try:
        rest = progress(sheet, task, followed).rest
    except ValueError as error:
        found.append(missing("fed", _sentence(error), "Count again what was fed so far.", "feed.fed"))
    return [
        evenness(followed, rest, task, sheet, shop),
        *_turns(followed, task, sheet),
        _feeds(followed, rest, task, sheet, shop),
        *time_finding(followed, task, sheet, shop),
        *_worn(followed, task, shop),
        *found,
    ]


def _sentence(error: ValueError) -> str:
    text = str(error)
    return f"{text[0].upper()}{text[1:]}."


def _stop(subject: str, statement: str, remedy: str, field: str, shop: ShopView) -> Finding:
    source = shop.machine.source
    return Finding(subject, Verdict.STOP, statement, remedy, basis=field, source=source)


def _turns(followed: FeedPlan, task: FeedTask, sheet: SetupSheet) -> Iterator[Finding]:
    """The same place twice running, with another free, makes that strip of the belt hot."""
    if not sheet.feed.boards or followed.share_of_best < defaults.EVENNESS:
        return
    rows = followed.rows
    again = sum(
        1
        for one, two in itertools.pairwise(rows)
        if {(p.part, round(p.left_edge, 4)) for p in one} & {(p.part, round(p.left_edge, 4)) for p in two}
        and any(task.belt.width - task.parts[p.part].width > LEFT_BARE * task.belt.width for p in two)
    )
    if again > len(rows) // 4:
        yield Finding(
            "turns",
            Verdict.CAUTION,
            f"{again} of {len(rows)} feeds go where the one before them went: that strip of the belt gets hot.",
            "Change sides from feed to feed.",
            basis="no place twice running",
            source=defaults.PRACTICE,
            actions=("kept for this lot", "lead told"),
        )


def _feeds(followed: FeedPlan, rest: FeedPlan, task: FeedTask, sheet: SetupSheet, shop: ShopView) -> Finding:
    units = shop.machine.units
    unused = show(followed.unused_width, Kind.LENGTH, units)
    more = followed.feeds - followed.fewest_feeds
    lot = f" in each of {task.lots} lots alike" if task.lots > 1 else ""
    if more > 0 and not sheet.feed.boards:
        traded = f"{more} more than full rows abreast would take, for evenness"
    else:
        traded = "as few as any found" if more <= 0 else f"full rows abreast would take {followed.fewest_feeds}"
    now = ""
    if sheet.feed.fed:
        name = next_name(rest, task, named_by(sheet, task), units)
        now = f" Next: {name}." if name else " All fed."
    return Finding(
        "feeds",
        Verdict.OK,
        f"{followed.feeds} feeds{lot}, {traded}; {unused} of the width unused.{now}",
        workings=f"usable width {show(task.belt.width, Kind.LENGTH, units)} less keep-off strips "
        f"{len(task.belt.keep_off)}, gap abreast {show(LEAST_GAP, Kind.LENGTH, units)}, common practice, no source",
    )


def _worn(followed: FeedPlan, task: FeedTask, shop: ShopView) -> Iterator[Finding]:
    """What the belts have seen before, and what this job makes of it. Wear is never a stop."""
    before = worn_before(task)
    if before.peak <= 0.0:
        return
    place = max(before.strips, key=lambda strip: strip.exposure)
    at = show(task.on_bed + (place.start + place.end) / 2, Kind.LENGTH, shop.machine.units)
    yield Finding(
        "wear",
        Verdict.OK,
        f"The belts are worn most at {at} from the bed's left edge; lowest_over_peak goes from "
        f"{before.lowest_over_peak:.2f} to {followed.lowest_over_peak:.2f}.",
        workings=f"mean_over_peak {before.mean_over_peak:.2f} before, {followed.mean_over_peak:.2f} after; "
        f"most-used strip {before.peak * task.lots:.0f} m before",
    )


def _abreast(sheet: SetupSheet, task: FeedTask, shop: ShopView) -> Iterator[Finding]:
    """Two thicknesses abreast: the thinner board is loose under the rollers and is thrown back."""
    rows: dict[int, list[int]] = {}
    for board in sheet.feed.boards:
        if board.row is not None and board.part <= len(task.parts):
            rows.setdefault(board.row, []).append(board.part)
    for row, parts in rows.items():
        over = thickness_step([task.parts[part - 1].thickness for part in parts])
        if over <= 0.0:
            continue
        units = shop.machine.units
        step, allowed = show(over + SAME_THICKNESS, Kind.LENGTH, units), show(SAME_THICKNESS, Kind.LENGTH, units)
        names = " and ".join(str(part) for part in sorted(set(parts)))
        yield Finding(
            f"abreast {row}",
            Verdict.STOP,
            f"Row {row} takes parts {names} abreast: {step} apart in thickness, {allowed} is the most.",
            "Feed one thickness at a time: the thinner board is loose under the rollers and is thrown back.",
            basis="thickness abreast",
            source=defaults.MEMORY,
        )
