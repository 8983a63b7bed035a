"""Airflow of whole duct systems: the limiting cases, what the numbers mean, and today's filter."""

from __future__ import annotations

from random import Random

import pytest
from generated_ducts import random_network

from preflight.engine.air import Air, hood_suction, velocity_from_hood_suction
from preflight.engine.airflow import filter_from_reading, flows, operating_flow, solve
from preflight.engine.ducts import Gate, Run, run_loss
from preflight.engine.fan import FanCurve, Filter
from preflight.engine.network import Network
from preflight.engine.refit import refit_k, relative_difference

AIR = Air(1.2, 1.82e-5)
FAN = FanCurve.from_points([(0.0, 3300.0), (1.1, 3150.0), (2.2, 2600.0), (3.3, 1500.0)])


def shop(*, leak: float = 0.0, hood_k: float = 0.5, dust_filter: Filter | None = None) -> Network:
    """Two heads on one trunk, a saw on the main."""
    runs = [
        Run("main", "collector", 0.315, 12.0, 0.00015, 0.7),
        Run("trunk", "main", 0.28, 6.0, 0.00015, 0.4),
        Run("one", "trunk", 0.2, 4.0, 0.00015, 1.0),
        Run("two", "trunk", 0.2, 5.0, 0.00015, 1.2),
        Run("three", "main", 0.14, 7.0, 0.00015, 1.5),
    ]
    gates = [Gate(name, run, hood_k, leak) for name, run in (("head-1", "one"), ("head-2", "two"), ("saw", "three"))]
    return Network.from_parts(runs, gates, AIR, FAN, dust_filter or Filter(150.0, 20.0))


def test_all_gates_shut_is_no_flow_and_the_fan_at_shut_off() -> None:
    result = solve(shop(), set())
    assert result.converged
    assert (result.fan.flow, result.fan.pressure) == (0.0, 3300.0)
    assert all(run.flow == 0.0 and run.velocity == 0.0 for run in result.runs.values())
    assert all(gate.static_pressure == -3300.0 for gate in result.gates.values())


def test_leaking_gates_all_shut_draw_their_share_under_the_suction_behind_them() -> None:
    network = shop(leak=0.05)
    result = solve(network, set())
    area = {run.id: run.area for run in network.runs}
    assert result.converged
    assert result.fan.flow == pytest.approx(sum(gate.flow for gate in result.gates.values()))
    for gate in network.gates:
        here = result.gates[gate.id]
        if_open = area[gate.run] * velocity_from_hood_suction(-here.static_pressure, gate.hood_k, AIR.density)
        assert not here.open
        assert here.flow == pytest.approx(0.05 * if_open, rel=1e-6)


def test_a_single_run_from_gate_to_collector_balances_by_hand() -> None:
    run = Run("only", "collector", 0.2, 8.0, 0.00015, 1.0)
    network = Network.from_parts([run], [Gate("g", "only", 0.5)], AIR, FAN, Filter(150.0, 20.0))
    result = solve(network, {"g"})
    flow = result.fan.flow
    vp = result.runs["only"].velocity_pressure
    spent = 0.5 * vp + run_loss(run, flow, AIR) + network.filter.drop(flow) + vp
    assert spent == pytest.approx(FAN.pressure(flow), rel=1e-7)
    assert result.gates["g"].static_pressure == pytest.approx(
        -hood_suction(result.runs["only"].velocity, 0.5, AIR.density), rel=1e-7
    )


def test_a_shut_gate_on_a_still_branch_feels_the_pressure_of_its_junction() -> None:
    result = solve(shop(), {"head-1"})
    assert result.gates["saw"].flow == 0.0
    assert result.gates["saw"].static_pressure == pytest.approx(result.runs["main"].total_in)
    assert result.runs["trunk"].total_out == pytest.approx(result.runs["main"].total_in)


def test_junctions_have_one_total_pressure() -> None:
    result = solve(shop(), {"head-1", "head-2", "saw"})
    one, two, trunk = (result.runs[name] for name in ("one", "two", "trunk"))
    assert one.total_out == pytest.approx(trunk.total_in)
    assert two.total_out == pytest.approx(trunk.total_in)
    assert one.static_out != pytest.approx(trunk.static_in)
    for run in shop().runs:
        assert result.runs[run.id].loss == pytest.approx(run_loss(run, result.runs[run.id].flow, AIR), rel=1e-6)


def test_two_gates_side_by_side_in_one_run_share_it_by_their_losses() -> None:
    run = Run("only", "collector", 0.25, 8.0, 0.00015, 1.0)
    network = Network.from_parts([run], [Gate("a", "only", 0.5), Gate("b", "only", 2.0)], AIR, FAN, Filter())
    gates = solve(network, {"a", "b"}).gates
    assert gates["a"].flow == pytest.approx(2.0 * gates["b"].flow)
    assert gates["a"].flow + gates["b"].flow == pytest.approx(solve(network, {"a", "b"}).runs["only"].flow)


def test_gates_without_loss_share_evenly_and_nothing_divides_by_zero() -> None:
    run = Run("only", "collector", 0.25, 0.0, 0.0, 0.0)
    network = Network.from_parts([run], [Gate("a", "only"), Gate("b", "only")], AIR, FAN, Filter(800.0))
    gates = solve(network, {"a", "b"}).gates
    assert gates["a"].flow == pytest.approx(gates["b"].flow)


def test_a_fan_point_beyond_the_curve_is_flagged() -> None:
    short = FanCurve.from_points([(0.0, 3300.0), (0.1, 3290.0), (0.2, 3280.0), (0.3, 3270.0)])
    network = shop()
    result = solve(Network.from_parts(network.runs, network.gates, AIR, short, Filter()), {"head-1"})
    assert result.converged
    assert not result.fan.on_curve


def test_a_chain_of_two_thousand_runs_solves_without_deep_recursion() -> None:
    runs = [Run("r0", "collector", 0.6, 1.0, 0.00015)]
    runs += [Run(f"r{i}", f"r{i - 1}", 0.6, 0.5, 0.00015) for i in range(1, 2000)]
    gates = [Gate(f"g{i}", f"r{i}", 1.0, leak=0.02) for i in range(0, 2000, 10)]
    result = solve(Network.from_parts(runs, gates, AIR, FAN, Filter(100.0)), {"g1990", "g1000", "g500"})
    assert result.converged
    assert result.fan.flow == pytest.approx(sum(gate.flow for gate in result.gates.values()))


def test_four_hundred_gates_solve() -> None:
    network = random_network(Random(5), 400)
    result = solve(network, [gate.id for gate in network.gates])
    assert result.converged
    assert result.fan.flow == pytest.approx(sum(gate.flow for gate in result.gates.values()))


def test_too_few_sweeps_are_reported_not_hidden() -> None:
    """No relative change can be below zero, so a negative tolerance never settles."""
    result = solve(shop(), {"head-1"}, tolerance=-1.0)
    assert not result.converged
    assert result.sweeps == 100


def test_the_answer_does_not_depend_on_where_the_sweeps_start() -> None:
    network = random_network(Random(8), 25)
    every = [True] * 25
    some = [j % 3 == 0 for j in range(25)]
    warm = flows(network, some, start=flows(network, every).friction)
    cold = flows(network, some)
    assert warm.run == pytest.approx(cold.run, rel=1e-7)


def test_an_unknown_gate_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="'lathe'"):
        solve(shop(), {"lathe", "saw"})


def test_todays_filter_drop_is_reproduced_and_lowers_every_flow() -> None:
    network = shop()
    open_gates = {"head-1", "head-2"}
    clean = solve(network, open_gates)
    today = network.with_filter(filter_from_reading(network, open_gates, 900.0))
    dirty = solve(today, open_gates)
    assert clean.filter_drop < 900.0
    assert dirty.filter_drop == pytest.approx(900.0, rel=1e-6)
    assert all(dirty.gates[g].flow < clean.gates[g].flow for g in open_gates)


@pytest.mark.parametrize("drop", [-1.0, 3300.0, 5000.0])
def test_a_filter_drop_that_cannot_be_is_refused(drop: float) -> None:
    with pytest.raises(ValueError, match="drop"):
        filter_from_reading(shop(), {"head-1"}, drop)


def test_a_filter_drop_without_air_is_refused() -> None:
    with pytest.raises(ValueError, match="no air"):
        filter_from_reading(shop(), set(), 100.0)


@pytest.mark.parametrize("guess", [1e-6, 0.3, 1.0, 5.0, 1e6])
def test_the_operating_point_does_not_depend_on_the_guess(guess: float) -> None:
    flow = operating_flow(FAN, 150.0, 400.0, guess=guess)
    assert FAN.pressure(flow) == pytest.approx(150.0 * flow + 400.0 * flow**2)


@pytest.mark.parametrize("share", [0.6, 0.85, 1.0, 1.05])
def test_refitting_a_branch_meets_the_reading_and_moves_no_other_coefficient(share: float) -> None:
    network, open_gates = shop(), {"head-1", "head-2", "saw"}
    measured = share * solve(network, open_gates).gates["head-2"].flow
    k = refit_k(network, open_gates, "head-2", measured)
    refitted = network.with_run_k("two", k)
    assert solve(refitted, open_gates).gates["head-2"].flow == pytest.approx(measured, rel=1e-6)
    assert [run.k for run in refitted.runs if run.id != "two"] == [r.k for r in network.runs if r.id != "two"]


def test_readings_that_no_loss_explains_are_refused() -> None:
    network = shop()
    with pytest.raises(ValueError, match="without any fitting"):
        refit_k(network, {"head-1"}, "head-1", 3.0)
    with pytest.raises(ValueError, match="not open"):
        refit_k(network, {"head-1"}, "saw", 0.2)
    with pytest.raises(ValueError, match="more than 0"):
        refit_k(network, {"head-1"}, "head-1", 0.0)
    with pytest.raises(ValueError, match="compare"):
        relative_difference(0.3, 0.0)
