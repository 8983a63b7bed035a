"""Thickness fit against certified data and reference libraries.

NIST Statistical Reference Datasets: Norris from the file that scipy ships, certified values in its header;
Wampler1 by its published rule; Pontius data and certified values from memory (checked here against each
other: wrong digits would not fit).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from preflight.engine.thickness import fit_thickness

NORRIS = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"

# Load cell calibration, two runs over the same loads; from memory.
PONTIUS_LOAD = [150_000.0 * step for step in range(1, 21)] * 2
PONTIUS_DEFLECTION = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
]  # fmt: skip


def norris() -> tuple[list[float], list[float]]:
    rows = [line.split() for line in NORRIS.read_text().splitlines()[60:] if line.strip()]
    return [float(x) for _, x in rows], [float(y) for y, _ in rows]


def test_norris_comes_out_at_its_certified_line() -> None:
    xs, ys = norris()
    assert len(xs) == 36
    fit = fit_thickness(xs, ys, 0.0, degree=1)
    intercept, slope, _ = fit.coefficients()
    assert intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-12)


def test_norris_comes_out_with_its_certified_standard_error_of_the_slope() -> None:
    # Certified error of the slope from memory.
    # The taper is slope × span, so its uncertainty is the certified error of the slope × span.
    xs, ys = norris()
    taper = fit_thickness(xs, ys, 0.0, degree=1).taper()
    assert taper is not None
    assert taper.uncertainty / (max(xs) - min(xs)) == pytest.approx(0.429796848199937e-3, rel=1e-10)


def test_pontius_comes_out_at_its_certified_parabola() -> None:
    fit = fit_thickness(PONTIUS_LOAD, PONTIUS_DEFLECTION, 0.0)
    certified = (6.73565789473684e-4, 7.32059160401003e-7, -3.16081871345029e-15)
    for found, expected in zip(fit.coefficients(), certified, strict=True):
        assert found == pytest.approx(expected, rel=1e-9)
    assert fit.residual_sd == pytest.approx(2.05177424076185e-4, rel=1e-10)


def test_wampler_up_to_the_square_comes_back_as_ones() -> None:
    # Wampler1 is y = Σ x^k for x = 0 … 20; taken here as far as the square.
    xs = [float(x) for x in range(21)]
    fit = fit_thickness(xs, [1 + x + x * x for x in xs], 0.0)
    assert fit.coefficients() == pytest.approx((1.0, 1.0, 1.0), rel=1e-12)


def test_a_worked_crown_and_taper_come_out() -> None:
    # Worked example: t = 20 + 1e-4·x - 2e-7·x² mm at x = ±600, ±400, ±200, 0 mm.
    xs = [x / 1e3 for x in (-600, -400, -200, 0, 200, 400, 600)]
    ts = [(20 + 1e-4 * (1e3 * x) - 2e-7 * (1e3 * x) ** 2) / 1e3 for x in xs]
    fit = fit_thickness(xs, ts, 1e-6)
    crown, taper = fit.crown(), fit.taper()
    assert crown is not None
    assert taper is not None
    # Edges lie 0.072 mm below the centre, so the centre stands 0.072 mm above their mean.
    assert crown.value == pytest.approx(0.072e-3, rel=1e-9)
    assert taper.value == pytest.approx(0.12e-3, rel=1e-9)
    assert fit.coefficients() == pytest.approx((0.020, 1e-4, -2e-4), rel=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_the_fit_is_the_one_of_numpy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    xs = np.sort(rng.uniform(0.0, 1.4, int(rng.integers(4, 30))))
    ts = 0.02 + 1e-4 * xs - 2e-4 * xs**2 + rng.normal(0, 1e-5, xs.size)
    fit = fit_thickness(xs.tolist(), ts.tolist(), 0.0)
    assert fit.coefficients() == pytest.approx(np.polyfit(xs, ts, 2)[::-1], rel=1e-7)


@pytest.mark.parametrize("seed", range(10))
def test_the_uncertainties_are_those_of_numpys_covariance(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    xs = rng.uniform(0.0, 1.4, 9)
    u = 7e-6
    fit = fit_thickness(xs.tolist(), [0.02] * 9, u)
    _, cov = np.polyfit(xs, np.full(9, 0.02), 2, w=np.full(9, 1 / u), cov="unscaled")
    left, right = xs.min(), xs.max()
    middle = (left + right) / 2

    def row(x: float) -> np.ndarray:
        return np.array([x * x, x, 1.0])

    for found, functional in (
        (fit.taper(), row(right) - row(left)),
        (fit.crown(), row(middle) - (row(left) + row(right)) / 2),
    ):
        assert found is not None
        assert found.uncertainty == pytest.approx(float(np.sqrt(functional @ cov @ functional)), rel=1e-6)
