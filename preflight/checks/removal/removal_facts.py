"""What the removal depends on, read from the sheet: total, spread, bead, the heads that cut and their caps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.backing.grit_sequence import cuts
from preflight.checks.backing.head_cap import (
    HeadCap,
    cap_table,
    head_cap,
    platen_coarsest,
    platen_is_down,
    scratch_factor,
)
from preflight.checks.judge import missing
from preflight.engine.cutting_head import Cut, CuttingHead, HeadMotor
from preflight.engine.removal import feed_factor, total_per_face, wood_factor
from preflight.engine.removal_plan import LEAST_CUT
from preflight.engine.widest_row import STEP, widest_row
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.checks.finding import Finding
    from preflight.sheet import SetupSheet
    from preflight.shop.cards import JobCard
    from preflight.shop.machine import Machine, Motor, ShareLimit
    from preflight.shop.view import ShopView


@dataclass(frozen=True, slots=True)
class LoweredHead:
    """A head that cuts today, with where its limits come from."""

    cutting: CuttingHead
    own: HeadCap
    """Cap by grit, head and platen, without factors and motor."""
    scratch_source: str
    motor_load: ShareLimit


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


def facts_of(sheet: SetupSheet, shop: ShopView) -> RemovalFacts:
    """Read target, stock, belts and caps of the sheet, and name what is missing."""
    job = shop.job(sheet)
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
        width=row or max(usable, STEP),
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
            load = (head.motor.load if head.motor else None) or defaults.MOTOR_LOAD
            cutting = CuttingHead(
                id=head.id,
                grit=card.grit,
                caps=caps,
                scratch_factor=factor,
                # Never nothing at all: the planner then says what is in the way.
                maximum=max(own.cap, LEAST_CUT),
                factors=(wood_factor(cut.density), feed_factor(cut.feed_speed)),
                motor=_motor(head.motor, load),
                platen=down,
                coarsest=platen_coarsest(machine, head)[0] if down else head.coarsest_grit,
                finest=head.finest_grit,
            )
            heads.append(LoweredHead(cutting, own, source, load))
    return heads, lifted, gaps


def _motor(motor: Motor | None, load: ShareLimit) -> HeadMotor | None:
    return HeadMotor(motor.power.value, load.caution_high, load.high) if motor and motor.power.value else None
