"""Dust per air and the time until the bin is full."""

from __future__ import annotations

import math

import pytest

from preflight.engine.dust import bin_fill_time, dust_per_air, dust_rate

CFM = 0.3048**3 / 60.0


def test_a_wide_heavy_cut_worked_by_hand() -> None:
    """940 mm, 0.5 mm, 6 m/min, 650 kg/m³: 1.83 kg/min; in 1500 cfm 43 g/m³; a 208 L drum in 23 min (arithmetic)."""
    rate = dust_rate(650.0, 0.940, 0.0005, 0.1)
    assert rate * 60 == pytest.approx(1.83, abs=0.005)
    assert dust_per_air(rate, 1500 * CFM) * 1000 == pytest.approx(43, abs=0.5)
    assert bin_fill_time(0.208, 0.0, 200.0, rate) / 60 == pytest.approx(23, abs=0.5)


def test_cover_scales_the_dust_and_a_part_full_bin_fills_sooner() -> None:
    assert dust_rate(650.0, 0.9, 0.0005, 0.1, 0.5) == pytest.approx(dust_rate(650.0, 0.9, 0.0005, 0.1) / 2)
    assert bin_fill_time(0.4, 0.75, 200.0, 0.03) == pytest.approx(bin_fill_time(0.4, 0.0, 200.0, 0.03) / 4)
    assert bin_fill_time(0.4, 1.0, 200.0, 0.03) == 0.0


def test_no_dust_never_fills_the_bin() -> None:
    assert bin_fill_time(0.4, 0.2, 200.0, 0.0) == math.inf


def test_dust_without_air_is_refused_not_divided_by_zero() -> None:
    with pytest.raises(ValueError, match="without air"):
        dust_per_air(0.03, 0.0)


@pytest.mark.parametrize("cover", [-0.1, 1.1, math.nan])
def test_a_cover_outside_nothing_to_all_is_refused(cover: float) -> None:
    with pytest.raises(ValueError, match="cover"):
        dust_rate(650.0, 0.9, 0.0005, 0.1, cover)


def test_impossible_values_are_refused() -> None:
    with pytest.raises(ValueError, match="removal"):
        dust_rate(650.0, 0.9, -0.0005, 0.1)
    with pytest.raises(ValueError, match="dust rate"):
        dust_per_air(-0.1, 1.0)
    with pytest.raises(ValueError, match="full"):
        bin_fill_time(0.4, 1.5, 200.0, 0.03)
    with pytest.raises(ValueError, match="bin"):
        bin_fill_time(0.0, 0.5, 200.0, 0.03)
