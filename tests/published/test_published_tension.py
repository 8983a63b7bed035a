"""Line tension, belt friction and unit figures against values worked out elsewhere.

Line tension and the mid machine: worked independently from T = p·A·n·η / (2b). Belt friction: the capstan
(Euler-Eytelwein) relation T1/T2 = e^(μθ) of every mechanics text; here integrated step by step.
Gauge bands: common practice, no source.
"""

from __future__ import annotations

import math

import pytest
from scipy import constants
from scipy.integrate import solve_ivp

from preflight.engine.tension import (
    TensionCylinder,
    belt_speed,
    capstan_ratio,
    line_tension,
    roller_pull,
    slip_force,
    slip_power,
)

BAR = 1e5
INCH = constants.inch
LBF_PER_INCH = constants.lbf / constants.inch


def test_two_63_mm_cylinders_at_3_bar_on_a_1300_mm_belt() -> None:
    cylinder = TensionCylinder(0.063, count=2)
    assert cylinder.gain / 2 * 1e6 == pytest.approx(3117.245, rel=1e-6)
    assert roller_pull(3 * BAR, cylinder) == pytest.approx(1870.347, rel=1e-6)
    tension = line_tension(3 * BAR, cylinder, 1.3)
    assert tension / 1e3 == pytest.approx(0.719364, rel=1e-6)
    assert tension / LBF_PER_INCH == pytest.approx(4.10768, rel=1e-5)


def test_two_two_and_a_half_inch_cylinders_at_45_psi_on_a_52_inch_belt() -> None:
    cylinder = TensionCylinder(2.5 * INCH, count=2)
    assert roller_pull(45 * constants.psi, cylinder) / constants.lbf == pytest.approx(441.786, rel=1e-5)
    tension = line_tension(45 * constants.psi, cylinder, 52 * INCH)
    assert tension / LBF_PER_INCH == pytest.approx(4.247947, rel=1e-6)
    assert tension / 1e3 == pytest.approx(0.743929, rel=1e-5)


@pytest.mark.parametrize(
    ("bore_mm", "bar", "weight", "width_mm", "newton_per_mm"),
    [
        (80, 5.0, -400, 940, 1.12), (80, 4.2, -400, 940, 0.91), (80, 3.4, -400, 940, 0.70),
        (63, 4.0, 0, 635, 0.98), (100, 5.0, -800, 1350, 1.16), (125, 5.0, -800, 1350, 1.98),
    ],
)  # fmt: skip
def test_gauge_readings_of_invented_machines(
    bore_mm: float, bar: float, weight: float, width_mm: float, newton_per_mm: float
) -> None:
    cylinder = TensionCylinder(bore_mm / 1e3, roller_force=weight)
    assert line_tension(bar * BAR, cylinder, width_mm / 1e3) / 1e3 == pytest.approx(newton_per_mm, abs=0.005)


@pytest.mark.parametrize(("friction", "wrap"), [(0.3, math.pi), (0.2, math.pi), (0.5, 1.0), (0.15, 5.0)])
def test_the_capstan_relation_solves_the_equilibrium_of_a_belt_element(friction: float, wrap: float) -> None:
    # dT/dθ = μ·T, the published differential equation behind the relation.
    solved = solve_ivp(lambda _, t: friction * t, (0.0, wrap), [1.0], rtol=1e-10, atol=1e-12)
    assert capstan_ratio(friction, wrap) == pytest.approx(float(solved.y[0, -1]), rel=1e-8)


@pytest.mark.parametrize(
    ("friction", "wrap", "ratio"), [(0.3, math.pi, 2.5663), (0.25, 2 * math.pi, 4.8105), (0.5, math.pi / 2, 2.1933)]
)
def test_the_capstan_relation_at_round_values(friction: float, wrap: float, ratio: float) -> None:
    # e^(μθ), tabulated values.
    assert capstan_ratio(friction, wrap) == pytest.approx(ratio, rel=1e-4)


def test_at_the_point_of_slip_both_strands_share_the_pull_in_the_capstan_ratio() -> None:
    pull, friction = 2000.0, 0.3
    force = slip_force(pull, friction)
    tight, slack = (pull + force) / 2, (pull - force) / 2
    assert tight / slack == pytest.approx(math.exp(friction * math.pi))


@pytest.mark.parametrize(
    ("bar", "pull", "friction", "force", "kilowatt"),
    [(5.0, 2113, 0.3, 928, 14.6), (4.2, 1711, 0.3, 752, 11.8),
     (5.0, 2113, 0.2, None, 10.1), (4.2, 1711, 0.2, None, 8.2)],
)  # fmt: skip
def test_slip_power_of_the_mid_machine(
    bar: float, pull: float, friction: float, force: float | None, kilowatt: float
) -> None:
    # Worked figures; the friction values are from memory.
    found = roller_pull(bar * BAR, TensionCylinder(0.080, roller_force=-400.0))
    assert found == pytest.approx(pull, abs=1)
    if force is not None:
        assert slip_force(found, friction) == pytest.approx(force, abs=1)
    assert slip_power(found, 15.7, friction) / 1e3 == pytest.approx(kilowatt, abs=0.06)


def test_belt_speed_of_a_200_mm_drum_at_1500_a_minute() -> None:
    # Worked figure: 15.7 m/s = 3092 ft/min.
    speed = belt_speed(0.2, 1500 / 60)
    assert speed == pytest.approx(15.7, abs=0.05)
    assert speed / constants.foot * 60 == pytest.approx(3092, abs=1)


@pytest.mark.parametrize(("psi", "bar"), [(45, 3.1), (55, 3.8), (65, 4.5)])
def test_the_common_gauge_bands_are_the_same_in_psi_and_bar(psi: float, bar: float) -> None:
    # Common practice, no source: paper 45 to 55 psi, X cloth 55 to 65 psi, heavier cloth from 65 psi.
    assert psi * constants.psi / BAR == pytest.approx(bar, abs=0.05)
