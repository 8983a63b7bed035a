"""Air: density, velocity pressure, hoods."""

from __future__ import annotations

import math

import pytest
from fluids.atmosphere import ATMOSPHERE_1976

from preflight.engine.air import (
    Air,
    air_at,
    air_density,
    atmospheric_pressure,
    duct_area,
    entry_coefficient,
    flow_from_baseline,
    hood_loss_from_readings,
    hood_suction,
    velocity_from_hood_suction,
    velocity_from_pressure,
    velocity_pressure,
)


@pytest.mark.parametrize("altitude", [0.0, 120.0, 500.0, 1500.0, 3000.0])
def test_pressure_and_viscosity_follow_the_standard_atmosphere(altitude: float) -> None:
    """Against the US Standard Atmosphere 1976 in `fluids`, which takes geometric, not geopotential, height."""
    standard = ATMOSPHERE_1976(altitude)
    assert atmospheric_pressure(altitude) == pytest.approx(standard.P, rel=3e-4)
    air = air_at(standard.T, altitude)
    assert air.density == pytest.approx(standard.rho, rel=1e-3)
    assert air.viscosity == pytest.approx(standard.mu, rel=1e-3)


def test_warm_or_high_air_is_lighter() -> None:
    assert air_at(313.15).density < air_at(293.15).density
    assert air_at(293.15, 1500.0).density < air_at(293.15).density


def test_velocity_pressure_and_velocity_are_inverses() -> None:
    assert velocity_from_pressure(velocity_pressure(23.4, 1.17), 1.17) == pytest.approx(23.4)


def test_hood_suction_and_velocity_are_inverses() -> None:
    assert velocity_from_hood_suction(hood_suction(21.0, 0.49, 1.2), 0.49, 1.2) == pytest.approx(21.0)


def test_entry_coefficient_is_the_root_of_velocity_pressure_over_suction() -> None:
    ratio = velocity_pressure(18.0, 1.2) / hood_suction(18.0, 0.65, 1.2)
    assert entry_coefficient(0.65) == pytest.approx(math.sqrt(ratio))


def test_a_quarter_less_suction_is_thirteen_per_cent_less_flow() -> None:
    assert flow_from_baseline(75.0, 100.0, 1.0) == pytest.approx(0.866, abs=5e-4)


def test_a_suction_below_the_velocity_pressure_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be below"):
        hood_loss_from_readings(100.0, 120.0)


@pytest.mark.parametrize("temperature", [20.0, math.nan, 500.0])
def test_a_temperature_that_is_no_kelvin_value_is_refused(temperature: float) -> None:
    with pytest.raises(ValueError, match="temperature"):
        air_density(temperature)


def test_impossible_values_are_refused() -> None:
    with pytest.raises(ValueError, match="density"):
        Air(0.0, 1.8e-5)
    with pytest.raises(ValueError, match="velocity"):
        velocity_pressure(-1.0, 1.2)
    with pytest.raises(ValueError, match="diameter"):
        duct_area(0.0)
    with pytest.raises(ValueError, match="altitude"):
        atmospheric_pressure(9000.0)
