"""Moisture, tracking, drying, veneer and the per-head removal test: small engines, few tests each."""

from __future__ import annotations

import math

import pytest

from preflight.engine.drying import Weighing, dry_state, loss_between
from preflight.engine.head_balance import head_takes, idle_heads
from preflight.engine.moisture import equilibrium_moisture, thickness_growth
from preflight.engine.tracking import cone_angle, lateral_speed, split_walk, swing_imbalance, swing_ratio
from preflight.engine.veneer import chance_at_point, chance_in_panel, margin_in_sigmas


def test_wood_settles_wetter_in_damper_and_in_cooler_air() -> None:
    by_humidity = [equilibrium_moisture(20.0, h / 100) for h in range(0, 100, 5)]
    assert by_humidity == sorted(by_humidity)
    assert by_humidity[0] == 0.0
    assert equilibrium_moisture(10.0, 0.5) > equilibrium_moisture(30.0, 0.5)


def test_air_outside_the_fit_is_refused() -> None:
    for temperature, humidity in ((-1.0, 0.5), (71.0, 0.5), (20.0, 1.0), (20.0, -0.1), (20.0, 50.0)):
        with pytest.raises(ValueError):
            equilibrium_moisture(temperature, humidity)


def test_wood_shrinks_as_much_as_it_grew() -> None:
    grown, shrunk = thickness_growth(0.02, 2.0), thickness_growth(0.02, -2.0)
    assert grown == pytest.approx([-value for value in shrunk])
    assert thickness_growth(0.02, 1.0, "tangential")[0] > thickness_growth(0.02, 1.0, "radial")[1]
    with pytest.raises(ValueError, match="30 %"):
        thickness_growth(0.02, 40.0)
    with pytest.raises(ValueError, match="above zero"):
        thickness_growth(0.0, 1.0)


@pytest.mark.parametrize(
    ("before", "turned", "machine", "belt"),
    [(-4.0, 4.0, 0.0, -4.0), (-4.0, -4.0, -4.0, 0.0), (-4.0, -1.0, -2.5, -1.5)],
)
def test_turning_the_belt_splits_the_walk(before: float, turned: float, machine: float, belt: float) -> None:
    split = split_walk(before, turned)
    assert (split.machine, split.belt) == (machine, belt)


def test_an_even_swing_has_ratio_one_and_no_imbalance() -> None:
    assert swing_ratio(2.0, 2.0) == 1.0
    assert swing_imbalance(2.0, 2.0) == 0.0
    assert swing_imbalance(2.0, 3.0) == -swing_imbalance(3.0, 2.0)


def test_a_cone_walks_the_other_way_when_turned() -> None:
    one, other = cone_angle(1.899, 1.901, 0.94), cone_angle(1.901, 1.899, 0.94)
    assert lateral_speed(15.0, one) == -lateral_speed(15.0, other)


@pytest.mark.parametrize(
    "call",
    [
        lambda: swing_ratio(0.0, 1.0),
        lambda: cone_angle(1.9, 1.9, 0.0),
        lambda: lateral_speed(15.0, 1.0),
        lambda: split_walk(float("nan"), 1.0),
        lambda: Weighing(-1.0, 1.0),
        lambda: loss_between(Weighing(5.0, 1.3), Weighing(5.0, 1.3)),
        lambda: margin_in_sigmas(0.3e-3, 0.05e-3, [0.0, 0.0]),
        lambda: margin_in_sigmas(0.0, 0.0, [1e-5]),
        lambda: chance_in_panel(3.0, 0),
        lambda: head_takes(0.028, [], [], 5e-6),
        lambda: head_takes(0.028, [0.029], [1e-4], 5e-6),
        lambda: head_takes(0.028, [0.027], [1e-4], 0.0),
    ],
)
def test_values_out_of_range_are_refused(call: object) -> None:
    assert callable(call)
    with pytest.raises(ValueError):
        call()


@pytest.mark.parametrize(
    ("first", "second", "state"),
    [
        ((24.0, 1.0000), (28.0, 0.9950), "dry"),
        ((24.0, 1.0000), (28.0, 0.9940), "nearly"),
        ((24.0, 1.0000), (28.0, 0.9890), "wet"),
        ((24.0, 1.0000), (27.5, 0.9990), "not yet known"),
        ((10.0, 1.0000), (20.0, 1.0000), "not yet known"),
        ((1.0, 1.0000), (1.5, 0.9800), "wet"),
        ((24.0, 1.0000), (28.0, 1.0200), "wet"),
    ],
)
def test_two_weighings_decide(first: tuple[float, float], second: tuple[float, float], state: str) -> None:
    assert dry_state(Weighing(*first), Weighing(*second)) == state


def test_more_points_make_a_sand_through_likelier_and_never_certain() -> None:
    chances = [chance_in_panel(2.0, k) for k in (1, 10, 20, 1000)]
    assert chances == sorted(chances)
    assert chances[0] == pytest.approx(chance_at_point(2.0))
    assert chances[-1] < 1
    assert chance_at_point(0.0) == pytest.approx(0.5)
    assert chance_in_panel(-math.inf, 3) == 1.0


def test_a_head_that_does_all_the_work_shows_against_the_plan() -> None:
    takes = head_takes(0.0280, [0.02799, 0.0275], [0.4e-3, 0.1e-3], 5e-6)
    assert [round(t.error * 1e6) for t in takes] == [-390, 390]
    assert takes[1].share == pytest.approx(0.98)
    assert idle_heads(takes) == [0]


def test_a_difference_within_the_reading_error_is_not_decided() -> None:
    takes = head_takes(0.0280, [0.02761, 0.0275], [0.4e-3, 0.1e-3], 5e-6)
    assert [t.decided for t in takes] == [False, False]
    assert idle_heads(takes) == []
