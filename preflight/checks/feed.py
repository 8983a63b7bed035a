"""Station 9: where each board goes over the width, and how even that is against the best these parts allow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import basis, judged, missing
from preflight.engine.boards import Part, Placement, Usable, usable_width
from preflight.engine.coverage import Strip
from preflight.engine.lanes import FeedPlan, evaluate, plan
from preflight.quantities import Kind, show
from preflight.shop.cards import keep_off_strips
from preflight.shop.defaults import GLUE_MARGIN

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.cards import BeltCard, JobCard
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView

GOOD_SHARE = 0.9
"""Share of best below this asks for another place; wear is never a stop. Common practice, no source."""
GAP = 0.025
"""Room between boards abreast, m. Common practice, no source."""
SAME_THICKNESS = 0.0005
"""Parts whose thickness differs by more than this, m, never go abreast."""


@dataclass(frozen=True, slots=True)
class FeedTask:
    """What the planner works on."""

    parts: tuple[Part, ...]
    belt: Usable
    wear: tuple[Strip, ...]
    places: int | None

    def left_of(self, part: int, place: int) -> float:
        """Left edge of a part at a marked place, counted from 0; without marks, of ten places."""
        count = self.places or 10
        free = self.belt.width - self.parts[part].width
        return self.belt.left + free * place / (count - 1)


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Evenness of the plan accepted or given, unused width, feed speed and run time."""
    job = shop.job(sheet)
    if job is None:
        return [
            missing(
                "job",
                "Without a job card there are no parts to place.",
                "Pick the job card at the first station.",
                "job",
            )
        ]
    found = list(_speed(sheet, shop))
    task = task_for(sheet, shop, history)
    if not isinstance(task, FeedTask):
        task = task or "there are no parts to place"
        return [
            Finding(
                "width",
                Verdict.STOP,
                f"{task[0].upper()}{task[1:]}.",
                "Run these parts on a wider machine, or turn them.",
                basis="conveyor.working_width",
                source=shop.machine.book,
            ),
            *found,
        ]
    try:
        chosen = _chosen(sheet, job, task)
    except ValueError as error:
        text = str(error)
        return [
            Finding(
                "places",
                Verdict.STOP,
                f"{text[0].upper()}{text[1:]}.",
                "Give the board another place, clear of margin and keep-off strip.",
                basis="conveyor.edge_margin",
                source=shop.machine.book,
            ),
            *found,
        ]
    return [*_evenness(chosen, task, sheet, shop), *found]


def task_for(sheet: SetupSheet, shop: ShopView, history: History | None) -> FeedTask | str | None:
    """The planner's task for the sheet's job; text says why these parts cannot be placed, None without a job."""
    job = shop.job(sheet)
    if job is None:
        return None
    machine, bed = shop.machine, shop.machine.conveyor.working_width.value
    running = [(on, card) for on in sheet.belts if not on.lifted and (card := shop.belt(on))]
    frame = min([bed, *(card.width.value for _, card in running if card.width)])
    strips = [
        strip for on, card in running if (head := machine.head(on.head)) for strip in _keep_off(card, head, frame)
    ]
    try:
        usable = usable_width(frame, bed, machine.conveyor.edge_margin.value, strips)
        parts = tuple(_occupied(job))
    except ValueError as error:
        return str(error)
    widest = max(right - left for left, right in usable.segments)
    for part in parts:
        if part.width > widest:
            over = show(part.width - widest, Kind.LENGTH, machine.units)
            skewed = f" under {job.skew_degrees:g}° skew" if job.skew_degrees else ""
            return f"a part takes {show(part.width, Kind.LENGTH, machine.units)}{skewed}, {over} more than the usable width"
    worn = [
        strip
        for on in sheet.belts
        if history and isinstance(on.card, str)
        for strip in history.belt_wear.get(on.card, ())
    ]
    wear = tuple(Strip(s.left, s.right, s.metres) for s in worn)
    return FeedTask(parts, usable, wear, machine.conveyor.places.count if machine.conveyor.places else None)


def _keep_off(card: BeltCard, head: Head, frame: float) -> Iterator[tuple[float, float]]:
    """Keep-off strips of a belt that runs centred, from the left end of the width that all belts share, m."""
    stroke = head.oscillation_stroke.value if head.oscillation_stroke else 0.0
    shift = (frame - card.width.value) / 2 if card.width else 0.0
    for left, right in keep_off_strips(card, stroke, GLUE_MARGIN.value):
        yield left + shift, right + shift


def chosen_plan(sheet: SetupSheet, shop: ShopView, task: FeedTask) -> FeedPlan | None:
    """The plan that the run goes by, given or computed; None when it cannot be followed."""
    job = shop.job(sheet)
    try:
        return _chosen(sheet, job, task) if job is not None else None
    except ValueError:
        return None


def _chosen(sheet: SetupSheet, job: JobCard, task: FeedTask) -> FeedPlan:
    return _given(sheet, job, task) if sheet.feed.boards else _planned(task)


@lru_cache(maxsize=16)
def _planned(task: FeedTask) -> FeedPlan:
    return plan(task.parts, task.belt, task.wear, task.places, GAP)


@lru_cache(maxsize=16)
def _evaluated(task: FeedTask, placements: tuple[Placement, ...]) -> FeedPlan:
    return evaluate(placements, task.parts, task.belt, task.wear, task.places, GAP)


def _occupied(job: JobCard) -> Iterator[Part]:
    skew = math.radians(job.skew_degrees)
    for part in job.parts:
        width, length = part.width.value, part.length.value
        thickness = part.thickness.value if part.thickness else job.target_thickness.value
        yield Part(
            width * math.cos(skew) + length * math.sin(skew),
            length * math.cos(skew) + width * math.sin(skew),
            part.count,
            thickness=round(thickness / SAME_THICKNESS) * SAME_THICKNESS,
        )


def _given(sheet: SetupSheet, job: JobCard, task: FeedTask) -> FeedPlan:
    """The operator's pattern, repeated until every part is fed, one board a row."""
    placements: list[Placement] = []
    for index, part in enumerate(job.parts):
        lefts = []
        for board in sheet.feed.boards:
            if board.part == index + 1:
                lefts.append(_left(board.left_edge.value if board.left_edge else None, board.place, index, task))
        if not lefts:
            raise ValueError(f"the feed pattern gives part {index + 1} no place")
        placements += [Placement(index, lefts[n % len(lefts)], len(placements) + n) for n in range(part.count)]
    for board in sheet.feed.boards:
        if board.part > len(job.parts):
            raise ValueError(f"the job has {len(job.parts)} parts, so there is no part {board.part}")
    return _evaluated(task, tuple(placements))


def _left(edge: float | None, place: int | None, part: int, task: FeedTask) -> float:
    if edge is not None:
        return edge
    count = task.places or 10
    if place is None or place >= count:
        raise ValueError(f"place {place} is not one of 0 to {count - 1}")
    return task.left_of(part, place)


def _evenness(chosen: FeedPlan, task: FeedTask, sheet: SetupSheet, shop: ShopView) -> Iterator[Finding]:
    units = shop.machine.units
    share, centre = chosen.share_of_best, chosen.centre
    figures = (
        f"share_of_best = bound {chosen.bound:.2f} m / peak {chosen.peak:.2f} m = {share:.2f}; "
        f"mean_over_peak {chosen.mean_over_peak:.2f}; lowest_over_peak {chosen.lowest_over_peak:.2f}"
    )
    middle = f"; all down the middle {centre.share_of_best:.0%}" if centre else ""
    unused = show(chosen.unused_width, Kind.LENGTH, units)
    if share >= GOOD_SHARE - 1e-9:
        yield Finding(
            "evenness",
            Verdict.OK,
            f"These places use the belt {share:.0%} as evenly as these parts allow{middle}.",
            basis="common practice",
            source="common practice, no source",
            workings=figures,
            measured=f"{share:.3f}",
        )
    else:
        yield Finding(
            "evenness",
            Verdict.CAUTION,
            f"These places use the belt only {share:.0%} as evenly as these parts allow; {unused} of the width is never used. "
            "A hollow wears into drum and belt.",
            "Feed hard left, hard right and between in turn: accept the computed places.",
            f"{share:.3f}",
            basis="common practice",
            source="common practice, no source",
            workings=figures,
            actions=("computed places accepted", "too few boards to matter", "lead told"),
        )
    yield Finding(
        "feeds",
        Verdict.OK,
        f"{chosen.feeds} feeds; {unused} of the width unused; {chosen.fewest_feeds} feeds would be the fewest.",
        workings=f"usable width {show(task.belt.width, Kind.LENGTH, units)}, gap abreast {show(GAP, Kind.LENGTH, units)}",
    )


def _speed(sheet: SetupSheet, shop: ShopView) -> Iterator[Finding]:
    by = basis(shop.machine.conveyor.feed_speed, "conveyor.feed_speed", shop.machine.book)
    speed = sheet.removal.feed_speed
    if speed is None or by is None:
        return
    yield judged(
        "feed speed",
        "Feed speed",
        speed,
        by,
        shop.machine.units,
        too_low="Set it faster.",
        too_high="Set it slower.",
        actions=("feed changed", "tried on scrap", "lead told"),
    )
