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
from preflight.shop.duct_network import network

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.engine.network import Network
    from preflight.sheet import AirReading, SetupSheet
    from preflight.shop.extraction import Extraction
    from preflight.shop.view import ShopView


@dataclass(frozen=True, slots=True)
class Measured:
    """One gate's flow from a reading."""

    flow: float
    """m3/s"""
    how: str
    """The reading and the formula, for "why"."""
    suction_share: float | None = None
    """Hood static over its baseline, where it was read."""


@dataclass(frozen=True, slots=True)
class AirEvidence:
    """Strongest first: readings by gate, then the network's flows."""

    network: Network
    modelled: AirflowResult
    measured: Mapping[str, Measured]
    unread: Mapping[str, str]
    """Readings that give no flow, by gate, with what is missing."""
    filter_note: str = ""
    """Why a filter drop read today could not be used; empty when it was, or none was read."""

    def flow(self, gate: str) -> float:
        """Best known flow at a gate, m3/s."""
        return self.measured[gate].flow if gate in self.measured else self.modelled.gates[gate].flow


def evidence(sheet: SetupSheet, shop: ShopView) -> AirEvidence | None:
    """The evidence for the gates that the sheet says are open; None without a profile or an answer.

    Gates that the profile does not know are left out here and named by the check.
    """
    ducts, answered = shop.extraction, sheet.extraction.open
    if ducts is None or answered is None:
        return None
    opened = frozenset(answered) & {gate.id for gate in ducts.gates}
    drop = sheet.extraction.filter_drop.value if sheet.extraction.filter_drop else None
    air, modelled, note = _modelled(ducts, opened, drop)
    measured: dict[str, Measured] = {}
    unread: dict[str, str] = {}
    for reading in sheet.extraction.readings:
        found = _measured(reading, ducts, air)
        if isinstance(found, Measured):
            measured[reading.gate] = found
        else:
            unread[reading.gate] = found
    return AirEvidence(air, modelled, measured, unread, note)


@lru_cache(maxsize=64)
def _modelled(ducts: Extraction, opened: frozenset[str], drop: float | None) -> tuple[Network, AirflowResult, str]:
    air, note = network(ducts), ""
    if drop is not None:
        try:
            air = air.with_filter(filter_from_reading(air, opened, abs(drop)))
        except ValueError as error:
            note = str(error)
    return air, solve(air, opened), note


def _measured(reading: AirReading, ducts: Extraction, air: Network) -> Measured | str:
    gate = ducts.gate(reading.gate)
    if gate is None:
        return f"gate {reading.gate!r} is not in the extraction profile"
    run = ducts.run(gate.run)
    assert run is not None  # the network was built, so every gate has its run
    area = duct_area(reading.diameter.value if reading.diameter else run.diameter.value)
    density = air.air.density
    if reading.flow is not None:
        return Measured(reading.flow.value, f"flow read: {reading.flow}")
    if reading.velocity is not None:
        return Measured(reading.velocity.value * area, f"Q = V·A: {reading.velocity} over {area * 1e4:.0f} cm²")
    if reading.velocity_pressure is not None:
        velocity = velocity_from_pressure(abs(reading.velocity_pressure.value), density)
        how = f"V = √(2·VP/ρ): {reading.velocity_pressure} gives {velocity:.1f} m/s over {area * 1e4:.0f} cm²"
        return Measured(velocity * area, how)
    if reading.hood_static is not None:
        suction = abs(reading.hood_static.value)
        if gate.hood_static is not None:
            base = gate.hood_static
            flow = flow_from_baseline(suction, abs(base.baseline.value), base.flow.value)
            how = f"Q = Q₀·√(SP/SP₀): {reading.hood_static} against {base.baseline} at {base.flow} on {base.taken}"
            return Measured(flow, how, suction / abs(base.baseline.value))
        velocity = velocity_from_hood_suction(suction, gate.hood_k, density)
        how = f"|SP| = (1 + K)·VP with hood K {gate.hood_k:g}: {reading.hood_static} gives {velocity:.1f} m/s"
        return Measured(velocity * area, how)
    return "the reading holds no hood static, velocity pressure, velocity or flow"
