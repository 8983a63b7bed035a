"""Friction, runs, gates, the fittings table, and trees that are no trees."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import fluids.fittings as reference_fittings
import pytest
from fluids.friction import Colebrook, one_phase_dP

from preflight.engine.air import Air
from preflight.engine.ducts import Gate, Run, friction_factor, reynolds, run_loss
from preflight.engine.fan import FanCurve, Filter
from preflight.engine.fittings import FITTINGS, HOOD_ENTRIES, MATERIALS
from preflight.engine.network import Network

AIR = Air(1.2, 1.82e-5)
FAN = FanCurve.from_points([(0.0, 3000.0), (1.0, 2500.0), (2.0, 1500.0), (3.0, 300.0)])
MAIN = Run("main", "collector", 0.3, 10.0, 0.00015, 0.6)
DROP = Run("drop", "main", 0.2, 5.0, 0.00015, 1.0)
SAW = Gate("saw", "drop", 0.5)


@pytest.mark.parametrize("relative_roughness", [0.0, 1e-5, 1e-4, 1e-3, 1e-2, 0.06])
@pytest.mark.parametrize("re", [4000.0, 1e4, 1e5, 1e6, 1e8])
def test_turbulent_friction_is_the_colebrook_root_of_a_reference_library(re: float, relative_roughness: float) -> None:
    assert friction_factor(re, relative_roughness) == pytest.approx(Colebrook(re, relative_roughness), rel=1e-9)


@pytest.mark.parametrize("relative_roughness", [0.0, 1e-3, 0.05])
def test_neither_friction_nor_its_slope_jumps_between_laminar_and_turbulent(relative_roughness: float) -> None:
    def slope(re: float, step: float) -> float:
        return (friction_factor(re + step, relative_roughness) - friction_factor(re, relative_roughness)) / step

    for re in (2000.0, 4000.0):
        assert friction_factor(re - 1e-6, relative_roughness) == pytest.approx(
            friction_factor(re + 1e-6, relative_roughness), rel=1e-8
        )
        assert slope(re, 0.01) == pytest.approx(slope(re, -0.01), abs=1e-8)


def test_loss_rises_with_flow_all_the_way_through_the_transition() -> None:
    flows = [1e-4 * 1.02**i for i in range(400)]
    losses = [run_loss(replace(DROP, k=0.0), flow, AIR) for flow in flows]
    assert all(b > a for a, b in itertools.pairwise(losses))


def test_a_straight_run_loses_what_a_reference_library_says() -> None:
    straight = Run("r", "collector", 0.2, 12.0, 0.0009)
    expected = one_phase_dP(0.6 * 1.2, 1.2, 1.82e-5, 0.2, 0.0009, 12.0)
    assert run_loss(straight, 0.6, AIR) == pytest.approx(expected, rel=1e-9)
    assert run_loss(straight, 0.0, AIR) == 0.0


@pytest.mark.parametrize(("re", "rough"), [(0.0, 0.001), (-5.0, 0.001), (math.nan, 0.001), (1e5, 0.2), (1e5, -0.1)])
def test_friction_outside_its_range_is_refused(re: float, rough: float) -> None:
    with pytest.raises(ValueError):
        friction_factor(re, rough)


def test_reynolds_of_a_negative_flow_is_refused() -> None:
    with pytest.raises(ValueError, match="Reynolds"):
        reynolds(-0.1, 0.2, AIR)


def test_a_closed_gate_passes_its_leak_under_the_same_suction() -> None:
    """Suction is (1 + K)·VP, so at equal suction the flow goes as 1/√(1 + K)."""
    gate = Gate("g", "r", hood_k=0.5, leak=0.05)
    ratio = math.sqrt((1 + gate.loss_coefficient(True)) / (1 + gate.loss_coefficient(False)))
    assert ratio == pytest.approx(0.05)
    assert Gate("g", "r", 0.5).loss_coefficient(False) == math.inf


@pytest.mark.parametrize(
    ("kind", "bend_diameters", "angle"),
    [
        ("elbow 90, R/D 1.0", 1.0, 90),
        ("elbow 90, R/D 1.5", 1.5, 90),
        ("elbow 90, R/D 2.0", 2.0, 90),
        ("elbow 90, R/D 2.5", 2.5, 90),
        ("elbow 45, R/D 1.5", 1.5, 45),
    ],
)
def test_elbows_carry_the_loss_their_source_gives(kind: str, bend_diameters: float, angle: float) -> None:
    expected = reference_fittings.bend_rounded(
        Di=0.15, angle=angle, fd=0.02, bend_diameters=bend_diameters, Re=2e5, method="Rennels"
    )
    assert FITTINGS[kind].k == pytest.approx(expected, abs=0.006)


def test_a_mitred_elbow_lies_between_the_two_methods_its_source_names() -> None:
    crane = reference_fittings.bend_miter(angle=90, Di=0.15, method="Crane")
    miller = reference_fittings.bend_miter(angle=90, Di=0.15, Re=2e5, roughness=0.00015, method="Miller")
    assert (crane, miller) == pytest.approx((0.90, 1.52), abs=0.006)
    assert crane < FITTINGS["elbow 90, mitred"].k < miller


def test_steeper_branch_entries_lose_more_and_everything_names_a_source() -> None:
    entries = [FITTINGS[f"branch entry {angle}"].k for angle in (15, 30, 45, 60, 90)]
    assert entries == sorted(set(entries))
    assert all(fitting.source for fitting in (*FITTINGS.values(), *HOOD_ENTRIES.values()))
    assert all(material.source for material in MATERIALS.values())
    assert all(0.0 < material.roughness <= 0.003 for material in MATERIALS.values())


@pytest.mark.parametrize(
    ("runs", "gates", "words"),
    [
        ([MAIN, replace(DROP, into="attic")], [SAW], "'drop' leads into 'attic', which does not exist"),
        ([MAIN, DROP, replace(MAIN, id="second")], [SAW], "only one run .* main, second"),
        ([replace(MAIN, into="drop"), DROP], [SAW], "runs main, drop lead in a circle"),
        ([MAIN, replace(DROP, into="drop")], [SAW], "runs drop lead in a circle"),
        ([], [], "no run leads into the collector"),
        ([MAIN, replace(DROP, diameter=0.0)], [SAW], "diameter of run 'drop'"),
        ([MAIN, replace(DROP, length=-1.0)], [SAW], "length of run 'drop'"),
        ([MAIN, replace(DROP, roughness=0.05)], [SAW], "roughness of run 'drop'"),
        ([MAIN, replace(DROP, k=math.nan)], [SAW], "loss coefficient of run 'drop'"),
        ([MAIN, DROP, DROP], [SAW], "run 'drop' is given 2 times"),
        ([MAIN, replace(DROP, id="collector")], [], "cannot be called 'collector'"),
        ([MAIN, DROP], [SAW, SAW], "gate 'saw' is given 2 times"),
        ([MAIN, DROP], [replace(SAW, run="attic")], "gate 'saw' opens into run 'attic'"),
        ([MAIN, DROP], [replace(SAW, hood_k=-0.1)], "hood loss of gate 'saw'"),
        ([MAIN, DROP], [replace(SAW, leak=1.0)], "leak of gate 'saw'"),
        ([MAIN, replace(DROP, k=-3.0)], [SAW], "end of run 'drop' add up to a gain"),
    ],
)
def test_a_malformed_tree_is_named(runs: list[Run], gates: list[Gate], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Network.from_parts(runs, gates, AIR, FAN, Filter())


def test_all_that_is_wrong_stands_in_one_message() -> None:
    runs = [MAIN, replace(DROP, diameter=0.0, into="attic")]
    with pytest.raises(ValueError, match=r"diameter.*attic.*'saw'.*cellar"):
        Network.from_parts(runs, [replace(SAW, run="cellar")], AIR, FAN, Filter())


def test_a_junction_may_have_a_negative_coefficient_while_the_way_loses() -> None:
    network = Network.from_parts([MAIN, replace(DROP, k=-0.04)], [SAW], AIR, FAN, Filter())
    assert network.runs[-1] == MAIN
