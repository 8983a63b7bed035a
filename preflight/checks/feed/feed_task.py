"""What the feed planner works on, and the plan that a run goes by: asked for by check, station, command and record."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.checks.removal.planned_removal import plan_for
from preflight.engine.boards import Part, Placement, Usable, usable_width
from preflight.engine.coverage import Strip
from preflight.engine.lane_cells import NoMarkFreeError
from preflight.engine.lanes import FeedPlan, evaluate, plan
from preflight.engine.part_limits import largest_skew, occupied_width
from preflight.engine.places import marked_places
from preflight.quantities import Kind, show
from preflight.shop import defaults
from preflight.shop.cards import keep_off_strips

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.engine.lane_search import Feeds
    from preflight.history import History, WearStrip
    from preflight.sheet import Fed, FedBoard, SetupSheet
    from preflight.shop.cards import BeltCard, JobCard
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView

EVENEST: Feeds = "evenest"
ROTATION: Feeds = "rotation"


@dataclass(frozen=True, slots=True)
class FeedTask:
    """Parts as they lie, the width they may use, and what has worn it. Lengths in m from the width's left end."""

    parts: tuple[Part, ...]
    """Of one lot; a metre of wood counts once for every time the boards go through."""
    belt: Usable
    wear: tuple[Strip, ...]
    """Mean over the belts that cut; of one lot's share."""
    places: int | None
    """Marked places to keep to; None: any position."""
    marks: int | None = None
    """Marked places the machine has."""
    trade: Feeds = ROTATION
    lots: int = 1
    """The same plan so many times over."""
    times: int = 1
    """How often a board goes through: passes times faces."""
    on_bed: float = 0.0
    """Where the width's left end lies on the bed, m from the bed's left edge."""

    def left_of(self, part: int, place: int) -> float:
        """Left edge of a part at a place counted from 0, m. ValueError when there is no such place."""
        count = self.marks or defaults.PLACES_UNMARKED
        if place >= count:
            raise ValueError(f"place {place} is not one of 0 to {count - 1}")
        return marked_places(self.parts[part].width, self.belt, count)[place]


@dataclass(frozen=True, slots=True)
class TooWide:
    """A part that fits no free stretch of the width."""

    statement: str
    remedy: str


def task_for(sheet: SetupSheet, shop: ShopView, history: History | None) -> FeedTask | TooWide | None:
    """The planner's task for the sheet's job; `TooWide` when a part cannot be placed, None without a job."""
    job = shop.job(sheet)
    if job is None:
        return None
    removal = plan_for(sheet, shop)
    times = job.faces * max(1, len(removal.passes) if removal is not None else 1)
    return task_of(sheet, shop, job, history, times)


def task_of(sheet: SetupSheet, shop: ShopView, job: JobCard, history: History | None, times: int) -> FeedTask | TooWide:
    """The task for a job whose boards go through so many times."""
    machine, bed = shop.machine, shop.machine.conveyor.working_width.value
    running = [(on, card) for on in sheet.belts if not on.lifted and (card := shop.belt(on))]
    frame = min([bed, *(card.width.value for _, card in running if card.width)])
    strips = [
        strip for on, card in running if (head := machine.head(on.head)) for strip in _keep_off(card, head, frame)
    ]
    try:
        usable = usable_width(frame, bed, machine.conveyor.edge_margin.value, strips)
        widest = max(right - left for left, right in usable.segments)
    except ValueError as error:
        text = str(error)
        return TooWide(f"{text[0].upper()}{text[1:]}.", "Wash or change the belt: nothing can be fed beside its glue.")
    lots = max(1, math.ceil(sum(part.count for part in job.parts) / defaults.MOST_PLANNED))
    parts = tuple(part_as_it_lies(job, i, times, lots) for i in range(len(job.parts)))
    for index, part in enumerate(parts):
        if part.width > widest + 1e-9:
            return _too_wide(job, index, part.width, widest, usable.width, machine.units)
    on_bed = (bed - frame) / 2.0
    maps = [history.belt_wear.get(card.id, ()) for _, card in running] if history is not None else []
    marks = machine.conveyor.places.count if machine.conveyor.places else None
    task = FeedTask(
        parts,
        usable,
        _wear_of(maps, on_bed, lots),
        marks,
        marks,
        sheet.feed.trade,
        lots,
        times,
        on_bed,
    )
    return _at_places(task, sheet.feed.at)


def part_as_it_lies(job: JobCard, index: int, times: int = 1, lots: int = 1) -> Part:
    """A part of the card as the planner takes it: turned by the job's skew, its wood spread over the width it takes."""
    card = job.parts[index]
    width, length, skew = card.width.value, card.length.value, job.skew_degrees
    across = occupied_width(width, length, skew)
    along = occupied_width(length, width, skew)
    return Part(
        across,
        along,
        math.ceil(card.count / lots),
        weight=times * (width * length) / (across * along),
        thickness=(card.thickness or job.target_thickness).value,
    )


def _at_places(task: FeedTask, at: str | None) -> FeedTask:
    """At the marks if these are asked for, or cost no more evenness than care allows; else at any position."""
    if task.marks is None or at == "marks":
        return task
    free = replace(task, places=None)
    if at == "any place":
        return free
    try:
        even = planned(replace(task, trade=EVENEST))
    except NoMarkFreeError:
        return free
    return task if even.share_of_best >= defaults.EVENNESS - 1e-9 else free


def _too_wide(job: JobCard, index: int, width: float, widest: float, usable: float, units: str) -> TooWide:
    card, skew = job.parts[index], job.skew_degrees
    takes, over = (show(x, Kind.LENGTH, units) for x in (width, width - widest))
    glued = widest < usable - 1e-9
    free = "the widest stretch free of glue lines" if glued else "the usable width"
    skewed = f" at {skew:g}° skew" if skew else ""
    statement = f"Part {index + 1} takes {takes}{skewed}, {over} more than {free}."
    if card.width.value > widest:
        remedy = (
            "Wash or change the belt with the glue line." if glued else "Turn it lengthwise, or use a wider machine."
        )
        return TooWide(statement, remedy)
    most = math.floor(largest_skew(card.width.value, card.length.value, widest))
    return TooWide(statement, f"Lay it straighter: at most {most}° skew. The last pass goes straight in any case.")


def _keep_off(card: BeltCard, head: Head, frame: float) -> Iterator[tuple[float, float]]:
    """Keep-off strips of a belt that runs centred, from the left end of the width that all belts share, m."""
    stroke = head.oscillation_stroke.value if head.oscillation_stroke else 0.0
    shift = (frame - card.width.value) / 2 if card.width else 0.0
    for left, right in keep_off_strips(card, stroke, defaults.GLUE_MARGIN.value):
        yield left + shift, right + shift


def _wear_of(maps: Sequence[Sequence[WearStrip]], on_bed: float, lots: int) -> tuple[Strip, ...]:
    """The mean of the belts' maps: every board passes them all, so a plan that evens the mean evens their sum."""
    share = 1.0 / (len(maps) * lots) if maps else 0.0
    return tuple(Strip(s.left - on_bed, s.right - on_bed, s.metres * share) for one in maps for s in one if s.metres)


@lru_cache(maxsize=32)
def planned(task: FeedTask) -> FeedPlan:
    """The computed plan, judged against the best that any position allows, marked or not."""
    found = plan(task.parts, task.belt, task.wear, task.places, feeds=task.trade)
    return _against_any_place(found, task)


@lru_cache(maxsize=32)
def _evaluated(task: FeedTask, placements: tuple[Placement, ...]) -> FeedPlan:
    found = evaluate(placements, task.parts, task.belt, task.wear, task.places)
    return _against_any_place(found, task)


def _against_any_place(found: FeedPlan, task: FeedTask) -> FeedPlan:
    """A plan whose bound holds for every position: keeping to marks is a choice, and its price is shown."""
    if task.places is None and task.trade in (EVENEST, ROTATION):
        return found
    best = planned(replace(task, places=None, trade=EVENEST))
    centre = replace(found.centre, bound=best.bound) if found.centre is not None else None
    return replace(found, bound=min(best.bound, found.peak), centre=centre)


def chosen_plan(sheet: SetupSheet, task: FeedTask) -> FeedPlan:
    """The plan that the run goes by, given or computed. ValueError when a given one cannot be followed."""
    return _evaluated(task, tuple(_given(sheet, task))) if sheet.feed.boards else planned(task)


def _given(sheet: SetupSheet, task: FeedTask) -> Iterator[Placement]:
    """The operator's feeds in turn, repeated until every part is fed."""
    feeds: dict[object, list[tuple[int, float]]] = {}
    for number, board in enumerate(sheet.feed.boards):
        own = ("alone", number) if board.row is None else board.row
        feeds.setdefault(own, []).append((board.part - 1, left_edge(board, task)))
    named = {part for feed in feeds.values() for part, _ in feed}
    for part in range(len(task.parts)):
        if part not in named:
            raise ValueError(f"the feed pattern gives part {part + 1} no place")
    waiting, row = [part.count for part in task.parts], 0
    while any(waiting):
        for feed in feeds.values():
            before = row
            for part, left in feed:
                if waiting[part]:
                    waiting[part] -= 1
                    yield Placement(part, left, before)
                    row = before + 1


def left_edge(board: FedBoard | Fed, task: FeedTask) -> float:
    """Where a board of the sheet lies, m from the width's left end. ValueError without a part or place of the job."""
    if board.part > len(task.parts):
        raise ValueError(f"the job has {len(task.parts)} parts, so there is no part {board.part}")
    if board.left_edge is not None:
        return board.left_edge.value
    if board.place is None:
        raise ValueError(f"a board of part {board.part} has no place")
    return task.left_of(board.part - 1, board.place)
