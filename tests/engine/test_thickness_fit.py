from __future__ import annotations

import math
import random

import numpy as np
import pytest

from preflight.engine.thickness import Estimate, ThicknessFit, fit_thickness

U = 5e-6


def crown(fit: ThicknessFit) -> Estimate:
    found = fit.crown()
    assert found is not None
    return found


def taper(fit: ThicknessFit) -> Estimate:
    found = fit.taper()
    assert found is not None
    return found


def test_one_place_gives_a_thickness_and_no_shape() -> None:
    fit = fit_thickness([0.3, 0.3], [0.0200, 0.0202], U)
    assert fit.degree == 0
    assert fit.at(0.9) == pytest.approx(0.0201)
    assert fit.taper() is None
    assert fit.crown() is None


def test_two_places_give_a_taper_and_no_crown() -> None:
    fit = fit_thickness([0.06, 0.88], [0.0200, 0.0202], U)
    assert taper(fit).value == pytest.approx(0.2e-3)
    assert taper(fit).uncertainty == pytest.approx(U * math.sqrt(2))
    assert fit.crown() is None


def test_three_places_give_the_readings_back_and_leave_no_residual() -> None:
    fit = fit_thickness([0.06, 0.47, 0.88], [0.02741, 0.02744, 0.02740], U)
    assert fit.at(0.47) == pytest.approx(0.02744)
    assert fit.residual_sd is None
    assert taper(fit).value == pytest.approx(-0.01e-3)
    assert crown(fit).value == pytest.approx(0.035e-3)


def test_three_readings_carry_the_textbook_uncertainties() -> None:
    # crown = C - (L + R) / 2 has variance u² (1 + 1/4 + 1/4)
    fit = fit_thickness([-0.4, 0.0, 0.4], [0.02, 0.02, 0.02], U)
    assert crown(fit).uncertainty == pytest.approx(U * math.sqrt(1.5))
    assert taper(fit).uncertainty == pytest.approx(U * math.sqrt(2))


def test_positive_crown_is_a_thick_middle_and_positive_taper_a_thick_right() -> None:
    fit = fit_thickness([0.0, 0.5, 1.0], [0.0200, 0.0203, 0.0202], U)
    assert crown(fit).value > 0
    assert taper(fit).value > 0


def test_the_order_of_readings_does_not_matter() -> None:
    xs, ts = [0.06, 0.47, 0.88, 0.2], [0.02741, 0.02744, 0.02740, 0.02742]
    one, two = fit_thickness(xs, ts, U), fit_thickness(xs[::-1], ts[::-1], U)
    assert one.coefficients() == pytest.approx(two.coefficients())


def test_readings_that_scatter_more_than_the_instrument_raise_the_uncertainty() -> None:
    rng = random.Random(3)
    xs = [i / 10 for i in range(11)]
    rough = fit_thickness(xs, [0.02 + rng.gauss(0, 50e-6) for _ in xs], U)
    assert rough.residual_sd is not None
    assert rough.reading_uncertainty == rough.residual_sd > U
    smooth = fit_thickness(xs, [0.02 + 1e-5 * x for x in xs], U)
    assert smooth.reading_uncertainty == U


def test_the_stated_uncertainty_is_the_spread_over_many_boards() -> None:
    rng = random.Random(11)
    xs = [0.05, 0.05, 0.45, 0.45, 0.80, 0.90]
    fits = [fit_thickness(xs, [0.02 + rng.gauss(0, 20e-6) for _ in xs], 20e-6) for _ in range(4000)]
    expected = fit_thickness(xs, [0.02] * 6, 20e-6)
    assert np.std([taper(f).value for f in fits]) == pytest.approx(taper(expected).uncertainty, rel=0.05)
    assert np.std([crown(f).value for f in fits]) == pytest.approx(crown(expected).uncertainty, rel=0.05)


def test_a_part_shows_the_slope_where_it_ran() -> None:
    fit = fit_thickness([0.0, 0.5, 1.0], [0.0200, 0.0203, 0.0200], U)
    assert fit.part_taper(0.2, 0.1) == pytest.approx(-fit.part_taper(0.8, 0.1))
    assert fit.part_taper(0.5, 0.1) == pytest.approx(0.0, abs=1e-15)


def test_a_lower_degree_may_be_asked_for() -> None:
    fit = fit_thickness([0.0, 0.5, 1.0], [0.0200, 0.0203, 0.0200], U, degree=1)
    assert fit.degree == 1
    assert fit.residual_sd is not None


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6, 20])
def test_coefficients_agree_with_polyfit(count: int) -> None:
    rng = random.Random(count)
    for _ in range(20):
        xs = [rng.uniform(-0.7, 1.4) for _ in range(count)]
        ts = [0.02 + rng.uniform(-3e-4, 3e-4) for _ in xs]
        fit = fit_thickness(xs, ts, U)
        reference = np.polynomial.Polynomial.fit(xs, ts, fit.degree)
        for x in (*xs, -0.7, 0.3, 1.4):
            assert fit.at(x) == pytest.approx(reference(x), rel=1e-9, abs=1e-12)
        c0, c1, c2 = fit.coefficients()
        for x in xs:
            assert c0 + c1 * x + c2 * x * x == pytest.approx(fit.at(x), rel=1e-9)


@pytest.mark.parametrize(
    ("xs", "ts", "u"),
    [
        ([], [], U),
        ([0.1], [0.02, 0.02], U),
        ([float("nan")], [0.02], U),
        ([0.1], [float("inf")], U),
        ([0.1], [0.02], -U),
    ],
)
def test_readings_that_make_no_fit_are_refused(xs: list[float], ts: list[float], u: float) -> None:
    with pytest.raises(ValueError):
        fit_thickness(xs, ts, u)


def test_a_degree_above_two_is_refused() -> None:
    with pytest.raises(ValueError, match="degree"):
        fit_thickness([0.0, 1.0], [0.02, 0.02], U, degree=3)
