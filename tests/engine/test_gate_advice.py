"""Advice on gates: against brute force over all sets of gates, and case by case."""

from __future__ import annotations

from itertools import product
from random import Random
from typing import TYPE_CHECKING

import pytest
from generated_ducts import random_network

from preflight.engine.air import Air
from preflight.engine.airflow import Flows, solve
from preflight.engine.ducts import Gate, Run
from preflight.engine.fan import FanCurve, Filter
from preflight.engine.gate_advice import GateChange, advise, advise_quickly
from preflight.engine.gate_search import GateSearch
from preflight.engine.network import Network

if TYPE_CHECKING:
    from collections.abc import Iterable

SHOPS_PER_BATCH = 20
NOTHING: frozenset[str] = frozenset()


def holds(network: Network, is_open: frozenset[str], needs: dict[str, float], floor: float) -> bool:
    """Flow at the needed gates, velocity in every run an open gate feeds, fan on its curve."""
    result = solve(network, is_open)
    into = {run.id: run.into for run in network.runs}
    fed = set()
    for gate in network.gates:
        here = gate.run if gate.id in is_open else "collector"
        while here != "collector":
            fed.add(here)
            here = into[here]
    return (
        result.fan.on_curve
        and all(gate in is_open and result.gates[gate].flow >= flow for gate, flow in needs.items())
        and all(result.runs[run].velocity >= floor for run in fed)
    )


def brute_force(
    network: Network, now: frozenset[str], needs: dict[str, float], floor: float, keep: Iterable[str]
) -> set[GateChange]:
    """Every smallest change that holds, found by trying all sets of open gates."""
    ids = [gate.id for gate in network.gates]
    by_size: dict[int, list[frozenset[str]]] = {}
    for states in product((False, True), repeat=len(ids)):
        target = frozenset(gate for gate, state in zip(ids, states, strict=True) if state)
        if target.issuperset(keep) and target.issuperset(needs):
            by_size.setdefault(len(target ^ now), []).append(target)
    for size in sorted(by_size):
        if found := {GateChange(now - t, t - now) for t in by_size[size] if holds(network, t, needs, floor)}:
            return found
    return set()


@pytest.mark.parametrize("batch", range(10))
def test_advice_equals_brute_force_over_all_sets_of_gates(batch: int) -> None:
    """200 generated shops of 3 to 12 gates in all: same smallest size, all ties, or rightly none."""
    rng = Random(700 + batch)
    for shop in range(SHOPS_PER_BATCH):
        # Twelve gates cost 4096 solves, so most shops are smaller.
        network = random_network(rng, 12 if shop % 10 == 0 else rng.randint(3, 10))
        ids = [gate.id for gate in network.gates]
        mine = rng.sample(ids, rng.randint(1, 2))
        now = frozenset(rng.sample(ids, rng.randint(1, len(ids))) + mine)
        alone = solve(network, mine)
        needs = {gate: alone.gates[gate].flow * rng.uniform(0.3, 0.99) for gate in mine}
        floor = rng.choice((0.0, rng.uniform(2.0, 20.0)))
        in_use = frozenset(rng.sample(sorted(now), rng.randint(0, min(2, len(now)))))
        advice = advise(network, now, needs, floor_velocity=floor, in_use=in_use)
        expected = brute_force(network, now, needs, floor, in_use)
        assert advice.search == "complete"
        assert set(advice.options) == expected, (shop, needs, floor)
        assert len(advice.options) == len(expected)
        assert (advice.reason is None) == bool(expected)


def demo_shop(*, saw_stays: bool = False) -> Network:
    """Two 200 mm heads, a saw, a shaper and a planer on a 315 mm main."""
    runs = [
        Run("main", "collector", 0.315, 0.0, 0.00015, 1.0),
        Run("drop-head-1", "main", 0.2, 0.0, 0.00015, 2.5),
        Run("drop-head-2", "main", 0.2, 0.0, 0.00015, 2.5),
        Run("drop-saw", "main", 0.125, 0.0, 0.00015, 3.0),
        Run("drop-shaper", "main", 0.125, 0.0, 0.00015, 3.0),
        Run("drop-planer", "main", 0.15, 0.0, 0.00015, 3.0),
    ]
    names = ["head-1", "head-2", "saw", "shaper", "planer"]
    gates = [
        Gate(name, f"drop-{name}", 0.5, stays_open=saw_stays and name == "saw", make_up=name == "planer")
        for name in names
    ]
    fan = FanCurve.from_points([(q / 2, 3600.0 - 450.0 * (q / 2) ** 2) for q in range(6)])
    return Network.from_parts(runs, gates, Air(1.2, 1.82e-5), fan, Filter(500.0))


ALL_FIVE = frozenset({"head-1", "head-2", "saw", "shaper", "planer"})
HEADS = {"head-1": 0.665, "head-2": 0.665}


def test_a_machine_that_is_starved_gets_the_smallest_sets_to_close() -> None:
    shop = demo_shop()
    advice = advise(shop, ALL_FIVE, HEADS, floor_velocity=17.8)
    assert advice.options
    assert advice.search == "complete"
    for option in advice.options:
        after = solve(shop, (ALL_FIVE - option.close) | option.open)
        assert min(after.gates[head].flow for head in HEADS) >= 0.665
        assert all(run.velocity >= 17.8 for run in after.runs.values() if run.flow > 0)
    assert not HEADS.keys() & frozenset().union(*(option.close for option in advice.options))


def test_a_slow_main_gets_gates_to_open_and_make_up_gates_come_first() -> None:
    shop = demo_shop()
    assert solve(shop, {"saw"}).runs["main"].velocity < 17.8
    advice = advise(shop, {"saw"}, {"saw": 0.2}, floor_velocity=17.8)
    assert advice.options
    assert all(option.close == NOTHING for option in advice.options)
    assert "planer" in advice.options[0].open


def test_nothing_to_change_is_one_empty_option() -> None:
    advice = advise(demo_shop(), HEADS, HEADS, floor_velocity=17.8)
    assert advice.options == (GateChange(NOTHING, NOTHING),)


def test_a_needed_gate_that_is_shut_is_opened() -> None:
    advice = advise(demo_shop(), {"head-1"}, HEADS, floor_velocity=17.8)
    assert advice.options == (GateChange(NOTHING, frozenset({"head-2"})),)


def test_gates_in_use_or_made_to_stay_open_are_never_closed() -> None:
    used = advise(demo_shop(), ALL_FIVE, HEADS, floor_velocity=17.8, in_use={"planer"})
    assert used.options
    assert all("planer" not in option.close for option in used.options)
    staying = advise(demo_shop(saw_stays=True), ALL_FIVE, HEADS, floor_velocity=17.8)
    assert staying.options
    assert all("saw" not in option.close for option in staying.options)


def test_more_flow_than_the_machine_has_alone_is_not_to_be_had_by_gates() -> None:
    advice = advise(demo_shop(), ALL_FIVE, {"head-1": 2.0}, floor_velocity=17.8)
    assert advice.options == ()
    assert advice.reason is not None
    assert (advice.reason.kind, advice.reason.subject, advice.reason.needed) == ("flow", "head-1", 2.0)
    assert advice.reason.best == pytest.approx(solve(demo_shop(), {"head-1"}).gates["head-1"].flow)


def test_a_main_that_stays_slow_whatever_opens_is_said_unless_it_is_exempt() -> None:
    shop = demo_shop()
    advice = advise(shop, {"saw"}, {"saw": 0.2}, floor_velocity=17.8, may_open=())
    assert advice.options == ()
    assert advice.reason is not None
    assert (advice.reason.kind, advice.reason.subject) == ("velocity", "main")
    exempt = advise(shop, {"saw"}, {"saw": 0.2}, floor_velocity=17.8, may_open=(), exempt_runs={"main"})
    assert exempt.options == (GateChange(NOTHING, NOTHING),)


def test_flow_and_velocity_that_exclude_each_other_are_no_advice() -> None:
    shop = demo_shop()
    alone = solve(shop, {"head-1"})
    advice = advise(shop, {"head-1"}, {"head-1": alone.gates["head-1"].flow * 0.999}, floor_velocity=17.8)
    assert alone.runs["main"].velocity < 17.8
    assert advice.options == ()
    assert advice.reason is not None
    assert advice.reason.kind == "combination"


def test_too_many_sets_to_try_still_give_one_that_holds_and_say_so() -> None:
    network = random_network(Random(3), 40, leaks=False)
    ids = frozenset(gate.id for gate in network.gates)
    mine = next(gate.id for gate in network.gates)
    needs = {mine: 0.5 * (solve(network, ids).gates[mine].flow + solve(network, {mine}).gates[mine].flow)}
    advice = advise(network, ids, needs, floor_velocity=0.0, max_solves=200)
    assert advice.search == "size not proven"
    (option,) = advice.options
    assert holds(network, (ids - option.close) | option.open, needs, 0.0)
    for spared in option.close:
        assert not holds(network, (ids - option.close) | {spared}, needs, 0.0)


@pytest.mark.parametrize("need", [-0.1, float("nan"), float("inf")])
def test_a_need_that_is_no_flow_is_refused(need: float) -> None:
    with pytest.raises(ValueError, match="head-1"):
        advise(demo_shop(), ALL_FIVE, {"head-1": need}, floor_velocity=17.8)


def test_an_unknown_gate_or_run_is_refused() -> None:
    with pytest.raises(ValueError, match="'lathe'"):
        advise(demo_shop(), ALL_FIVE, {"lathe": 0.2}, floor_velocity=17.8)
    with pytest.raises(ValueError, match="'attic'"):
        advise(demo_shop(), ALL_FIVE, HEADS, floor_velocity=17.8, exempt_runs={"attic"})


@pytest.mark.parametrize("seed", range(30))
def test_a_quick_answer_holds_whenever_it_is_given_and_is_never_smaller_than_the_smallest(seed: int) -> None:
    rng = Random(seed)
    network = random_network(rng, rng.randint(4, 11), leaks=bool(seed % 2))
    ids = frozenset(gate.id for gate in network.gates)
    mine = network.gates[0].id
    now, alone = solve(network, ids).gates[mine].flow, solve(network, {mine}).gates[mine].flow
    needs = {mine: now + rng.uniform(0.2, 0.8) * (alone - now)}
    floor = rng.choice((0.0, 12.0))
    quick = advise_quickly(network, ids, needs, floor_velocity=floor, max_solves=5)
    exact = advise(network, ids, needs, floor_velocity=floor)
    for option in quick.options:
        assert holds(network, (ids - option.close) | option.open, needs, floor)
        assert exact.options
        assert len(option.close | option.open) >= len(exact.options[0].close | exact.options[0].open)
    if quick.search == "complete":
        assert set(quick.options) == set(exact.options)
    if floor == 0.0:
        assert quick.options  # with flow alone, shutting enough always helps


def test_a_quick_answer_takes_few_solves_at_forty_gates(monkeypatch: pytest.MonkeyPatch) -> None:
    solved: list[int] = []
    solve_one = GateSearch.solve

    def counted(self: GateSearch, mask: int) -> Flows:
        solved.append(mask)
        return solve_one(self, mask)

    monkeypatch.setattr(GateSearch, "solve", counted)
    network = random_network(Random(3), 40, leaks=False)
    ids = frozenset(gate.id for gate in network.gates)
    mine = network.gates[0].id
    need = 0.5 * (solve(network, ids).gates[mine].flow + solve(network, {mine}).gates[mine].flow)
    advice = advise_quickly(network, ids, {mine: need}, floor_velocity=0.0, max_solves=15)
    assert advice.options
    assert advice.search == "size not proven"
    assert len(solved) <= 100


def test_a_quick_answer_opens_the_make_up_gate_for_a_slow_main() -> None:
    advice = advise_quickly(demo_shop(), {"saw"}, {"saw": 0.2}, floor_velocity=17.8, max_solves=0)
    assert (advice.search, advice.options) == ("size not proven", ())
    assert advice.reason is not None
    assert advice.reason.kind == "not found"  # not that there is none
    slower = advise_quickly(demo_shop(), {"saw"}, {"saw": 0.2}, floor_velocity=12.0, max_solves=0)
    assert [option.open for option in slower.options] == [frozenset({"planer"})]
    proven = advise_quickly(demo_shop(), {"saw"}, {"saw": 0.2}, floor_velocity=17.8)
    assert "planer" in proven.options[0].open
