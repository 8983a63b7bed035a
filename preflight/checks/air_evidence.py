"""What is known of the air at this machine now: what was measured, and what the network says for the gates open."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.engine.air import (
    duct_area,
    flow_from_baseline,
    velocity_from_hood_suction,
    velocity_from_pressure,
)
from preflight.engine.airflow import AirflowResult, filter_from_reading, solve
from preflight.shop.defaults import AIR_DISAGREES, SUCTION_BLOCKED
from preflight.shop.duct_network import clean_filter, network

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from preflight.engine.network import Network
    from preflight.quantities import Quantity
    from preflight.sheet import AirReading, SetupSheet
    from preflight.shop.extraction import Extraction, Gate
    from preflight.shop.view import ShopView


@dataclass(frozen=True, slots=True)
class Measured:
    """One gate's flow from a reading."""

    flow: float
    """m3/s"""
    how: str
    """The reading and the formula, for "why"."""


@dataclass(frozen=True, slots=True)
class Suction:
    """A hood static that was read, against its dated baseline."""

    read: Quantity
    baseline: Quantity
    taken: date
    share: float
    """Read over baseline."""
    expected: float | None
    """The same as the model has it with these gates; None when the model says nothing."""

    @property
    def is_high(self) -> bool:
        """Far above the baseline."""
        return self.share > SUCTION_BLOCKED

    @property
    def is_blocked(self) -> bool:
        """Far above the baseline, and not because fewer gates are open: then it tells no flow."""
        return self.is_high and (self.expected is None or self.share > SUCTION_BLOCKED * self.expected)


@dataclass(frozen=True, slots=True)
class AirEvidence:
    """Strongest first: readings by gate, then the network's flows."""

    network: Network
    opened: frozenset[str]
    """Gates that are open and known to the profile."""
    modelled: AirflowResult
    measured: Mapping[str, Measured]
    suctions: Mapping[str, Suction]
    unread: Mapping[str, str]
    """Readings that give no flow, by gate, with the reason."""
    filter_note: str = ""
    """Why a filter drop read today could not be used; empty when it was, or none was read."""

    @property
    def model_holds(self) -> bool:
        """Whether the model may give a verdict: it settled, and the fan works within the points of its curve."""
        return self.modelled.converged and self.modelled.fan.on_curve

    def flow(self, gate: str) -> float | None:
        """Best known flow at a gate, m3/s; None when neither a reading nor the model tells it."""
        if gate in self.measured:
            return self.measured[gate].flow
        return self.modelled.gates[gate].flow if self.model_holds else None

    def share_measured(self, gate: str) -> float:
        """Measured over modelled flow at a gate; 1 when it was not measured."""
        model = self.modelled.gates[gate].flow
        return self.measured[gate].flow / model if gate in self.measured and model > 0 else 1.0

    def is_plugged(self, gate: str) -> bool:
        """Measured so far below the model that gates are not the cause: a plug, or gates that stand otherwise."""
        return self.model_holds and self.share_measured(gate) < 1 - AIR_DISAGREES


def evidence(sheet: SetupSheet, shop: ShopView) -> AirEvidence | None:
    """The evidence for the gates that the sheet says are open; None without a profile or an answer.

    Gates that the profile does not know are left out here and named by the check.
    """
    ducts, answered = shop.extraction, sheet.extraction.open
    if ducts is None or answered is None:
        return None
    drop = sheet.extraction.filter_drop
    found = modelled(ducts, frozenset(answered), drop.value if drop else None)
    measured: dict[str, Measured] = {}
    suctions: dict[str, Suction] = {}
    unread: dict[str, str] = {}
    for reading in sheet.extraction.readings:
        gate = ducts.gate(reading.gate)
        if gate is None or gate.id not in found.opened:
            unread[reading.gate] = "the gate is shut" if gate else "it is not in the extraction profile"
            continue
        suction = _suction(reading, gate, found)
        if suction is not None:
            suctions[gate.id] = suction
        flow = _measured(reading, gate, ducts, found.network.air.density)
        if flow is None:
            unread[gate.id] = "no hood static, velocity pressure, velocity or flow in it"
        elif not (suction is not None and suction.is_blocked and _only_static(reading)):
            measured[gate.id] = flow
    return AirEvidence(found.network, found.opened, found.modelled, measured, suctions, unread, found.filter_note)


@lru_cache(maxsize=64)
def modelled(ducts: Extraction, answered: frozenset[str], filter_drop: float | None = None) -> AirEvidence:
    """The network alone for these open gates, with the filter as it drops today (Pa); without any reading."""
    air, note = network(ducts), ""
    opened = answered & {gate.id for gate in ducts.gates}
    if filter_drop is not None:
        try:
            air = air.with_filter(filter_from_reading(air, opened, abs(filter_drop)))
        except ValueError as error:
            note = str(error)
            if not clean_filter(ducts.filter).drop(1.0):
                note = "the profile names no clean drop to hold it against"
    return AirEvidence(air, opened, solve(air, opened), {}, {}, {}, note)


def _suction(reading: AirReading, gate: Gate, found: AirEvidence) -> Suction | None:
    base = gate.hood_static
    if reading.hood_static is None or base is None or not (base.baseline.value and base.flow.value):
        return None
    expected = (found.modelled.gates[gate.id].flow / base.flow.value) ** 2 if found.model_holds else None
    share = abs(reading.hood_static.value / base.baseline.value)
    return Suction(reading.hood_static, base.baseline, base.taken, share, expected)


def _only_static(reading: AirReading) -> bool:
    return reading.flow is None and reading.velocity is None and reading.velocity_pressure is None


def _measured(reading: AirReading, gate: Gate, ducts: Extraction, density: float) -> Measured | None:
    """The flow that a reading tells, by the strongest figure in it."""
    run = ducts.run(gate.run)
    assert run is not None  # the network was built, so every gate has its run
    diameter = reading.diameter.value if reading.diameter else run.diameter.value
    if not diameter:
        return None
    area = duct_area(diameter)
    over = f"over {area * 1e4:.0f} cm²"
    if reading.velocity_pressure is not None:
        velocity = velocity_from_pressure(abs(reading.velocity_pressure.value), density)
        return Measured(velocity * area, f"V = √(2·VP/ρ): {reading.velocity_pressure} gives {velocity:.1f} m/s {over}")
    if reading.velocity is not None:
        return Measured(reading.velocity.value * area, f"Q = V·A: {reading.velocity} {over}")
    if reading.flow is not None:
        return Measured(reading.flow.value, f"flow read: {reading.flow}")
    if reading.hood_static is None:
        return None
    suction = abs(reading.hood_static.value)
    base = gate.hood_static
    if base is not None and base.baseline.value and base.flow.value:
        flow = flow_from_baseline(suction, abs(base.baseline.value), base.flow.value)
        how = f"Q = Q₀·√(SP/SP₀): {reading.hood_static} against {base.baseline} at {base.flow} on {base.taken}"
        return Measured(flow, how)
    velocity = velocity_from_hood_suction(suction, gate.hood_k, density)
    how = f"|SP| = (1 + K)·VP with hood K {gate.hood_k:g}: {reading.hood_static} gives {velocity:.1f} m/s {over}"
    return Measured(velocity * area, how)
