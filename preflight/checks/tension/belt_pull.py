"""From a head's gauge to the pull in its belt and the power at which it slips: shown, never judged."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import said
from preflight.engine.tension import TensionCylinder, belt_speed, is_slack, line_tension, roller_pull, slip_power
from preflight.quantities import Kind, computed, show

if TYPE_CHECKING:
    from preflight.quantities import Quantity
    from preflight.shop.cards import BeltCard
    from preflight.shop.machine import Head, Machine


def pull(head: Head, machine: Machine, reading: Quantity, card: BeltCard) -> list[Finding]:
    """Line tension and slip power, where the profile describes the cylinder: shown, never judged."""
    own = head.cylinder
    if own is None or own.bore.value <= 0:
        return []
    units = machine.units
    width, whose = (card.width.value, "belt card") if card.width else (_middle(head), "middle of the window")
    if width <= 0:
        return []
    force = own.roller_force.value if own.roller_force else 0.0
    cylinder = TensionCylinder(own.bore.value, own.count, own.ratio, own.efficiency, force)
    tension = computed(line_tension(reading.value, cylinder, width), Kind.LINE_TENSION, units)
    workings = (
        "T = (p x area x n x ratio x efficiency + roller force) / (2 x width) = "
        f"({said(reading, units)} x {math.pi / 4 * own.bore.value**2 * 1e6:.0f} mm2 x {own.count} x {own.ratio:g} x "
        f"{own.efficiency:g} + {show(force, Kind.FORCE, units)}) / (2 x {show(width, Kind.LENGTH, units)}, {whose})"
        f" = {tension.text}"
    )
    finding = Finding(
        f"head {head.id} line tension",
        Verdict.OK,
        f"Line tension of head {head.id}: {tension.text}, shown, not judged.",
        measured=tension,
        basis=f"{machine.head_key(head.id)}.cylinder",
        source=machine.source,
        workings=workings,
    )
    if is_slack(tension.value):
        return [
            replace(
                finding,
                verdict=Verdict.STOP,
                statement=f"Head {head.id} is slack: the roller's weight takes all the pull ({tension.text}).",
                remedy="Do not start the belt. Raise the pressure into its band; if it stays slack, see the cylinder.",
            )
        ]
    if head.drum_diameter and head.drum_speed and head.drum_diameter.value > 0:
        speed = belt_speed(head.drum_diameter.value, head.drum_speed.value)
        power = show(slip_power(roller_pull(reading.value, cylinder), speed), Kind.POWER, units)
        polished = show(slip_power(roller_pull(reading.value, cylinder), speed, 0.2), Kind.POWER, units)
        finding = replace(
            finding,
            statement=f"Line tension of head {head.id}: {tension.text}; slips near {power}. Shown, not judged.",
            workings=(
                f"{workings}; slip power = F x (e^(0.3 x pi) - 1) / (e^(0.3 x pi) + 1) x "
                f"{show(speed, Kind.BELT_SPEED, units)} = {power}; on a dust-polished drum (0.2) {polished}; "
                "friction from memory"
            ),
        )
    return [finding]


def _middle(head: Head) -> float:
    ends = [end for end in (head.belt_width.floor, head.belt_width.ceiling) if end is not None]
    return sum(ends) / len(ends) if ends else 0.0
