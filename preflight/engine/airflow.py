"""Airflow in every run and at every gate, for any set of open gates.

Model: air enters at the gates from the room, loses pressure in hoods, runs and filter, passes the fan and
leaves with the main's velocity pressure, which is charged once, there. Where runs meet, their *total*
pressures are equal; balancing by equal static pressure, as some hand methods do, shares a few per cent
differently.

Method: with the friction factors frozen every element loses R·Q², so the tree reduces to one resistance (in
series R adds, side by side 1/√R adds), one bracketed root against fan and filter gives the total flow, and
the same conductances share it out. New flows give new friction factors; a few sweeps suffice. All loops run
over arrays in tree order: no recursion, so a chain may be as long as it likes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.engine.ducts import LAMINAR_UNTIL, blended, colebrook_step, first_guess

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from preflight.engine.fan import FanCurve, Filter
    from preflight.engine.network import Network

MAX_SWEEPS = 100
TOLERANCE = 1e-9
"""Largest relative change of any run's flow in the last sweep."""


@dataclass(frozen=True, slots=True)
class RunFlow:
    """One run. Pressures are against the room, so a suction is negative."""

    flow: float
    """m³/s"""

    velocity: float
    """m/s"""

    reynolds: float
    velocity_pressure: float
    """Pa"""

    loss: float
    """Total pressure lost between its ends, Pa."""

    total_in: float
    """Total pressure at its upstream end, behind the gates that open there, Pa."""

    @property
    def total_out(self) -> float:
        """Total pressure at its downstream end, Pa."""
        return self.total_in - self.loss

    @property
    def static_in(self) -> float:
        """Static pressure at its upstream end, Pa."""
        return self.total_in - self.velocity_pressure

    @property
    def static_out(self) -> float:
        """Static pressure at its downstream end, Pa."""
        return self.total_out - self.velocity_pressure


@dataclass(frozen=True, slots=True)
class GateFlow:
    """One gate."""

    open: bool
    flow: float
    """Its own flow, m³/s; of a closed gate, its leak."""

    velocity: float
    """Own flow over the area of the run it opens into, m/s."""

    static_pressure: float
    """Static pressure in the run just behind the gate, against the room, Pa: what a tap there reads."""


@dataclass(frozen=True, slots=True)
class FanPoint:
    """Where the fan works."""

    flow: float
    """m³/s"""

    pressure: float
    """Fan total pressure, Pa."""

    on_curve: bool
    """False: outside the points given, so the result is no ground for a verdict."""


@dataclass(frozen=True, slots=True)
class AirflowResult:
    """The whole system for one set of open gates."""

    runs: Mapping[str, RunFlow]
    gates: Mapping[str, GateFlow]
    fan: FanPoint
    filter_drop: float
    """Pa"""

    discharge: float
    """Velocity pressure of the main, lost behind the fan, Pa."""

    converged: bool
    sweeps: int


@dataclass(slots=True)
class Flows:
    """A solution as bare arrays in the network's own order; `solve` dresses it."""

    total: float
    run: list[float]
    root_suction: list[float]
    """√ of the total suction at each run's upstream end, √Pa; of runs without flow, 0."""

    friction: list[float]
    """Colebrook's 1/√f of each run; start values for a similar set of gates."""

    converged: bool
    sweeps: int


def solve(network: Network, open_gates: Collection[str], tolerance: float = TOLERANCE) -> AirflowResult:
    """Flows and pressures with the named gates open and the others closed (or leaking).

    An unknown gate is a ValueError. All gates tight shut gives no flow and the fan at shut-off. If the sweeps
    do not settle, `converged` is False and the values are those of the last sweep.
    """
    if unknown := sorted(set(open_gates) - {gate.id for gate in network.gates}):
        raise ValueError(f"the duct system has no gate {', '.join(map(repr, unknown))}")
    is_open = [gate.id in open_gates for gate in network.gates]
    return _dressed(network, is_open, flows(network, is_open, tolerance=tolerance))


def flows(
    network: Network,
    is_open: list[bool],
    *,
    start: list[float] | None = None,
    filter_drop: float | None = None,
    tolerance: float = TOLERANCE,
) -> Flows:
    """The same solution as bare numbers, for callers that solve many sets of gates.

    `is_open` and the result are in the order of `network.gates` and `network.runs`; `start` takes `friction`
    of an earlier solution; `filter_drop` (Pa) takes the place of the filter's own drop, whatever the flow.
    """
    t = network.topology
    n = len(t.into)
    into, ratio, k, unit = t.into, t.length_over_diameter, t.k, t.unit_pressure
    unit_re, rough = t.unit_reynolds, t.relative_roughness
    gates = [0.0] * (n + 1)
    for opened, i, if_open, if_closed in zip(is_open, t.gate_run, t.gate_open, t.gate_closed, strict=True):
        gates[i] += if_open if opened else if_closed
    carrying = gates[:]
    live = []
    for i in range(n):
        if carrying[i] > 0.0:
            live.append(i)
            carrying[into[i]] = 1.0
    q = [0.0] * n
    suction = [0.0] * (n + 1)
    x = list(start) if start else [first_guess(1e5, e) for e in rough]
    if not live:
        return Flows(0.0, q, suction[:n], x, True, 0)

    linear = network.filter.scale * network.filter.linear
    quadratic = network.filter.scale * network.filter.quadratic
    constant = 0.0
    if filter_drop is not None:
        linear, quadratic, constant = 0.0, 0.0, filter_drop
    f = [1.0 / (v * v) for v in x]
    path = [0.0] * n
    downstream_first = live[::-1]
    total, settled, sweep = network.fan.flows[-1], False, 0
    while not settled and sweep < MAX_SWEEPS:
        sweep += 1
        c = gates[:]
        for i in live:
            g = path[i] = 1.0 / math.sqrt(1.0 / (c[i] * c[i]) + (f[i] * ratio[i] + k[i]) * unit[i])
            c[into[i]] += g
        resistance = 1.0 / (c[n] * c[n]) + unit[n - 1]
        total = operating_flow(network.fan, linear, quadratic + resistance, constant, total)
        suction[n] = total / c[n]
        settled = True
        for i in downstream_first:
            flow = path[i] * suction[into[i]]
            suction[i] = flow / c[i]
            if abs(flow - q[i]) > tolerance * flow:
                settled = False
            q[i] = flow
            re = unit_re[i] * flow
            if re > LAMINAR_UNTIL:
                x[i] = colebrook_step(x[i], re, rough[i])
                f[i] = blended(re, x[i])
            else:
                # A trickle far down a chain may underflow to nothing: no division by zero, no matter to any loss.
                f[i] = 64.0 / max(re, 1e-9)
    return Flows(total, q, suction[:n], x, settled, sweep)


def operating_flow(fan: FanCurve, linear: float, quadratic: float, constant: float = 0.0, guess: float = 1.0) -> float:
    """Flow at which the fan's pressure equals constant + linear·Q + quadratic·Q², m³/s.

    `quadratic` more than zero, the others not negative; ValueError if `constant` is more than the fan can
    give without flow. Newton's method, held inside a bracket that halves whenever a step would leave it.

    >>> from preflight.engine.fan import FanCurve
    >>> parabola = FanCurve.from_points([(i / 50, 1500 - 400 * (i / 50) ** 2) for i in range(80)])
    >>> round(operating_flow(parabola, 0.0, 1100.0), 6)
    1.0
    """
    shut_off = fan.pressure(0.0)
    if constant >= shut_off:
        raise ValueError(f"a drop of {constant:g} Pa is more than the fan's {shut_off:g} Pa without flow")
    low, high = 0.0, math.sqrt((shut_off - constant) / quadratic)
    flow = guess if low < guess < high else 0.5 * high
    while True:
        pressure, slope = fan.pressure_and_slope(flow)
        surplus = pressure - constant - flow * (linear + quadratic * flow)
        if surplus > 0.0:
            low = flow
        else:
            high = flow
        better = flow - surplus / (slope - linear - 2.0 * quadratic * flow)
        if abs(better - flow) <= 1e-13 * flow:
            return flow
        flow = better if low < better < high else 0.5 * (low + high)


def filter_from_reading(network: Network, open_gates: Collection[str], drop: float) -> Filter:
    """The filter scaled so that the model, with these gates open, drops what the gauge reads today (Pa).

    The flow at the reading is not known beforehand: it is the one the ducts let through with that drop.
    ValueError for a drop that is negative, more than the fan can give, or read with no air flowing.
    """
    if drop < 0.0:
        raise ValueError(f"a filter drop cannot be negative, got {drop:g} Pa")
    is_open = [gate.id in open_gates for gate in network.gates]
    flow = flows(network, is_open, filter_drop=drop).total
    if flow == 0.0:
        raise ValueError("a filter drop says nothing while no air flows")
    return network.filter.scaled_to(drop, flow)


def clean_drop_with(network: Network, open_gates: Collection[str], drop: float) -> float:
    """What the filter as it is drops (Pa) at the flow that the ducts let through when it drops `drop` Pa."""
    is_open = [gate.id in open_gates for gate in network.gates]
    return network.filter.drop(flows(network, is_open, filter_drop=drop).total)


def _dressed(network: Network, is_open: list[bool], found: Flows) -> AirflowResult:
    t, fan, n = network.topology, network.fan, len(network.runs)
    total = found.total
    pressure = fan.pressure(total)
    filter_drop = network.filter.drop(total)
    discharge = t.unit_pressure[-1] * total * total
    # Upstream end of each run; a run without flow stands under the pressure of the node it leads into.
    total_in = [0.0] * n + [filter_drop + discharge - pressure]
    for i in reversed(range(n)):
        total_in[i] = -(found.root_suction[i] ** 2) if found.run[i] > 0.0 else total_in[t.into[i]]
    runs = {}
    for i, run in enumerate(network.runs):
        flow = found.run[i]
        runs[run.id] = RunFlow(
            flow=flow,
            velocity=flow / run.area,
            reynolds=t.unit_reynolds[i] * flow,
            velocity_pressure=t.unit_pressure[i] * flow * flow,
            loss=total_in[i] - total_in[t.into[i]],
            total_in=total_in[i],
        )
    gates = {}
    for j, gate in enumerate(network.gates):
        i = t.gate_run[j]
        own = (t.gate_open[j] if is_open[j] else t.gate_closed[j]) * found.root_suction[i]
        behind = runs[gate.run]
        gates[gate.id] = GateFlow(is_open[j], own, own / network.runs[i].area, behind.static_in)
    point = FanPoint(total, pressure, fan.on_curve(total))
    return AirflowResult(runs, gates, point, filter_drop, discharge, found.converged, found.sweeps)
