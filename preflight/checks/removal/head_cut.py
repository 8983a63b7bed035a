"""One head's share judged: its cap, its need, its motor."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, judged
from preflight.checks.removal.planned_removal import passes_needed
from preflight.checks.slips import slip
from preflight.engine.cutting_head import CuttingHead, head_cap
from preflight.engine.removal import (
    cutting_power,
    feed_limit,
    removal_at_load,
    specific_energy,
)
from preflight.engine.removal_plan import LEAST_CUT
from preflight.quantities import Kind, Quantity, computed, show, show_beside
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from preflight.checks.removal.removal_facts import LoweredHead, RemovalFacts
    from preflight.shop.machine import Machine

COARSE_ENOUGH: Final = defaults.REMOVAL_CAPS[0][0]
"""A coarser grit than this has no higher cap by default, so none is offered."""


@dataclass(frozen=True, slots=True)
class HeadCuts:
    """Judges the share of each head of a machine."""

    machine: Machine
    facts: RemovalFacts

    @property
    def units(self) -> str:
        """The shop's system."""
        return self.machine.units

    def length(self, value: float) -> str:
        """A length as the shop reads it."""
        return show(value, Kind.LENGTH, self.units)

    def cut(self, head: CuttingHead, share: Quantity, *, typed: bool) -> list[Finding]:
        """Cap and motor of one head; the backing station says whether its grit may run there."""
        subject = f"head {head.id}"
        basis, note = self.cap(head)
        cap = basis.limit.ceiling or 0.0
        bead = self.facts.bead if head is self.facts.heads[0] else 0.0
        load = share if not bead else computed(share.value + bead, Kind.LENGTH, self.units)
        what = f"Head {head.id}, {head.grit}{' under the platen' if head.platen else ''}:"
        if bead:
            what = f"{what} {share.text} and {self.length(bead)} of bead,"
        found = [
            judged(
                subject,
                what,
                load,
                basis,
                self.units,
                too_high=self.smaller(head, load.value, cap),
                near="It will do; less a pass or a coarser grit on the head before spares the belt.",
                workings=f"{note}; margin = cap - share = {self.length(cap - load.value)}",
                actions=("kept, first board watched", "lead told"),
            )
        ]
        if typed:
            asks = f"removal.share.{head.id}"
            asked = slip(subject, f"Share of head {head.id}", share, basis.limit, self.units, asks)
            found += [asked] if asked is not None else []
        motor = self.motor(head, load.value)
        return [*found, motor] if motor is not None else found

    def lowered(self, head: CuttingHead) -> LoweredHead:
        """The head with where its limits come from."""
        return next(one for one in self.facts.lowered if one.cutting is head)

    def cap(self, head: CuttingHead) -> tuple[Basis, str]:
        """The head's cap without its motor, as a limit with its basis, and how it was found."""
        cap, own = head_cap(replace(head, motor=None), self.facts.cut), self.lowered(head).own
        row = head.caps.cap(head.grit)
        wood, feed = (min(factor, 1.0) for factor in head.factors)
        workings = f"cap = {head.grit} {self.length(row.cap)} ({row.note}) x {wood:.2f} (wood) x {feed:.2f} (feed)"
        if own.cap < row.cap:
            workings += f", most by {own.basis} {self.length(own.cap)}"
        workings += f" = {self.length(cap.cap)}"
        field, source = own.basis, own.source
        if cap.binding == "grit":
            field = f"removal_caps.{head.grit}" if row.note == "table" else "removal_caps"
            source = self.machine.source if self.machine.removal_caps else defaults.PRACTICE
        limit = Limit(
            high=computed(cap.cap, Kind.LENGTH, self.units),
            caution_high=computed(cap.comfort, Kind.LENGTH, self.units),
        )
        return Basis(limit, field, source), workings

    def smaller(self, head: CuttingHead, take: float, cap: float) -> str:
        """What to do about a share beyond its cap."""
        if head.platen:
            most = self.length(cap)
            return f"Let the platen take {most} at most, the drums the rest: it finishes, it does not cut."
        count = passes_needed(take, cap)
        remedy = f"Take it in {count} passes of {self.length(take / count)}"
        return remedy + (", or start one grit coarser." if head.grit.finer_than(COARSE_ENOUGH) else ".")

    def need(self, head: CuttingHead, share: Quantity, need: float, before: CuttingHead | None) -> Finding:
        """Whether a share erases the head before, or, on the first head, meets the thinnest piece."""
        least_cut = max(need, LEAST_CUT)
        enough = share.value >= least_cut * (1 - 1e-9)
        least = show_beside(need, share.value, Kind.LENGTH, self.units)
        if before is not None:
            what = f"erasing head {before.id} ({before.grit}) takes at least {least}"
            basis, source = f"{self.machine.head_key(before.id)}.scratch_factor", self.lowered(before).scratch_source
            workings = (
                f"scratch depth = {before.scratch_factor:g} x grain {before.grit.grain_size * 1e6:.4g} µm = {least}"
            )
            remedy = "Give it more, put a grit between, or go one grade finer on the head before."
            if head.platen:
                remedy = "Lift the platen and finish on the drum, or go one grade finer on the head before."
            verdict = Verdict.STOP
        else:
            what = f"the lot spreads by {least}"
            basis, source = "stock.thickness", "measured today"
            workings = f"need of the first head = thickest - thinnest piece = {least}"
            remedy = "The thinnest pieces would miss this head: sort the lot in two, or give it more."
            verdict = Verdict.CAUTION
        return Finding(
            f"head {head.id} need",
            Verdict.OK if enough else verdict,
            f"Head {head.id} takes {share.text}; {what}."
            if enough
            else f"Head {head.id} takes {share.text}, {self.length(least_cut - share.value)} too little: {what}.",
            "" if enough else remedy,
            measured=share,
            low=computed(least_cut, Kind.LENGTH, self.units),
            basis=basis,
            source=source,
            workings=workings,
            actions=("sorted into two lots", "first head given more", "lead told")
            if not enough and verdict is Verdict.CAUTION
            else (),
        )

    def motor(self, head: CuttingHead, take: float) -> Finding | None:
        """Load of the head's motor by this cut over the widest row; None when the profile has no motor."""
        motor, cut = head.motor, self.facts.cut
        if motor is None:
            return None
        power, limit = motor.power, self.lowered(head).motor_load
        energy = specific_energy(head.grit.grain_size, cut.density)
        drawn = cutting_power(energy, cut.width, take, cut.feed_speed)
        share = drawn / power
        verdict = Verdict.STOP if share > motor.stop else Verdict.CAUTION if share > motor.caution else Verdict.OK
        mark = motor.stop if verdict is Verdict.STOP else motor.caution
        over = f", over {mark:.0%}" if verdict is not Verdict.OK else ""
        remedy = ""
        if verdict is not Verdict.OK:
            slow = feed_limit(mark, power, energy, cut.width, take)
            less = removal_at_load(mark, power, energy, cut.width, cut.feed_speed)
            floor = self.machine.conveyor.feed_speed.floor if self.machine.conveyor.feed_speed else None
            most = self.length(math.floor(less * 1e5) / 1e5)
            remedy = f"Take at most {most} a pass here, or feed fewer pieces abreast."
            if floor is None or slow >= floor:
                remedy = f"Slow the feed to {show(slow, Kind.FEED_SPEED, self.units)}, or t{remedy[1:]}"
        return Finding(
            f"head {head.id} motor",
            verdict,
            f"Head {head.id}: the cut loads its motor to {share:.0%}{over}, {self.length(cut.width)} of wood abreast.",
            remedy,
            measured=computed(drawn, Kind.POWER, self.units),
            high=computed(motor.stop * power, Kind.POWER, self.units),
            basis=f"{self.machine.head_key(head.id)}.motor.load",
            source=f"{limit.source or self.machine.source}: look from {motor.caution:.0%}, stop from {motor.stop:.0%}",
            workings=(
                f"power = u x width x removal x feed = {energy / 1e9:.2f} J/mm3 x {self.length(cut.width)} x "
                f"{self.length(take)} x {show(cut.feed_speed, Kind.FEED_SPEED, self.units)} = "
                f"{show(drawn, Kind.POWER, self.units)} of {show(power, Kind.POWER, self.units)}; "
                "u from memory, widest row the parts can fill"
            ),
            actions=("fewer pieces abreast", "current watched on first boards") if verdict is Verdict.CAUTION else (),
        )
