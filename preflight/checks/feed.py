"""Station 9: where each board goes over the width, and how even that is against the best these parts allow.

Wear, evenness and belt economy are never a stop; a board where none may lie is.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.feed_run import carried_parts, speed_findings, time_finding
from preflight.checks.feed_task import (
    EVENEST,
    FeedTask,
    TooWide,
    chosen_plan,
    left_to_feed,
    planned,
    task_for,
)
from preflight.checks.feed_words import named_by, next_name, pattern_blocks
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.engine.coverage import exposure_over
from preflight.engine.part_limits import SAME_THICKNESS, thickness_step
from preflight.quantities import Kind, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.engine.coverage import Exposure
    from preflight.engine.lanes import FeedPlan
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView

ACTIONS = ("computed places followed from here", "too few boards to matter", "lead told")
LEFT_BARE = 0.01
"""Share of the width by which a given pattern may leave more bare than the computed places."""
MIDDLE = 0.05
"""A board whose middle is this near to the belt's, as a share of the width, goes down the middle."""


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
        rest = left_to_feed(sheet, task, followed)
    except ValueError as error:
        text = str(error)
        remedy = "Give the board another place, clear of margin and keep-off strip, or count again."
        return [_stop("places", f"{text[0].upper()}{text[1:]}.", remedy, "conveyor.edge_margin", shop), *found]
    return [
        _evenness(followed, rest, task, sheet, shop),
        *_turns(followed, task, sheet),
        _feeds(followed, rest, task, sheet, shop),
        *time_finding(followed, task, sheet, shop),
        *_worn(followed, task, shop),
        *found,
    ]


def _stop(subject: str, statement: str, remedy: str, field: str, shop: ShopView) -> Finding:
    source = shop.machine.book or "profile, source not named"
    return Finding(subject, Verdict.STOP, statement, remedy, basis=field, source=source)


def _evenness(followed: FeedPlan, rest: FeedPlan | None, task: FeedTask, sheet: SetupSheet, shop: ShopView) -> Finding:
    """Three figures, three names; below what these parts allow it says why, by how much, and where to feed next."""
    units, share, given = shop.machine.units, followed.share_of_best, bool(sheet.feed.boards)
    width = task.belt.width
    unused = show(followed.unused_width, Kind.LENGTH, units)
    middle = f"; all down the middle {followed.centre.share_of_best:.0%}" if followed.centre else ""
    count = named_by(sheet, task)
    figures = (
        f"share_of_best = bound {followed.bound:.2f} m / peak {followed.peak:.2f} m = {share:.3f}; "
        f"mean_over_peak {followed.mean_over_peak:.2f}; lowest_over_peak {followed.lowest_over_peak:.2f}; "
        f"pattern: {'; '.join(pattern_blocks(followed, task, count, units)[:4])}"
    )
    verdict, remedy = Verdict.CAUTION, ""
    best = planned(replace(task, places=None, trade=EVENEST)) if given or share < defaults.EVENNESS else followed
    bare = given and followed.unused_width > best.unused_width + LEFT_BARE * width
    if share >= defaults.EVENNESS - 1e-9 and not bare:
        verdict = Verdict.OK
        statement = f"These places use the belt {share:.0%} as evenly as these parts allow{middle}."
        if all(part.width > width / 2 for part in task.parts):
            statement = (
                "Parts wider than half the belt: hard left and hard right in turn is all there is, "
                f"{share:.0%} of the best."
            )
    elif given:
        better = planned(task)
        first = next_name(rest if rest is not None and sheet.feed.fed else better, task, task.places, units)
        remedy = f"Next: {first}. The computed places reach {better.share_of_best:.0%} in {better.feeds} feeds."
        even = f"{share:.0%} of the best evenness, " if share < defaults.EVENNESS else ""
        statement = f"{unused} of the width never used."
        if _down_the_middle(followed, task):
            hollow = "Parts sent down the middle only wear a hollow in drum and belt: "
            statement = f"{hollow}{even}{statement}"
        else:
            statement = f"These places wear the belt unevenly: {even}{statement}"
    elif sheet.feed.trade != EVENEST:
        statement = (
            f"Few feeds were chosen over evenness: {followed.feeds} feeds wear the belt {share:.0%} as evenly "
            "as these parts allow."
        )
        remedy = (
            f"The evenest plan takes {best.feeds - followed.feeds} feeds more and reaches {best.share_of_best:.0%}."
        )
    elif task.places is not None:
        statement = f"The {task.places} marks do not suit these widths: {share:.0%} as even as these parts allow."
        remedy = (
            f"Feed by distance from the left edge, not by the marks: {best.share_of_best:.0%} in {best.feeds} feeds."
        )
    else:
        statement = f"No places were found that use the belt more than {share:.0%} as evenly as it may be possible."
        remedy = "Nothing to do: follow the computed places."
    return Finding(
        "evenness",
        verdict,
        statement,
        remedy,
        f"{share:.3f}",
        basis="share of best, good from 90 %",
        source=defaults.PRACTICE,
        workings=figures,
        actions=ACTIONS if verdict is Verdict.CAUTION else (),
    )


def _down_the_middle(followed: FeedPlan, task: FeedTask) -> bool:
    middle = task.belt.left + task.belt.width / 2
    centres = (p.left_edge + task.parts[p.part].width / 2 for p in followed.placements)
    return all(abs(centre - middle) <= MIDDLE * task.belt.width + 1e-9 for centre in centres)


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
    places = len({(p.part, round(p.left_edge, 4)) for p in followed.placements})
    if again > len(rows) - places and again > len(rows) // 4:
        yield Finding(
            "turns",
            Verdict.CAUTION,
            f"{again} of {len(rows)} feeds go where the one before them went: that strip of the belt gets hot.",
            "Change sides from feed to feed.",
            basis="no place twice running",
            source=defaults.PRACTICE,
            actions=("sides changed", "lead told"),
        )


def _feeds(followed: FeedPlan, rest: FeedPlan | None, task: FeedTask, sheet: SetupSheet, shop: ShopView) -> Finding:
    units = shop.machine.units
    unused = show(followed.unused_width, Kind.LENGTH, units)
    more = followed.feeds - followed.fewest_feeds
    lot = f" in each of {task.lots} lots alike" if task.lots > 1 else ""
    if more > 0 and not sheet.feed.boards:
        traded = f"{more} more than full rows abreast would take, for evenness"
    else:
        traded = "as few as any found" if more <= 0 else f"full rows abreast would take {followed.fewest_feeds}"
    now = ""
    if sheet.feed.done or sheet.feed.fed:
        name = next_name(rest, task, named_by(sheet, task), units)
        now = f" Next: {name}." if name else " All fed."
    return Finding(
        "feeds",
        Verdict.OK,
        f"{followed.feeds} feeds{lot}, {traded}; {unused} of the width unused.{now}",
        workings=f"usable width {show(task.belt.width, Kind.LENGTH, units)} less keep-off strips "
        f"{len(task.belt.keep_off)}, gap abreast 25 mm, common practice, no source",
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


def worn_before(task: FeedTask) -> Exposure:
    """The wear map that the plan starts from."""
    return exposure_over(task.wear, task.belt.segments)


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
