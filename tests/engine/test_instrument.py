from __future__ import annotations

import pytest

from preflight.engine.instrument import can_prove, decide, reading_uncertainty
from preflight.engine.thickness import Estimate, fit_thickness

THREE = ([0.06, 0.47, 0.88], [0.0274, 0.0274, 0.0274])


def test_three_readings_with_a_tenth_caliper_cannot_prove_a_tenth() -> None:
    fit = fit_thickness(*THREE, reading_uncertainty(0.1e-3))
    for found in (fit.taper(), fit.crown()):
        assert found is not None
        assert not can_prove(found, 0.1e-3)
        assert decide(found, 0.1e-3) == "cannot tell"


def test_three_readings_with_a_hundredth_caliper_prove_a_tenth() -> None:
    fit = fit_thickness(*THREE, reading_uncertainty(0.01e-3, 0.02e-3))
    for found in (fit.taper(), fit.crown()):
        assert found is not None
        assert can_prove(found, 0.1e-3)
        assert decide(found, 0.1e-3) == "within"


def test_a_value_well_beyond_is_beyond_whatever_its_sign() -> None:
    assert decide(Estimate(0.2e-3, 0.02e-3), 0.1e-3) == "beyond"
    assert decide(Estimate(-0.2e-3, 0.02e-3), 0.1e-3) == "beyond"


def test_a_value_with_its_uncertainty_just_on_the_limit_is_within() -> None:
    assert decide(Estimate(0.5, 0.25), 1.0) == "within"


def test_resolution_and_accuracy_add_in_quadrature() -> None:
    both = reading_uncertainty(0.01e-3, 0.02e-3)
    assert both**2 == pytest.approx((0.01e-3) ** 2 / 12 + (0.02e-3) ** 2 / 3)
    assert reading_uncertainty(0.01e-3, 0.0) == pytest.approx(2.887e-6, rel=1e-3)


@pytest.mark.parametrize(
    "call",
    [
        lambda: reading_uncertainty(0.0),
        lambda: reading_uncertainty(1e-5, -1e-5),
        lambda: decide(Estimate(0.0, 1e-6), 0.0),
    ],
)
def test_values_out_of_range_are_refused(call: object) -> None:
    assert callable(call)
    with pytest.raises(ValueError):
        call()
