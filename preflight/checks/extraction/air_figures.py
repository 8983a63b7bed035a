"""What one air reading tells: the flow by each of its figures, and the figures that cannot be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.slips import slip
from preflight.engine.air import (
    duct_area,
    flow_from_baseline,
    velocity_from_hood_suction,
    velocity_from_pressure,
)
from preflight.quantities import computed, show
from preflight.shop.defaults import AIR_BEYOND, AIR_DISAGREES
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from preflight.checks.finding import Finding
    from preflight.engine.network import Network
    from preflight.quantities import Quantity
    from preflight.sheet import AirReading
    from preflight.shop.extraction import Extraction, Gate


@dataclass(frozen=True, slots=True)
class Measured:
    """One gate's flow from a reading."""

    flow: float
    """m3/s"""
    how: str
    """The reading and the formula, for "why"."""


@dataclass(frozen=True, slots=True)
class Impossible:
    """A figure beyond anything that this fan and these ducts can give."""

    what: str
    """ "Hood static", "Air speed"."""
    read: Quantity
    most: float
    """SI, the most it could be."""
    usual: float
    """SI, about what the model expects; 0 when it says nothing."""

    def said(self, gate: str, units: str) -> str:
        """The reading and what there can be at most, in one sentence."""
        most = show(self.most, self.read.kind, units)
        return f"{self.what} {self.read} at {gate} cannot be: {most} is the very most here."

    def slipped(self, gate: str, units: str) -> Finding | None:
        """The question whether the unit slipped, where a factor brings it to about what is expected."""
        if not self.usual:
            return None
        low, high = (computed(min(self.usual * by, self.most), self.read.kind, units) for by in (1 / 3, 3))
        asks = "extraction.readings"
        return slip(f"gate {gate} reading", self.what, self.read, Limit(low=low, high=high), units, asks)


def impossible_in(
    reading: AirReading, area: float, air: Network, alone: float | None, expected: float | None, suction: float
) -> Iterator[Impossible]:
    """Figures of a reading that cannot be.

    `area` of the pipe read in, m2; `alone` the gate's flow in the model with no other gate open and `expected` with
    the gates open now, m3/s, None where the model gives none; `suction` a usual hood
    static, Pa. No suction is deeper than the fan's shut-off pressure, no air faster than that pressure drives it,
    and none flows far beyond what the gate draws alone.
    """
    shut_off, density = max(air.fan.pressures), air.air.density
    fastest = velocity_from_pressure(shut_off, density)
    if alone is not None:
        fastest = min(fastest, AIR_BEYOND * alone / area)
    speed = (expected or 0.0) / area
    pressure = density * speed**2 / 2
    for what, read, most, usual in (
        ("Hood static", reading.hood_static, shut_off, suction),
        ("Velocity pressure", reading.velocity_pressure, min(shut_off, density * fastest**2 / 2), pressure),
        ("Air speed", reading.velocity, fastest, speed),
        ("Air flow", reading.flow, fastest * area, speed * area),
    ):
        if read is not None and abs(read.value) > most * (1 + 1e-9):
            yield Impossible(what, read, most, usual)


def pipe_area(reading: AirReading, gate: Gate, ducts: Extraction) -> float:
    """Area of the pipe a reading was taken in, m2; 0 where its diameter is none."""
    run = ducts.run(gate.run)
    assert run is not None  # the network was built, so every gate has its run
    diameter = reading.diameter.value if reading.diameter else run.diameter.value
    return duct_area(diameter) if diameter else 0.0


def figures(reading: AirReading, gate: Gate, area: float, density: float) -> list[Measured]:
    """The flow by each figure of a reading, the strongest evidence first; none for a pipe of no area (m2)."""
    if not area:
        return []
    over = f"over {area * 1e4:.0f} cm²"
    found = []
    if reading.velocity_pressure is not None:
        velocity = velocity_from_pressure(abs(reading.velocity_pressure.value), density)
        how = f"V = √(2·VP/ρ): {reading.velocity_pressure} gives {velocity:.1f} m/s {over}"
        found.append(Measured(velocity * area, how))
    if reading.velocity is not None:
        found.append(Measured(reading.velocity.value * area, f"Q = V·A: {reading.velocity} {over}"))
    if reading.flow is not None:
        found.append(Measured(reading.flow.value, f"flow read: {reading.flow}"))
    if reading.hood_static is not None:
        found.append(_by_suction(reading.hood_static, gate, area, density))
    return found


def _by_suction(read: Quantity, gate: Gate, area: float, density: float) -> Measured:
    suction, base = abs(read.value), gate.hood_static
    if base is not None and base.baseline.value and base.flow.value:
        flow = flow_from_baseline(suction, abs(base.baseline.value), base.flow.value)
        return Measured(flow, f"Q = Q₀·√(SP/SP₀): {read} against {base.baseline} at {base.flow} on {base.taken}")
    velocity = velocity_from_hood_suction(suction, gate.hood_k, density)
    how = f"|SP| = (1 + K)·VP with hood K {gate.hood_k:g}: {read} gives {velocity:.1f} m/s"
    return Measured(velocity * area, f"{how} over {area * 1e4:.0f} cm²")


def counting(found: Sequence[Measured]) -> Measured:
    """The figure that counts: the strongest, unless another one tells of clearly less air.

    `found` is strongest first and holds one at least.
    """
    least = min(found, key=lambda one: one.flow)
    return least if least.flow < found[0].flow * (1 - AIR_DISAGREES) else found[0]


def disagreeing(found: Iterable[Measured]) -> tuple[Measured, Measured] | None:
    """The lowest and the highest figure, where they are further apart than readings of one flow should be."""
    order = sorted(found, key=lambda one: one.flow)
    if not order or not math.isfinite(order[-1].flow) or order[0].flow >= order[-1].flow * (1 - AIR_DISAGREES):
        return None
    return order[0], order[-1]
