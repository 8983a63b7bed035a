"""Laws that every duct system obeys, whatever its shape."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from generated_ducts import random_network
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.engine.airflow import solve
from preflight.engine.network import Network

SLACK = 1e-7
"""Relative; the solver settles flows to 1e-9."""


@st.composite
def shops(draw: st.DrawFn) -> tuple[Network, list[str], list[str]]:
    """A duct system, its gates, and a part of them that is open."""
    network = random_network(Random(draw(st.integers(0, 2**32))), draw(st.integers(1, 20)))
    ids = [gate.id for gate in network.gates]
    return network, ids, draw(st.lists(st.sampled_from(ids), unique=True))


@settings(max_examples=150, deadline=None)
@given(shops())
def test_flow_is_conserved_at_every_junction(shop: tuple[Network, list[str], list[str]]) -> None:
    network, _, open_gates = shop
    result = solve(network, open_gates)
    for run in network.runs:
        arriving = sum(result.runs[r.id].flow for r in network.runs if r.into == run.id)
        arriving += sum(result.gates[g.id].flow for g in network.gates if g.run == run.id)
        assert result.runs[run.id].flow == pytest.approx(arriving, rel=SLACK)
    assert result.runs[network.runs[-1].id].flow == pytest.approx(result.fan.flow, rel=SLACK)


@settings(max_examples=150, deadline=None)
@given(shops(), st.data())
def test_opening_a_gate_never_raises_the_flow_at_another(
    shop: tuple[Network, list[str], list[str]], data: st.DataObject
) -> None:
    network, ids, open_gates = shop
    opened = data.draw(st.sampled_from(ids))
    before, after = solve(network, open_gates), solve(network, {*open_gates, opened})
    for gate in set(ids) - {opened}:
        assert after.gates[gate].flow <= before.gates[gate].flow * (1 + SLACK)
    assert after.fan.flow >= before.fan.flow * (1 - SLACK)


@settings(max_examples=100, deadline=None)
@given(shops(), st.data())
def test_a_run_speeds_up_only_by_gates_upstream_of_it_opening_or_others_closing(
    shop: tuple[Network, list[str], list[str]], data: st.DataObject
) -> None:
    network, ids, open_gates = shop
    opened = data.draw(st.sampled_from(ids))
    before, after = solve(network, open_gates), solve(network, {*open_gates, opened})
    into = {run.id: run.into for run in network.runs}
    downstream, here = set(), next(gate.run for gate in network.gates if gate.id == opened)
    while here in into:
        downstream.add(here)
        here = into[here]
    for run in network.runs:
        if run.id in downstream:
            assert after.runs[run.id].flow >= before.runs[run.id].flow * (1 - SLACK)
        else:
            assert after.runs[run.id].flow <= before.runs[run.id].flow * (1 + SLACK)


@settings(max_examples=100, deadline=None)
@given(shops(), st.floats(1.0, 10.0))
def test_a_dirtier_filter_never_raises_any_flow(shop: tuple[Network, list[str], list[str]], dirt: float) -> None:
    network, ids, open_gates = shop
    dirty = network.with_filter(replace(network.filter, scale=network.filter.scale * dirt))
    before, after = solve(network, open_gates), solve(dirty, open_gates)
    for gate in ids:
        assert after.gates[gate].flow <= before.gates[gate].flow * (1 + SLACK)
    for run in network.runs:
        assert after.runs[run.id].flow <= before.runs[run.id].flow * (1 + SLACK)


@settings(max_examples=150, deadline=None)
@given(shops())
def test_the_power_of_the_fan_is_lost_in_hoods_runs_filter_and_discharge(
    shop: tuple[Network, list[str], list[str]],
) -> None:
    network, _, open_gates = shop
    result = solve(network, open_gates)
    lost = sum(run.flow * run.loss for run in result.runs.values())
    density = network.air.density
    for gate in network.gates:
        here = result.gates[gate.id]
        if here.flow > 0.0:
            k = gate.loss_coefficient(here.open)
            lost += here.flow * k * 0.5 * density * here.velocity**2
    lost += result.fan.flow * (result.filter_drop + result.discharge)
    assert lost == pytest.approx(result.fan.flow * result.fan.pressure, rel=1e-6)


@settings(max_examples=80, deadline=None)
@given(shops(), st.floats(0.5, 2.0))
def test_with_square_law_losses_all_flows_follow_the_fan_laws(
    shop: tuple[Network, list[str], list[str]], ratio: float
) -> None:
    """Friction depends on Reynolds number, so similarity is exact only for runs of no length, filter without
    linear term."""
    network, ids, open_gates = shop
    runs = [replace(run, length=0.0, k=run.k + 0.3) for run in network.runs]
    dust_filter = replace(network.filter, linear=0.0)
    slow = Network.from_parts(runs, network.gates, network.air, network.fan, dust_filter)
    fast = replace(slow, fan=network.fan.at_speed(ratio))
    before, after = solve(slow, open_gates), solve(fast, open_gates)
    assert after.fan.flow == pytest.approx(ratio * before.fan.flow, rel=SLACK)
    assert after.fan.pressure == pytest.approx(ratio**2 * before.fan.pressure, rel=SLACK)
    for gate in ids:
        assert after.gates[gate].flow == pytest.approx(ratio * before.gates[gate].flow, rel=SLACK)


@settings(max_examples=80, deadline=None)
@given(shops(), st.randoms(use_true_random=False))
def test_the_order_in_which_runs_and_gates_are_listed_does_not_matter(
    shop: tuple[Network, list[str], list[str]], shuffler: Random
) -> None:
    network, ids, open_gates = shop
    runs, gates = list(network.runs), list(network.gates)
    shuffler.shuffle(runs)
    shuffler.shuffle(gates)
    shuffled = Network.from_parts(runs, gates, network.air, network.fan, network.filter)
    before, after = solve(network, open_gates), solve(shuffled, open_gates)
    for gate in ids:
        assert after.gates[gate].flow == pytest.approx(before.gates[gate].flow, rel=SLACK)
