"""The engine against a second solution of the same networks (scipy root search, friction from `fluids`)."""

from __future__ import annotations

from random import Random

import pytest
from generated_ducts import Reference, random_network, random_open_set

from preflight.engine.airflow import solve

BATCHES = 10
TREES_PER_BATCH = 32


@pytest.mark.parametrize("batch", range(BATCHES))
def test_generated_trees_agree_with_an_independent_solution(batch: int) -> None:
    """1 % at the fan and 2 % at each open gate, on 320 trees of 1 to 60 gates in all."""
    rng = Random(4100 + batch)
    for tree in range(TREES_PER_BATCH):
        network = random_network(rng, rng.randint(1, 60))
        open_gates = random_open_set(rng, network)
        reference = Reference(network, open_gates)
        assert reference.residual < 1e-6, f"the reference itself did not settle on tree {tree}"
        result = solve(network, open_gates)
        assert result.converged
        assert result.fan.on_curve
        assert result.fan.flow == pytest.approx(reference.total, rel=0.01)
        for gate in open_gates:
            assert result.gates[gate].flow == pytest.approx(reference.gates[gate], rel=0.02), (tree, gate)
