"""Seeded random duct systems, and a second way to solve them that shares no method with the engine.

The reference takes the flows at all gates that let air in as unknowns of one big root search by scipy, friction
from `fluids`, the fan from scipy's PCHIP; it knows nothing of resistances, conductances or sweeps.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from fluids.friction import friction_factor, friction_laminar
from scipy.interpolate import PchipInterpolator
from scipy.optimize import root

from preflight.engine.air import Air
from preflight.engine.ducts import COLLECTOR, Gate, Run
from preflight.engine.fan import FanCurve, Filter
from preflight.engine.network import Network

if TYPE_CHECKING:
    from random import Random

BRANCH_DIAMETERS = (0.1, 0.125, 0.15, 0.18, 0.2)


def random_network(rng: Random, gate_count: int, *, leaks: bool = True) -> Network:
    """A tree with `gate_count` gates, most on branches of their own, some beside others or on a carrying run."""
    area = 0.012 * max(2.0, gate_count * rng.uniform(0.3, 0.9))
    diameter = math.sqrt(4.0 * area / math.pi)
    rough = rng.choice((0.00009, 0.00015, 0.0009))
    runs = [Run("main", COLLECTOR, diameter, rng.uniform(3, 20), 0.00015, rng.uniform(0, 1.5))]
    for i in range(rng.randint(0, max(0, gate_count // 2))):
        into = rng.choice(runs)
        runs.append(
            Run(
                f"trunk-{i}",
                into.id,
                max(0.125, into.diameter * rng.uniform(0.6, 1.0)),
                rng.uniform(1, 12),
                0.00015,
                rng.uniform(0, 1),
            )
        )
    trunks = list(runs)
    gates: list[Gate] = []
    for j in range(gate_count):
        where = rng.random()
        if where < 0.85 or not gates:
            run = Run(
                f"drop-{j}",
                rng.choice(trunks).id,
                rng.choice(BRANCH_DIAMETERS),
                rng.uniform(1, 9),
                rough,
                rng.uniform(0.1, 2.5),
            )
            runs.append(run)
        else:
            run = rng.choice(runs[1:])
        leak = rng.uniform(0.02, 0.1) if leaks and rng.random() < 0.4 else 0.0
        gates.append(Gate(f"gate-{j}", run.id, hood_k=rng.uniform(0.2, 1.8), leak=leak))
    shut_off = rng.uniform(2000, 4500)
    full = 60.0 * area
    fan = FanCurve.from_points(
        [(x * full, shut_off * (1 - 0.97 * x ** rng.uniform(1.6, 2.4))) for x in (0.0, 0.25, 0.5, 0.75, 1.0)]
    )
    dust_filter = Filter(rng.uniform(0, 600) / full, rng.uniform(0, 300) / full**2, rng.uniform(1, 2))
    rng.shuffle(runs)
    return Network.from_parts(runs, gates, Air(rng.uniform(1.0, 1.25), 1.82e-5), fan, dust_filter)


def random_open_set(rng: Random, network: Network) -> frozenset[str]:
    """Some of the gates, at least one."""
    ids = [gate.id for gate in network.gates]
    return frozenset(rng.sample(ids, rng.randint(1, len(ids))))


def reference_friction(re: float, relative_roughness: float) -> float:
    """Friction from `fluids`, with the model's stated smooth step between Re 2000 and 4000.

    `fluids` itself jumps from 64/Re to the turbulent value at Re 2040; by itself that moves a starved branch of
    some 0.3 m/s by up to 8 %.
    """
    if re <= 2000.0:
        return float(friction_laminar(re))
    turbulent = float(friction_factor(max(re, 2041.0), relative_roughness))
    if re >= 4000.0:
        return turbulent
    u = re / 2000.0 - 1.0
    return float(friction_laminar(re) + u * u * (3 - 2 * u) * (turbulent - friction_laminar(re)))


class Reference:
    """The independent solution: fan flow, and the flow at each gate."""

    def __init__(self, network: Network, open_gates: frozenset[str], tolerance: float = 1e-9) -> None:
        air = network.air
        runs = {run.id: run for run in network.runs}
        area = {run.id: math.pi * run.diameter**2 / 4 for run in network.runs}
        gates = [gate for gate in network.gates if gate.id in open_gates or gate.leak]
        hood_k = [g.hood_k if g.id in open_gates else (1 + g.hood_k) / g.leak**2 - 1 for g in gates]
        ways: list[list[str]] = []
        for gate in gates:
            way, here = [], gate.run
            while here != "collector":
                way.append(here)
                here = runs[here].into
            ways.append(way)
        carrying = {name for way in ways for name in way}
        main = ways[0][-1]
        fan = PchipInterpolator(network.fan.flows, network.fan.pressures)
        scale = network.fan.pressures[0]

        def dynamic(flow: float, name: str) -> float:
            return 0.5 * air.density * flow * abs(flow) / area[name] ** 2

        def residual(x: np.ndarray) -> list[float]:
            q = x * np.abs(x)
            flow = dict.fromkeys(carrying, 0.0)
            for own, way in zip(q, ways, strict=True):
                for name in way:
                    flow[name] += own
            loss: dict[str, float] = {}
            for name in carrying:
                run = runs[name]
                re = 4 * air.density * abs(flow[name]) / (math.pi * run.diameter * air.viscosity)
                f = reference_friction(max(re, 1e-6), run.roughness / run.diameter)
                loss[name] = (f * run.length / run.diameter + run.k) * dynamic(flow[name], name)
            total = flow[main]
            spent = network.filter.drop(abs(total)) + dynamic(total, main) - float(fan(total))
            return [
                (k * dynamic(own, way[0]) + sum(loss[name] for name in way) + spent) / scale
                for own, k, way in zip(q, hood_k, ways, strict=True)
            ]

        weights = np.array([area[g.run] / math.sqrt(1 + k) for g, k in zip(gates, hood_k, strict=True)])
        self.residual = math.inf
        for method, share in (("hybr", 0.3), ("hybr", 0.1), ("hybr", 0.03), ("lm", 0.3), ("lm", 0.1)):
            start = np.sqrt(weights * min(25.0, share * network.fan.flows[-1] / weights.sum()))
            found = root(residual, start, method=method, tol=tolerance)
            self.residual = float(np.max(np.abs(residual(found.x))))
            if self.residual < 1e-6 and np.all(found.x > -1e-9):
                break
        q = found.x * np.abs(found.x)
        self.total = float(q.sum())
        self.gates = {gate.id: float(own) for gate, own in zip(gates, q, strict=True)}
