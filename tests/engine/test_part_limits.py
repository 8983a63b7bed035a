"""Limits of single parts, by hand sums (computed)."""

from __future__ import annotations

import pytest

from preflight.engine.part_limits import (
    Misfit,
    PartWindow,
    largest_skew,
    occupied_width,
    part_refusals,
    thickness_step,
)

WINDOW = PartWindow(0.320, None, None, 0.050, 0.910, 0.003, 0.160)


@pytest.mark.parametrize(("skew", "across"), [(15, 0.812), (20, 0.872), (30, 0.970)])
def test_a_door_turned_takes_more_width(skew: float, across: float) -> None:
    # A 600 x 900 door: w cos + l sin (computed).
    assert occupied_width(0.600, 0.900, skew) == pytest.approx(across, abs=5e-4)


@pytest.mark.parametrize("width", [0.2, 0.6, 0.9])
def test_the_largest_skew_just_fills_the_width(width: float) -> None:
    skew = largest_skew(width, 0.95, 0.910)
    assert occupied_width(width, 0.95, skew) == pytest.approx(0.910)


def test_a_small_board_may_be_turned_right_round() -> None:
    assert largest_skew(0.3, 0.4, 0.910) == 90.0


def test_a_good_part_is_refused_nothing() -> None:
    assert part_refusals(0.180, 0.900, 0.019, WINDOW) == ()


def test_sizes_on_the_limit_are_inside() -> None:
    assert part_refusals(0.910, 0.370, 0.160, WINDOW) == ()
    assert part_refusals(0.050, 0.320 + 0.050, 0.003, WINDOW) == ()


@pytest.mark.parametrize(
    ("size", "skew", "misfit", "by", "carrier"),
    [
        ((0.180, 0.210, 0.019), 0.0, Misfit.TOO_SHORT, 0.160, True),
        ((0.040, 0.900, 0.019), 0.0, Misfit.TOO_NARROW, 0.010, True),
        ((0.060, 0.900, 0.050), 0.0, Misfit.TIPS, 0.015, True),
        ((0.600, 0.900, 0.019), 30.0, Misfit.TOO_WIDE, 0.0596, False),
        ((0.180, 0.900, 0.002), 0.0, Misfit.TOO_THIN, 0.001, True),
        ((0.400, 0.900, 0.170), 0.0, Misfit.TOO_THICK, 0.010, False),
    ],
)
def test_each_misfit_is_named_by_how_much(
    size: tuple[float, float, float], skew: float, misfit: Misfit, by: float, carrier: bool
) -> None:
    (refusal,) = part_refusals(*size, WINDOW, skew)
    assert (refusal.misfit, refusal.carrier) == (misfit, carrier)
    assert refusal.by == pytest.approx(by, abs=5e-5)


def test_all_misfits_are_told_at_once() -> None:
    found = {r.misfit for r in part_refusals(0.040, 0.200, 0.002, WINDOW)}
    assert found == {Misfit.TOO_SHORT, Misfit.TOO_NARROW, Misfit.TOO_THIN}


def test_two_thicknesses_abreast_are_told_by_how_much() -> None:
    assert thickness_step([0.019, 0.0193, 0.019]) == 0.0
    assert thickness_step([0.019, 0.022]) == pytest.approx(0.0025)
    assert thickness_step([0.019]) == 0.0


def test_impossible_sizes_are_refused() -> None:
    with pytest.raises(ValueError, match="width"):
        part_refusals(0.0, 1.0, 0.02, WINDOW)
    with pytest.raises(ValueError, match="between 0 and 90"):
        occupied_width(0.1, 1.0, 95.0)
    with pytest.raises(ValueError, match=r"40\.0 mm too wide"):
        largest_skew(0.950, 1.0, 0.910)
