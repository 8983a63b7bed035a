"""Exposure over the width against hand sums and a fine sampling."""

from __future__ import annotations

import numpy as np
import pytest

from preflight.engine.coverage import Exposure, Strip, exposure_over, merged_ends


def test_overlapping_boards_add_up_exactly() -> None:
    profile = exposure_over([Strip(0.0, 0.5, 2.0), Strip(0.25, 0.75, 3.0)], [(0.0, 1.0)])
    assert [(s.start, s.end, s.exposure) for s in profile.strips] == [
        (0.0, 0.25, 2.0),
        (0.25, 0.5, 5.0),
        (0.5, 0.75, 3.0),
        (0.75, 1.0, 0.0),
    ]
    assert profile.peak == 5.0
    assert profile.lowest == 0.0
    assert profile.mean == pytest.approx(2.5)
    assert profile.unused_width == pytest.approx(0.25)
    assert profile.variation == pytest.approx(np.std([2.0, 5.0, 3.0, 0.0]))


def test_nothing_fed_is_even() -> None:
    profile = exposure_over([], [(0.0, 0.9)])
    assert (profile.peak, profile.mean_over_peak, profile.lowest_over_peak) == (0.0, 1.0, 1.0)


def test_a_keep_off_strip_counts_neither_as_used_nor_as_unused() -> None:
    profile = exposure_over([Strip(0.0, 0.4, 1.0), Strip(0.5, 1.0, 1.0)], [(0.0, 0.4), (0.5, 1.0)])
    assert profile.width == pytest.approx(0.9)
    assert profile.lowest_over_peak == 1.0


def test_ends_a_rounding_apart_are_one_end() -> None:
    third = 0.1 + 0.2
    profile = exposure_over([Strip(0.0, 0.3, 1.0), Strip(third, 1.0, 1.0)], [(0.0, 1.0)])
    assert profile.strips == (Strip(0.0, 1.0, 1.0),)
    assert merged_ends([0.3, third, 1.0], 1e-9) == [0.3, 1.0]


def test_many_boards_leave_no_rounding_dust_behind() -> None:
    loads = [Strip(0.0, 0.5, 0.1)] * 3 + [Strip(0.0, 0.5, 0.2)] * 7
    assert exposure_over(loads, [(0.0, 1.0)]).strips[-1] == Strip(0.5, 1.0, 0.0)


def test_sampling_the_width_finds_the_same_figures() -> None:
    random = np.random.default_rng(7)
    loads = []
    for _ in range(200):
        a, w = random.uniform(0.0, 0.7), random.uniform(0.05, 0.3)
        loads.append(Strip(a, a + w, float(random.uniform(0.1, 2.0))))
    profile = exposure_over(loads, [(0.0, 1.0)])
    xs = (np.arange(200_000) + 0.5) / 200_000
    sampled = np.zeros_like(xs)
    for s in loads:
        sampled += s.exposure * ((xs >= s.start) & (xs < s.end))
    assert profile.peak == pytest.approx(sampled.max(), rel=1e-9)
    assert profile.mean == pytest.approx(sampled.mean(), rel=1e-4)
    assert profile.total == pytest.approx(sum(s.width * s.exposure for s in loads), rel=1e-12)


def test_bars_share_out_the_whole_exposure() -> None:
    profile = Exposure((Strip(0.0, 0.3, 2.0), Strip(0.3, 1.0, 1.0)))
    assert profile.bars(2) == pytest.approx((1.6, 1.0))
    assert sum(profile.bars(7)) / 7 == pytest.approx(profile.mean)
    with pytest.raises(ValueError, match="at least one bar"):
        profile.bars(0)


def test_an_empty_or_negative_strip_is_refused() -> None:
    with pytest.raises(ValueError, match="end right of its start"):
        Strip(0.2, 0.2, 1.0)
    with pytest.raises(ValueError, match="negative"):
        Strip(0.0, 0.2, -1.0)
    with pytest.raises(ValueError, match="usable width is nothing"):
        exposure_over([], [])
