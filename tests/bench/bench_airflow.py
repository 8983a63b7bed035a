"""Speed of the airflow solver: against scipy on a 40-gate shop, and its growth with the number of gates.

Run: python -m tests.bench.bench_airflow
"""

from __future__ import annotations

from random import Random
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

from generated_ducts import Reference, random_network, random_open_set

from preflight.engine.airflow import TOLERANCE, solve
from preflight.engine.gate_advice import advise

if TYPE_CHECKING:
    from collections.abc import Callable


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Median time of one call."""
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return median(times)


def main() -> None:
    """Print the ratios."""
    print("40 gates, one solve, tolerance 1e-9: engine against scipy root over the open gates' flows (fluids)")
    for seed in range(5):
        rng = Random(seed)
        network = random_network(rng, 40, leaks=False)
        open_gates = random_open_set(rng, network) if seed else frozenset(gate.id for gate in network.gates)
        engine = seconds(lambda n=network, o=open_gates: solve(n, o), 50)  # type: ignore[misc]
        scipy = seconds(lambda n=network, o=open_gates: Reference(n, o, TOLERANCE), 5)  # type: ignore[misc]
        found = Reference(network, open_gates, TOLERANCE)
        error = abs(solve(network, open_gates).fan.flow / found.total - 1)
        print(
            f"  {len(open_gates):3} open: engine {engine * 1e3:7.3f} ms, scipy {scipy * 1e3:8.2f} ms, "
            f"ratio {scipy / engine:6.1f}, fan flows differ by {error:.0e}"
        )

    print("growth with the number of gates, half of them open")
    for count in (5, 10, 20, 40, 80, 160, 400):
        network = random_network(Random(count), count)
        open_gates = frozenset(gate.id for gate in network.gates[::2])
        result = solve(network, open_gates)
        time = seconds(lambda n=network, o=open_gates: solve(n, o), 20)  # type: ignore[misc]
        print(
            f"  {count:4} gates, {len(network.runs):4} runs: {time * 1e3:7.3f} ms, "
            f"{time * 1e6 / count:5.1f} µs a gate, {result.sweeps} sweeps"
        )

    print("advice on 12 and 40 gates, all open, half way between the flow now and the flow alone")
    for count in (12, 40):
        network = random_network(Random(count), count, leaks=False)
        every = frozenset(gate.id for gate in network.gates)
        mine = network.gates[0].id
        now, alone = solve(network, every).gates[mine].flow, solve(network, {mine}).gates[mine].flow
        start = perf_counter()
        advice = advise(network, every, {mine: 0.5 * (now + alone)}, floor_velocity=0.0)
        changes = len(advice.options[0].close) if advice.options else 0
        print(
            f"  {count:3} gates: {(perf_counter() - start) * 1e3:8.1f} ms, {len(advice.options)} options of "
            f"{changes} changes, {advice.search}"
        )


if __name__ == "__main__":
    main()
