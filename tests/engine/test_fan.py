"""The fan's curve and the filter."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from preflight.engine.fan import FanCurve, Filter, fan_power_at_speed

POINTS = [(0.0, 3300.0), (1.1, 3150.0), (2.2, 2600.0), (3.3, 1500.0), (3.6, 900.0)]


def test_the_curve_is_the_monotone_cubic_of_a_reference_library() -> None:
    """Against scipy's PCHIP (Fritsch and Butland)."""
    fan = FanCurve.from_points(POINTS)
    reference = PchipInterpolator(*zip(*POINTS, strict=True))
    for flow in np.linspace(0.0, 3.6, 200):
        pressure, slope = fan.pressure_and_slope(float(flow))
        assert pressure == pytest.approx(float(reference(flow)), rel=1e-12)
        assert slope == pytest.approx(float(reference(flow, 1)), rel=1e-9, abs=1e-9)


def test_the_curve_never_rises_even_through_flat_and_steep_points() -> None:
    fan = FanCurve.from_points([(0.0, 2000.0), (1.0, 2000.0), (1.1, 900.0), (3.0, 890.0), (3.1, 0.0)])
    values = [fan.pressure(x / 100) for x in range(330)]
    assert all(b <= a + 1e-9 for a, b in itertools.pairwise(values))


def test_outside_its_points_the_curve_goes_on_straight_and_is_flagged() -> None:
    fan = FanCurve.from_points([(1.0, 3150.0), (1.4, 2718.0), (1.8, 2142.0), (2.2, 1422.0)])
    assert fan.pressure(0.5) > fan.pressure(0.9) > 3150.0
    assert fan.pressure(2.5) < 1422.0
    assert [fan.on_curve(q) for q in (0.99, 1.0, 2.2, 2.21)] == [False, True, True, False]


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0.0, 3000.0), (1.0, 3100.0), (2.0, 2000.0), (3.0, 500.0)], "rises at point 2"),
        ([(0.0, 3000.0), (1.0, 2500.0), (2.0, 2000.0)], "at least four points"),
        ([(0.0, 3000.0), (1.0, 2500.0), (1.0, 2000.0), (3.0, 500.0)], "flows must rise: point 3"),
        ([(-1.0, 3000.0), (1.0, 2500.0), (2.0, 2000.0), (3.0, 500.0)], "negative flow"),
        ([(0.0, 3000.0), (1.0, float("nan")), (2.0, 2000.0), (3.0, 500.0)], "not a number"),
        ([(0.0, 0.0), (1.0, -5.0), (2.0, -6.0), (3.0, -7.0)], "above zero"),
        ([], "at least four points"),
    ],
)
def test_points_that_make_no_fan_curve_are_named(points: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        FanCurve.from_points(points)


def test_speed_moves_the_curve_by_the_fan_laws() -> None:
    fan = FanCurve.from_points(POINTS)
    faster = fan.at_speed(1.2)
    for flow in (0.0, 0.7, 2.0, 3.4):
        assert faster.pressure(1.2 * flow) == pytest.approx(1.44 * fan.pressure(flow))
        assert fan.at_density(0.9).pressure(flow) == pytest.approx(0.9 * fan.pressure(flow))


def test_a_filter_scaled_to_a_reading_drops_what_was_read() -> None:
    scaled = Filter(linear=90.0, quadratic=21.6).scaled_to(drop=310.0, flow=1.5)
    assert scaled.drop(1.5) == pytest.approx(310.0)
    assert scaled.drop(0.75) / Filter(90.0, 21.6).drop(0.75) == pytest.approx(scaled.scale)


def test_impossible_fans_and_filters_are_refused() -> None:
    with pytest.raises(ValueError, match="linear"):
        Filter(linear=-1.0)
    with pytest.raises(ValueError, match="cannot scale"):
        Filter().scaled_to(100.0, 1.0)
    with pytest.raises(ValueError, match="speeds"):
        FanCurve.from_points(POINTS).at_speed(0.0)
    with pytest.raises(ValueError, match="densities"):
        FanCurve.from_points(POINTS).at_density(0.0)
    with pytest.raises(ValueError, match="power"):
        fan_power_at_speed(0.0, 1.2)
    with pytest.raises(ValueError, match="2 flows and 1 pressures"):
        FanCurve((0.0, 1.0), (3000.0,))
