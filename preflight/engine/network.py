"""The duct system as one checked object: runs, gates, air, fan and filter.

Checking and ordering the tree is done once here; `airflow.solve` then runs many times over the same arrays.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preflight.engine.ducts import COLLECTOR, Gate, Run

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preflight.engine.air import Air
    from preflight.engine.fan import FanCurve, Filter

_LOSSLESS = 1e-9
"""Loss coefficient taken for a gate without loss, so that its conductance stays finite."""


@dataclass(frozen=True)
class Topology:
    """The tree as arrays, runs in an order in which every run comes before the one it leads into.

    The last run is the one at the collector; `into` of it is the number of runs.
    """

    into: tuple[int, ...]
    length_over_diameter: tuple[float, ...]
    k: tuple[float, ...]
    unit_pressure: tuple[float, ...]
    """ρ/(2A²), Pa per (m³/s)²: velocity pressure at one m³/s."""

    unit_reynolds: tuple[float, ...]
    """Reynolds number at one m³/s."""

    relative_roughness: tuple[float, ...]
    gate_run: tuple[int, ...]
    gate_open: tuple[float, ...]
    """Conductance of each open gate, (m³/s)/√Pa."""

    gate_closed: tuple[float, ...]
    """Conductance of each closed gate; 0 if tight."""

    serving: tuple[int, ...]
    """For each run the gates upstream of it, as bits in the order of the gates."""


@dataclass(frozen=True)
class Network:
    """A checked duct system. Build it with `from_parts`."""

    runs: tuple[Run, ...]
    """In an order in which every run comes before the one it leads into; the last one is the main."""

    gates: tuple[Gate, ...]
    air: Air
    fan: FanCurve
    filter: Filter
    topology: Topology

    @classmethod
    def from_parts(
        cls, runs: Iterable[Run], gates: Iterable[Gate], air: Air, fan: FanCurve, dust_filter: Filter
    ) -> Network:
        """Check and order a duct system; one ValueError names everything that is wrong with it."""
        runs, gates = tuple(runs), tuple(gates)
        if found := tree_problems(runs, gates):
            raise ValueError("; ".join(found))
        ordered = _upstream_first(runs)
        topology = _compile(ordered, gates, air)
        if gain := _gain(ordered, topology):
            raise ValueError(gain)
        return cls(ordered, gates, air, fan, dust_filter, topology)

    def with_filter(self, dust_filter: Filter) -> Network:
        """The same ducts with another state of the filter."""
        return replace(self, filter=dust_filter)

    def with_run_k(self, run: str, k: float) -> Network:
        """The same system with another loss coefficient of one run."""
        changed = tuple(replace(r, k=k) if r.id == run else r for r in self.runs)
        return Network.from_parts(changed, self.gates, self.air, self.fan, self.filter)


def tree_problems(runs: Sequence[Run], gates: Sequence[Gate]) -> tuple[str, ...]:
    """Everything that is wrong with a tree of runs and gates, as plain sentences; empty if it is sound."""
    found = [f"run {name!r} is given {n} times" for name, n in Counter(r.id for r in runs).items() if n > 1]
    found += [f"gate {name!r} is given {n} times" for name, n in Counter(g.id for g in gates).items() if n > 1]
    known = {run.id: run for run in runs}
    roots = [run.id for run in runs if run.into == COLLECTOR]
    if not roots:
        found.append(f"no run leads into the {COLLECTOR}")
    elif len(roots) > 1:
        found.append(f"only one run may lead into the {COLLECTOR}, not {len(roots)}: {', '.join(roots)}")
    for run in runs:
        found += _run_problems(run)
        if run.into != COLLECTOR and run.into not in known:
            found.append(f"run {run.id!r} leads into {run.into!r}, which does not exist")
    found += [f"runs {', '.join(circle)} lead in a circle" for circle in _circles(known)]
    for gate in gates:
        if gate.run not in known:
            found.append(f"gate {gate.id!r} opens into run {gate.run!r}, which does not exist")
        if not 0.0 <= gate.hood_k < math.inf:
            found.append(f"hood loss of gate {gate.id!r} must not be negative, got {gate.hood_k:g}")
        if not 0.0 <= gate.leak < 1.0:
            found.append(f"leak of gate {gate.id!r} must be from 0 to below 1, got {gate.leak:g}")
    return tuple(found)


def _run_problems(run: Run) -> list[str]:
    found: list[str] = []
    if run.id == COLLECTOR:
        found.append(f"a run cannot be called {COLLECTOR!r}")
    if not 0.0 < run.diameter < math.inf:
        found.append(f"diameter of run {run.id!r} must be more than zero, got {run.diameter:g} m")
    elif not 0.0 <= run.roughness <= 0.1 * run.diameter:
        found.append(f"roughness of run {run.id!r} must be from 0 to a tenth of its diameter, got {run.roughness:g} m")
    if not 0.0 <= run.length < math.inf:
        found.append(f"length of run {run.id!r} must not be negative, got {run.length:g} m")
    if not math.isfinite(run.k):
        found.append(f"loss coefficient of run {run.id!r} is not a number")
    return found


def _circles(known: dict[str, Run]) -> list[list[str]]:
    """Each circle of runs once. Every run has one way on, so following it finds them all."""
    circles: list[list[str]] = []
    seen: set[str] = set()
    for start in known:
        path: dict[str, None] = {}
        here = start
        while here in known and here not in seen:
            seen.add(here)
            path[here] = None
            here = known[here].into
        if here in path:
            walked = list(path)
            circles.append(walked[walked.index(here) :])
    return circles


def _upstream_first(runs: tuple[Run, ...]) -> tuple[Run, ...]:
    tributaries: dict[str, list[Run]] = {}
    for run in reversed(runs):
        tributaries.setdefault(run.into, []).append(run)
    order = list(tributaries[COLLECTOR])
    for run in order:
        order += tributaries.get(run.id, ())
    return tuple(reversed(order))


def _compile(runs: tuple[Run, ...], gates: tuple[Gate, ...], air: Air) -> Topology:
    position = {run.id: i for i, run in enumerate(runs)} | {COLLECTOR: len(runs)}
    unit_pressure = tuple(0.5 * air.density / run.area**2 for run in runs)

    def conductance(gate: Gate, is_open: bool) -> float:
        k = max(gate.loss_coefficient(is_open), _LOSSLESS)
        return 1.0 / math.sqrt(k * unit_pressure[position[gate.run]])

    serving = [0] * (len(runs) + 1)
    for bit, gate in enumerate(gates):
        serving[position[gate.run]] |= 1 << bit
    for i, run in enumerate(runs):
        serving[position[run.into]] |= serving[i]
    return Topology(
        into=tuple(position[run.into] for run in runs),
        length_over_diameter=tuple(run.length / run.diameter for run in runs),
        k=tuple(run.k for run in runs),
        unit_pressure=unit_pressure,
        unit_reynolds=tuple(4.0 * air.density / (math.pi * run.diameter * air.viscosity) for run in runs),
        relative_roughness=tuple(run.roughness / run.diameter for run in runs),
        gate_run=tuple(position[gate.run] for gate in gates),
        gate_open=tuple(conductance(gate, True) for gate in gates),
        gate_closed=tuple(conductance(gate, False) for gate in gates),
        serving=tuple(serving[:-1]),
    )


def _gain(runs: tuple[Run, ...], t: Topology) -> str:
    """The run up to whose end negative loss coefficients would make air gain energy, in words; or "".

    A junction may have a negative coefficient, but the way from the room to the end of a run must lose
    something. All gates open and no friction is the way of least loss.
    """
    if all(k >= 0.0 for k in t.k):
        return ""
    conductance = [0.0] * (len(runs) + 1)
    for j, i in enumerate(t.gate_run):
        conductance[i] += t.gate_open[j]
    for i, run in enumerate(runs):
        if conductance[i] == 0.0:
            continue
        resistance = conductance[i] ** -2 + t.k[i] * t.unit_pressure[i]
        if resistance <= 0.0:
            return f"the loss coefficients up to the end of run {run.id!r} add up to a gain, not a loss"
        conductance[t.into[i]] += 1.0 / math.sqrt(resistance)
    return ""
