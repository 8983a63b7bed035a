"""What is to come off, over which heads, in how many passes: read from the sheet, or planned where it is silent.

The removal check judges it; the feed and extraction checks and the screens need the same shares, passes and
feed speed, so they are worked out here once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from preflight.checks.grit_sequence import cuts
from preflight.checks.head_cap import HeadCap, cap_table, head_cap, platen_is_down, scratch_factor
from preflight.checks.judge import missing
from preflight.engine.cutting_head import Cut, CuttingHead
from preflight.engine.removal import clamped_factor, feed_factor, total_per_face, wood_factor
from preflight.engine.removal_job import RemovalJob
from preflight.engine.removal_options import planned
from preflight.engine.removal_plan import LEAST_CUT, NoPlan, RemovalPlan
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preflight.checks.finding import Finding
    from preflight.engine.abrasives import Grit
    from preflight.sheet import SetupSheet
    from preflight.shop.cards import JobCard
    from preflight.shop.machine import Head, Machine
    from preflight.shop.view import ShopView

_STEP: Final = 1e-4
"""Part widths are summed in whole steps of this, m; rounded up, so that a row never looks narrower."""
_ROUNDING: Final = 1e-9
MOST_PASSES: Final = 50
"""More are not listed one by one."""


@dataclass(frozen=True, slots=True)
class LoweredHead:
    """A head that cuts today, with where its limits come from."""

    cutting: CuttingHead
    own: HeadCap
    """Cap by grit, head and platen, without factors and motor."""
    scratch_source: str


@dataclass(frozen=True, slots=True)
class RemovalFacts:
    """What the removal depends on, as far as it is known."""

    cut: Cut
    lowered: tuple[LoweredHead, ...]
    """Lowered heads with a known belt, in feed order."""
    lifted: tuple[str, ...]
    total: float | None
    """Per face, from the thickest piece, m; zero or less when there is nothing to take off."""
    spread: float
    """Thickest minus thinnest piece, m."""
    bead: float
    """Height of glue beads that stand on the stock, m."""
    gaps: tuple[Finding, ...]
    """What is not answered yet."""

    @property
    def heads(self) -> tuple[CuttingHead, ...]:
        """The lowered heads as the planner takes them."""
        return tuple(head.cutting for head in self.lowered)


@dataclass(frozen=True, slots=True)
class PlannedRemoval:
    """Shares, passes and feed speed that the run goes by."""

    passes: tuple[Mapping[str, float], ...]
    """Removal per head id in each pass over one face, m; empty when no plan holds."""
    feed_speed: float
    """m/s"""
    cut_width: float
    """Widest row of wood that the job's parts fill, m."""
    given: bool
    """The sheet states the shares; otherwise they are planned."""
    plan: RemovalPlan | NoPlan | None = None
    """The computed plan, where the sheet is silent."""

    @property
    def first_pass(self) -> float:
        """Removal of the first pass over all heads, m: what a test board should lose."""
        return math.fsum(self.passes[0].values()) if self.passes else 0.0

    @property
    def most(self) -> Mapping[str, float]:
        """Most that each head takes in any pass, m: what motor and dust must bear."""
        return {head: max(one.get(head, 0.0) for one in self.passes) for one in self.passes for head in one}


def plan_for(sheet: SetupSheet, shop: ShopView) -> PlannedRemoval | None:
    """Planned share per head, passes and feed speed; None while a fact they need is open."""
    facts = facts_of(sheet, shop)
    speed, width = facts.cut.feed_speed, facts.cut.width
    if sheet.removal.share is not None:
        one = {head: share.value for head, share in sheet.removal.share.items()}
        count = sheet.removal.passes or min(passes_needed(facts.total, math.fsum(one.values())), MOST_PASSES)
        return PlannedRemoval((one,) * count, speed, width, given=True)
    job = job_of(facts)
    if facts.gaps or job is None or not facts.heads:
        return None
    plan = planned(job, under_bead(facts), facts.cut)
    passes = plan.passes if isinstance(plan, RemovalPlan) else ()
    return PlannedRemoval(
        tuple({share.head: share.take for share in one.shares} for one in passes),
        speed,
        width,
        given=False,
        plan=plan,
    )


def job_of(facts: RemovalFacts) -> RemovalJob | None:
    """What the planner is asked for; None when there is nothing to take off or it is not known."""
    if facts.total is None or facts.total <= 0:
        return None
    return RemovalJob(facts.total, facts.spread)


def under_bead(facts: RemovalFacts) -> list[CuttingHead]:
    """The heads, the first with less room by the beads that it meets on top of its share."""
    heads = list(facts.heads)
    if heads and facts.bead > 0:
        first = heads[0]
        room = min(first.maximum or math.inf, first.caps.cap(first.grit).cap * clamped_factor(first.factors))
        heads[0] = replace(first, maximum=max(room - facts.bead, LEAST_CUT))
    return heads


def passes_needed(total: float | None, one_pass: float) -> int:
    """⌈total / pass⌉, at least 1; both m, an unknown total counts as one pass.

    >>> passes_needed(0.45e-3, 0.40e-3), passes_needed(0.45e-3, 0.45e-3)
    (2, 1)
    """
    if total is None or one_pass <= 0:
        return 1
    return max(1, math.ceil(total / one_pass * (1 - _ROUNDING)))


def widest_row(parts: Iterable[tuple[float, int]], usable: float) -> float:
    """Most wood abreast, m, that parts (width, count) fill of a usable width: boards touching, sizes mixed.

    Every sum of part widths up to the usable width is one bit of a number, so it is exact to 0.1 mm.

    >>> round(widest_row([(0.180, 120)], 0.910), 4)
    0.9
    """
    room = round(usable / _STEP)
    sums = 1
    for width, count in parts:
        if width <= 0:
            continue
        step = math.ceil(width / _STEP * (1 - _ROUNDING))
        for _ in range(min(count, room // step)):
            grown = sums | (sums << step) & ((1 << (room + 1)) - 1)
            if grown == sums:
                break
            sums = grown
    return (sums.bit_length() - 1) * _STEP


def facts_of(sheet: SetupSheet, shop: ShopView) -> RemovalFacts:
    """Read target, stock, belts and caps of the sheet, and name what is missing."""
    _machine, job = shop.machine, shop.job(sheet)
    gaps: list[Finding] = []
    if job is None:
        gaps.append(
            missing("job", "No job card: the target thickness is not known.", "Pick or make the job card.", "job")
        )
    readings = [reading.value for reading in sheet.stock.thickness if reading.value > 0]
    if not readings:
        gaps.append(
            missing(
                "thickest piece",
                "No thickness is read: the total to take off is not known.",
                "Read the thickest and the thinnest piece at the stock station.",
                "stock.thickness",
            )
        )
    cut = _cut_of(sheet, shop, job)
    lowered, lifted, head_gaps = _lowered(sheet, shop, cut)
    return RemovalFacts(
        cut=cut,
        lowered=tuple(lowered),
        lifted=tuple(lifted),
        total=_total(readings, job),
        spread=max(readings) - min(readings) if readings else 0.0,
        bead=sheet.glue.bead_height.value if sheet.glue.bead_height else 0.0,
        gaps=(*gaps, *head_gaps),
    )


def _total(readings: list[float], job: JobCard | None) -> float | None:
    if job is None or not readings or job.target_thickness.value <= 0:
        return None
    return total_per_face(max(readings), job.target_thickness.value, job.faces)


def _cut_of(sheet: SetupSheet, shop: ShopView, job: JobCard | None) -> Cut:
    conveyor = shop.machine.conveyor
    belts = [card.width.value for on in sheet.belts if (card := shop.belt(on)) and card.width]
    usable = min([conveyor.working_width.value, *belts]) - 2 * conveyor.edge_margin.value
    row = widest_row([(p.width.value, p.count) for p in job.parts], usable) if job and usable > 0 else 0.0
    return Cut(
        width=row or max(usable, _STEP),
        feed_speed=feed_speed_of(sheet, shop.machine),
        density=shop.density(job)[0] or defaults.DENSITY,
    )


def feed_speed_of(sheet: SetupSheet, machine: Machine) -> float:
    """Feed speed as chosen, m/s; else the usual one, kept within the machine's limits."""
    chosen = sheet.removal.feed_speed
    if chosen is not None and chosen.value > 0:
        return chosen.value
    speed, limit = defaults.FEED_SPEED.value, machine.conveyor.feed_speed
    if limit is not None:
        speed = min(max(speed, limit.floor or 0.0), limit.ceiling or math.inf)
    return speed


def _lowered(sheet: SetupSheet, shop: ShopView, cut: Cut) -> tuple[list[LoweredHead], list[str], list[Finding]]:
    machine = shop.machine
    heads: list[LoweredHead] = []
    lifted: list[str] = []
    gaps: list[Finding] = []
    try:
        caps = cap_table(machine)
    except ValueError as error:
        gap = missing("caps", f"The profile's caps cannot be used: {error}.", "Lead: correct removal_caps.")
        return heads, lifted, [gap]
    for head in machine.heads:
        on = sheet.belt_on(head.id)
        card = shop.belt(on)
        if on is not None and not cuts(head, on):
            lifted.append(head.id)
        elif on is None or card is None:
            what = f"No belt is named for head {head.id}: its cap is not known."
            remedy = "Name the belt at the belts station, or mark the head as lifted."
            gaps.append(missing(f"head {head.id}", what, remedy, f"belts.{head.id}"))
        elif head.has_platen and on.platen is None:
            what = f"Platen of head {head.id}, down or lifted? Its cap depends on it."
            gaps.append(missing(f"head {head.id}", what, "Answer it at the belts station.", f"belts.{head.id}.platen"))
        else:
            own = head_cap(machine, head, on, card.grit)
            factor, source = scratch_factor(head, on)
            down = platen_is_down(head, on)
            cutting = CuttingHead(
                id=head.id,
                grit=card.grit,
                caps=caps,
                scratch_factor=factor,
                # Never nothing at all: the planner then says what is in the way.
                maximum=max(own.cap, LEAST_CUT),
                factors=(wood_factor(cut.density), feed_factor(cut.feed_speed)),
                motor_power=(head.motor.power.value or None) if head.motor else None,
                platen=down,
                coarsest=_platen_coarsest(head) if down else head.coarsest_grit,
                finest=head.finest_grit,
            )
            heads.append(LoweredHead(cutting, own, source))
    return heads, lifted, gaps


def _platen_coarsest(head: Head) -> Grit:
    return head.platen.coarsest_grit if head.platen and head.platen.coarsest_grit else defaults.PLATEN_COARSEST
