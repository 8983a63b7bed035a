"""What is known of the air at this machine now: what was measured, and what the network says for the gates open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from preflight.checks.extraction.air_figures import (
    Impossible,
    Measured,
    counting,
    disagreeing,
    figures,
    impossible_in,
    pipe_area,
)
from preflight.engine.airflow import AirflowResult, clean_drop_with, filter_from_reading, solve
from preflight.shop.defaults import AIR_DISAGREES, FILTER_LEAST, SUCTION_BLOCKED
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
    impossible: Mapping[str, Impossible]
    """By gate, a figure that cannot be."""
    apart: Mapping[str, tuple[Measured, Measured]]
    """By gate, the lowest and the highest of figures that do not fit together."""
    filter_note: str = ""
    """Why a filter drop read today could not be used; empty when it was, or none was read."""
    filter_clean: float = 0.0
    """Where it was too low for any filter: what the clean one drops at the flow it would mean, Pa; else 0."""

    @property
    def model_holds(self) -> bool:
        """Whether the model may give a verdict: it settled, and the fan works within the points of its curve."""
        return self.modelled.converged and self.modelled.fan.on_curve

    def flow(self, gate: str) -> float | None:
        """Best known flow at a gate, m3/s; None when neither a reading nor the model tells it."""
        if gate in self.measured:
            return self.measured[gate].flow
        if self.is_doubtful(gate):
            return None
        return self.modelled.gates[gate].flow if self.model_holds else None

    def is_blocked(self, gate: str) -> bool:
        """Whether its hood static shows a block before the tap, and nothing else was read: its flow is not known."""
        suction = self.suctions.get(gate)
        return gate not in self.measured and suction is not None and suction.is_blocked

    def is_doubtful(self, gate: str) -> bool:
        """Whether today's reading says that the model cannot speak for the gate, and tells no flow itself."""
        return gate not in self.measured and (gate in self.impossible or self.is_blocked(gate))

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
    told: dict[str, list[Measured]] = {}
    suctions: dict[str, Suction] = {}
    unread: dict[str, str] = {}
    cannot: dict[str, Impossible] = {}
    for reading in sheet.extraction.readings:
        gate = ducts.gate(reading.gate)
        if gate is None or gate.id not in found.opened:
            unread[reading.gate] = "the gate is shut" if gate else "it is not in the extraction profile"
            continue
        area = pipe_area(reading, gate, ducts)
        if area and (wrong := _impossible(reading, gate, area, ducts, found)):
            cannot[gate.id] = wrong[0]
            reading = reading.model_copy(update={_FIELDS[one.what]: None for one in wrong})
            if not _figures_in(reading):
                continue
        suction = _suction(reading, gate, found)
        if suction is not None:
            suctions[gate.id] = suction
            if suction.is_blocked:
                reading = reading.model_copy(update={"hood_static": None})
                if not _figures_in(reading):
                    continue
        flows = figures(reading, gate, area, found.network.air.density)
        if flows:
            told.setdefault(gate.id, []).extend(flows)
        else:
            unread[gate.id] = "no hood static, velocity pressure, velocity or flow in it"
    return replace(
        found,
        measured={gate: counting(flows) for gate, flows in told.items()},
        suctions=suctions,
        unread=unread,
        impossible=cannot,
        apart={gate: pair for gate, flows in told.items() if (pair := disagreeing(flows)) is not None},
    )


@lru_cache(maxsize=64)
def modelled(ducts: Extraction, answered: frozenset[str], filter_drop: float | None = None) -> AirEvidence:
    """The network alone for these open gates, with the filter as it drops today (Pa); without any reading."""
    air, note, clean = network(ducts), "", 0.0
    opened = answered & {gate.id for gate in ducts.gates}
    if filter_drop is not None:
        try:
            dressed = filter_from_reading(air, opened, abs(filter_drop))
            if dressed.scale >= FILTER_LEAST:
                air = air.with_filter(dressed)
            else:
                clean = clean_drop_with(air, opened, abs(filter_drop))
        except ValueError as error:
            note = str(error)
            if not clean_filter(ducts.filter).drop(1.0):
                note = "the profile names no clean drop to hold it against"
    return AirEvidence(air, opened, solve(air, opened), {}, {}, {}, {}, {}, note, clean)


def _suction(reading: AirReading, gate: Gate, found: AirEvidence) -> Suction | None:
    base = gate.hood_static
    if reading.hood_static is None or base is None or not (base.baseline.value and base.flow.value):
        return None
    expected = (found.modelled.gates[gate.id].flow / base.flow.value) ** 2 if found.model_holds else None
    share = abs(reading.hood_static.value / base.baseline.value)
    return Suction(reading.hood_static, base.baseline, base.taken, share, expected)


def _figures_in(reading: AirReading) -> bool:
    return any(getattr(reading, name) is not None for name in _FIELDS.values())


def _impossible(
    reading: AirReading, gate: Gate, area: float, ducts: Extraction, found: AirEvidence
) -> list[Impossible]:
    only = modelled(ducts, frozenset({gate.id})).modelled
    alone = only.gates[gate.id].flow if only.converged else None
    expected = found.modelled.gates[gate.id].flow if found.modelled.converged else None
    base = gate.hood_static
    speed = (expected or 0.0) / area
    suction = abs(base.baseline.value) if base else (1 + gate.hood_k) * found.network.air.density * speed**2 / 2
    return list(impossible_in(reading, area, found.network, alone, expected, suction))


_FIELDS: Final = {
    "Hood static": "hood_static",
    "Velocity pressure": "velocity_pressure",
    "Air speed": "velocity",
    "Air flow": "flow",
}
"""Where in the sheet each figure stands."""
