from __future__ import annotations

import math

import pytest

from preflight.engine.tension import (
    TensionCylinder,
    belt_speed,
    capstan_ratio,
    is_slack,
    line_tension,
    roller_pull,
    slip_force,
    slip_power,
)

MID = TensionCylinder(0.080, roller_force=-400.0)


def test_a_weight_that_slackens_takes_from_the_pull() -> None:
    assert roller_pull(5e5, MID) == pytest.approx(2113, abs=0.5)
    assert roller_pull(5e5, TensionCylinder(0.080, roller_force=400.0)) - roller_pull(5e5, MID) == pytest.approx(800)


def test_the_same_gauge_number_is_another_pull_on_a_larger_cylinder() -> None:
    small = line_tension(5e5, TensionCylinder(0.100, roller_force=-800.0), 1.35)
    large = line_tension(5e5, TensionCylinder(0.125, roller_force=-800.0), 1.35)
    assert large / small == pytest.approx(1.98 / 1.16, rel=0.01)


def test_ratio_efficiency_and_count_multiply() -> None:
    plain = TensionCylinder(0.05)
    assert TensionCylinder(0.05, count=2, ratio=1.5, efficiency=0.9).gain == pytest.approx(2.7 * plain.gain)


def test_a_roller_heavier_than_the_cylinder_pulls_leaves_the_belt_slack() -> None:
    assert is_slack(line_tension(0.5e5, MID, 0.94))
    assert is_slack(0.0)
    assert not is_slack(line_tension(1e5, MID, 0.94))


def test_a_slack_belt_drives_nothing() -> None:
    assert slip_force(-10.0) == 0.0
    assert slip_power(-10.0, 15.0) == 0.0


def test_no_friction_or_no_wrap_drives_nothing() -> None:
    assert slip_force(2000.0, friction=0.0) == 0.0
    assert slip_force(2000.0, wrap=0.0) == 0.0


def test_a_polished_drum_slips_at_less_power() -> None:
    assert slip_power(2113.0, 15.7, friction=0.2) == pytest.approx(10.1e3, rel=0.01)


def test_the_slip_force_never_exceeds_the_pull() -> None:
    assert slip_force(1000.0, friction=2.0, wrap=2 * math.pi) < 1000.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: TensionCylinder(0.0),
        lambda: TensionCylinder(0.08, count=0),
        lambda: TensionCylinder(0.08, efficiency=1.1),
        lambda: TensionCylinder(0.08, ratio=0.0),
        lambda: TensionCylinder(0.08, roller_force=float("nan")),
        lambda: roller_pull(-1.0, MID),
        lambda: line_tension(1e5, MID, 0.0),
        lambda: capstan_ratio(-0.1, 1.0),
        lambda: slip_power(1.0, -1.0),
        lambda: belt_speed(0.0, 25.0),
    ],
)
def test_values_out_of_range_are_refused(call: object) -> None:
    assert callable(call)
    with pytest.raises(ValueError):
        call()
