"""Station 6: gauge pressure inside the band of that backing on that head, air supply, leak; pull shown."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from preflight.checks.belts.belt_change import other_belts
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, basis, judged, missing, said, verdict_of
from preflight.checks.running.weekly import asked_today
from preflight.checks.slips import asked_first, impossible, slip
from preflight.checks.tension.belt_pull import pull
from preflight.checks.tension.tension_drift import drifts
from preflight.quantities import Kind, show
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.history import History
    from preflight.quantities import Quantity
    from preflight.sheet import SetupSheet
    from preflight.shop.cards import BeltCard
    from preflight.shop.fields import Backing
    from preflight.shop.machine import Head, Machine
    from preflight.shop.view import ShopView

SUSPICION: Final = "tension, dust on the eye, feed or cut, air, roller, belt last"
"""Where to look when a belt wanders, in that order."""

SHOP_AIR: Final = Limit(high=defaults.AIR_MOST)
"""What a gauge of the machine's air can show."""

ACTIONS: Final = ("kept, to be read again running", "belt watched on the first boards", "lead told")


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Judge every head's gauge, then supply and leak where they were read."""
    found: list[Finding] = []
    changed = other_belts(sheet, history)
    gauges = [_Gauge(sheet, shop, head) for head in shop.machine.heads]
    for gauge in gauges:
        others = [other for other in gauges if other is not gauge]
        found += swapped(gauge, others, gauge.findings(history, again=gauge.head.id in changed))
    asked = asked_today(sheet, shop.machine, history)
    found += _supply(sheet, shop.machine, asked="air supply" in asked)
    return [*found, *_leak(sheet, shop.machine, asked="leak test" in asked)]


def band_of(head: Head, backing: Backing) -> Limit | None:
    """The gauge band of a backing on a head: its own, else common practice; None where neither knows one."""
    return head.tension.get(backing) or defaults.TENSION.get(backing)


def swapped(gauge: _Gauge, others: Sequence[_Gauge], findings: list[Finding]) -> list[Finding]:
    """The gauge's findings; where it and another one fit each other's band and not their own, they say so."""
    other = next((one for one in others if gauge.fits(one) and one.fits(gauge)), None)
    if other is None or gauge.fits(gauge) or other.fits(other):
        return findings
    asked = f" It fits head {other.head.id}, and that gauge fits here: swapped?"
    remedy = "Read both gauges again, each at its own head, and type them in their rows before anything is set."
    return [
        replace(one, statement=f"{one.statement}{asked}", remedy=remedy) if one.subject == gauge.subject else one
        for one in findings
    ]


@dataclass(frozen=True, slots=True)
class _Gauge:
    sheet: SetupSheet
    shop: ShopView
    head: Head

    @property
    def subject(self) -> str:
        return f"head {self.head.id}"

    def fits(self, other: _Gauge) -> bool:
        """Whether what is read here lies in the other gauge's band."""
        reading, card = self.sheet.tension.gauge.get(self.head.id), self.shop.belt(self.sheet.belt_on(other.head.id))
        band = band_of(other.head, card.backing) if card is not None else None
        return reading is not None and band is not None and verdict_of(reading.value, band)[0] is not Verdict.STOP

    @property
    def machine(self) -> Machine:
        return self.shop.machine

    @property
    def resolution(self) -> float:
        step = self.sheet.tension.gauge_resolution
        return step.value if step is not None else 0.0

    def findings(self, history: History | None, *, again: bool) -> list[Finding]:
        reading = self.sheet.tension.gauge.get(self.head.id)
        on = self.sheet.belt_on(self.head.id)
        if reading is None:
            if on is not None and on.lifted:
                return [Finding(self.subject, Verdict.OK, f"Head {self.head.id} is lifted: its gauge is not asked.")]
            return [
                missing(
                    self.subject,
                    f"Tension of head {self.head.id} is not read.",
                    "Tension on, read that head's own gauge, not the supply gauge.",
                    f"tension.{self.head.id}",
                )
            ]
        card = self.shop.belt(on)
        if card is None:
            return [
                missing(
                    self.subject,
                    f"Tension of head {self.head.id}: {said(reading, self.machine.units)}, but its belt is not named.",
                    "Name the belt at the belts station: its backing sets the band.",
                    f"belts.{self.head.id}",
                )
            ]
        found = self.against_band(self.subject, "Tension", reading, card, f"tension.{self.head.id}")
        running = self.sheet.tension.running.get(self.head.id)
        if running is not None:
            asks = f"tension.running.{self.head.id}"
            found += self.against_band(f"{self.subject} running", "Running tension", running, card, asks)
        elif again and not (on is not None and on.lifted):
            found.append(
                missing(
                    f"{self.subject} running",
                    f"Head {self.head.id} has another belt on: its gauge is not read a second time, running.",
                    "Let it run two or three minutes to seat, then read the gauge again.",
                    f"tension.running.{self.head.id}",
                )
            )
        drift = drifts(self.sheet, self.machine, self.head.id, reading, history)
        return [*found, *drift, *pull(self.head, self.machine, reading, card)]

    def against_band(self, subject: str, what: str, reading: Quantity, card: BeltCard, asks: str) -> list[Finding]:
        """The reading in the band of the belt's backing: the head's own, else common practice."""
        backing, units = card.backing, self.machine.units
        what = f"{what} of head {self.head.id} ({backing})"
        field = f"{self.machine.head_key(self.head.id)}.tension.{backing}"
        by = basis(band_of(self.head, backing), field, self.machine.source)
        if by is None:
            return [
                missing(
                    subject,
                    f"{what} is {said(reading, units)}, and no band is known for {backing}.",
                    f"Lead: put the band of the machine book into the profile ({field}).",
                    field,
                    basis=field,
                )
            ]
        if by.limit.ceiling is None and (by.limit.floor is None or reading.value >= by.limit.floor):
            least = f" (at least {show(by.limit.floor, Kind.PRESSURE, units)})" if by.limit.floor is not None else ""
            return [
                missing(
                    subject,
                    f"{what} is {said(reading, units)}; the band has no upper end{least}.",
                    f"Lead: the profile must name the upper end ({field}), from the machine book.",
                    field,
                    basis=field,
                    source=by.source,
                )
            ]
        aim = self.aim(by)
        finding = judged(
            subject,
            what,
            reading,
            by,
            units,
            too_low=f"Turn the regulator up slowly to {aim}, tap the gauge, read again.",
            too_high=f"Let it down to {aim}, tap the gauge, read again.",
            near=f"Bring it to about {aim}, tap the gauge, read again running.",
            workings=_why(backing),
            resolution=self.resolution,
            actions=ACTIONS,
        )
        asked = slip(subject, what, reading, by.limit, units, asks, plausible=self.any_band(), possible=SHOP_AIR)
        return asked_first([finding], asked)

    def any_band(self) -> Limit:
        """From the lowest to the highest end of this head's bands and the usual ones: whatever belt is on."""
        bands = [*self.head.tension.values(), *defaults.TENSION.values()]
        ends = [end for band in bands for end in (band.low, band.high) if end is not None]
        return Limit(low=min(ends, key=lambda end: end.value), high=max(ends, key=lambda end: end.value))

    def aim(self, by: Basis) -> str:
        low, high = by.limit.floor, by.limit.ceiling
        ends = [end for end in (low, high) if end is not None]
        return show(sum(ends) / len(ends), Kind.PRESSURE, self.machine.units)


def _why(backing: str) -> str:
    tears = "tears paper" if backing == "paper" else "strains the joint"
    return (
        f"too low: the belt slips, burns, creases; too high: it disturbs tracking first, then {tears}; "
        f"a belt that wanders, in this order: {SUSPICION}"
    )


def _supply(sheet: SetupSheet, machine: Machine, *, asked: bool) -> list[Finding]:
    reading = sheet.tension.supply
    if reading is None:
        what = "The air supply is not read: weekly, and after power or air was off."
        remedy = "Air on, read the supply gauge at the machine's inlet."
        return [missing("supply", what, remedy, "tension.supply", basis="air.supply")] if asked else []
    by = basis(machine.air.supply, "air.supply", machine.source)
    if by is None:
        return [
            Finding(
                "supply",
                Verdict.CAUTION,
                f"Air supply {said(reading, machine.units)} is read, but the profile names no lowest supply.",
                "Lead: put the lowest supply of the machine book into the profile (air.supply).",
                measured=reading,
                basis="air.supply",
                actions=("lead told", "compared with the machine book"),
            )
        ]
    if reading.value > defaults.AIR_MOST.value:
        what = f"Air supply {said(reading, machine.units)} cannot be: no shop's air has more than {defaults.AIR_MOST}."
        remedy = "Look at the gauge and its unit, and type the supply again."
        return [impossible("supply", reading, what, remedy, "tension.supply", "air.supply")]
    too_low = "Open the valve, drain the filter, find who draws air; do not run belts on weak air."
    finding = judged(
        "supply",
        "Air supply",
        reading,
        by,
        machine.units,
        too_low=too_low,
        too_high="Set the machine's inlet regulator back to the machine book.",
        near="Drain the filter and watch the supply gauge during the run.",
        actions=("filter drained", "watched during the run", "lead told"),
    )
    slipped = slip("supply", "Air supply", reading, by.limit, machine.units, "tension.supply", possible=SHOP_AIR)
    return asked_first([finding], slipped)


def _leak(sheet: SetupSheet, machine: Machine, *, asked: bool) -> list[Finding]:
    reading = sheet.tension.leak_fall
    by = basis(machine.air.leak_fall, "air.leak_fall", machine.source, defaults.AIR_LEAK)
    if reading is None and asked:
        return [
            missing(
                "leak",
                "The leak test is due (weekly).",
                "Shut the air off at the machine, wait two minutes, type by how much the gauge fell.",
                "tension.leak_fall",
            )
        ]
    if reading is None or by is None:
        return []
    finding = judged(
        "leak",
        "Fall of pressure in two minutes",
        reading,
        by,
        machine.units,
        too_high="Find the leak before belts run: listen at hoses, cylinder and valve, air on; then test again.",
        near="Look for the leak this week: hoses, cylinder, valve.",
        actions=("leak to be found this week", "tested again, the same", "lead told"),
    )
    what = "Fall of pressure"
    slipped = slip("leak", what, reading, by.limit, machine.units, "tension.leak_fall", possible=SHOP_AIR)
    return asked_first([finding], slipped)
