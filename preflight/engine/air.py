"""Air in a duct: its density, and what a velocity pressure or a hood's suction says about its speed.

Everything is SI: K, m, Pa, kg/m³, m/s. Pressures of ducts and hoods are differences from the room, so a
suction is negative where a sign is kept and a plain magnitude where the docstring says "suction".
"""

from __future__ import annotations

import math
from dataclasses import dataclass

SEA_LEVEL_PRESSURE = 101325.0
"""Standard pressure at sea level, Pa."""

GAS_CONSTANT_DRY_AIR = 287.053
"""J/(kg·K). Moist air at 20 °C and half saturation is 0.4 % lighter than dry air; that is neglected."""


@dataclass(frozen=True)
class Air:
    """The air that the ducts carry."""

    density: float
    """kg/m³, more than zero."""

    viscosity: float
    """Dynamic viscosity, Pa·s, more than zero."""

    def __post_init__(self) -> None:
        _need(self.density, "density of the air", low=0.0, open_low=True)
        _need(self.viscosity, "viscosity of the air", low=0.0, open_low=True)


def air_at(temperature: float, altitude: float = 0.0) -> Air:
    """Dry air at a temperature (K, 200 to 400) and an altitude (m, -500 to 5000).

    >>> round(air_at(293.15).density, 3)
    1.204
    """
    pressure = atmospheric_pressure(altitude)
    return Air(air_density(temperature, pressure), air_viscosity(temperature))


def atmospheric_pressure(altitude: float) -> float:
    """Standard pressure at an altitude: p = 101325·(1 − 2.25577e-5·z)^5.25588, Pa.

    `altitude` z in m, -500 to 5000; outside, ValueError.
    Source: International Standard Atmosphere (constants as commonly rounded).

    >>> round(atmospheric_pressure(1500.0), -1)
    84560.0
    """
    _need(altitude, "altitude", low=-500.0, high=5000.0)
    return float(SEA_LEVEL_PRESSURE * (1.0 - 2.25577e-5 * altitude) ** 5.25588)


def air_density(temperature: float, pressure: float = SEA_LEVEL_PRESSURE) -> float:
    """Ideal-gas density of dry air: ρ = p/(R·T), kg/m³.

    `temperature` T in K, 200 to 400; `pressure` p in Pa, more than zero; outside, ValueError.

    >>> round(air_density(288.15), 4)
    1.225
    """
    _need(temperature, "air temperature", low=200.0, high=400.0)
    _need(pressure, "air pressure", low=0.0, open_low=True)
    return pressure / (GAS_CONSTANT_DRY_AIR * temperature)


def air_viscosity(temperature: float) -> float:
    """Sutherland's law: µ = 1.458e-6·T^1.5/(T + 110.4), Pa·s.

    `temperature` T in K, 200 to 400; outside, ValueError. Source: US Standard Atmosphere 1976 (constants
    from memory).

    >>> round(air_viscosity(293.15) * 1e6, 2)
    18.13
    """
    _need(temperature, "air temperature", low=200.0, high=400.0)
    return float(1.458e-6 * temperature**1.5 / (temperature + 110.4))


def velocity_pressure(velocity: float, density: float) -> float:
    """Velocity pressure: VP = ρ·V²/2, Pa. `velocity` m/s, not negative; `density` kg/m³, more than zero.

    >>> round(velocity_pressure(20.0, 1.2), 6)
    240.0
    """
    _need(velocity, "velocity", low=0.0)
    _need(density, "density of the air", low=0.0, open_low=True)
    return 0.5 * density * velocity * velocity


def velocity_from_pressure(pressure: float, density: float) -> float:
    """Speed behind a velocity pressure (pitot tube): V = √(2·VP/ρ), m/s; inverse of `velocity_pressure`.

    `pressure` VP in Pa, not negative; `density` kg/m³, more than zero.

    >>> round(velocity_from_pressure(240.0, 1.2), 9)
    20.0
    """
    _need(pressure, "velocity pressure", low=0.0)
    _need(density, "density of the air", low=0.0, open_low=True)
    return math.sqrt(2.0 * pressure / density)


def duct_area(diameter: float) -> float:
    """Area of a round duct: A = π·D²/4, m². `diameter` m, more than zero.

    >>> round(duct_area(0.2), 5)
    0.03142
    """
    _need(diameter, "diameter", low=0.0, open_low=True)
    return math.pi * diameter * diameter / 4.0


def hood_suction(velocity: float, hood_k: float, density: float) -> float:
    """Suction in the duct just behind a hood: |SPh| = (1 + K)·VP, Pa, a magnitude.

    `velocity` in that duct, m/s, not negative; `hood_k` entry loss in velocity pressures, not negative;
    `density` kg/m³. Source: hood static pressure equation of industrial ventilation.

    >>> round(hood_suction(20.0, 0.5, 1.2), 6)
    360.0
    """
    _need(hood_k, "hood loss", low=0.0)
    return (1.0 + hood_k) * velocity_pressure(velocity, density)


def velocity_from_hood_suction(suction: float, hood_k: float, density: float) -> float:
    """Speed in the duct behind a hood from its suction; inverse of `hood_suction`.

    Only true while the hood is as it was when `hood_k` was found: something stuck before the tap raises
    the suction while the flow falls.

    >>> round(velocity_from_hood_suction(360.0, 0.5, 1.2), 9)
    20.0
    """
    _need(suction, "hood suction", low=0.0)
    _need(hood_k, "hood loss", low=0.0)
    return velocity_from_pressure(suction / (1.0 + hood_k), density)


def entry_coefficient(hood_k: float) -> float:
    """Entry coefficient of a hood: Ce = 1/√(1 + K), between 0 and 1. `hood_k` not negative.

    >>> round(entry_coefficient(0.65), 4)
    0.7785
    """
    _need(hood_k, "hood loss", low=0.0)
    return 1.0 / math.sqrt(1.0 + hood_k)


def hood_loss_from_readings(suction: float, velocity_pressure_read: float) -> float:
    """Hood loss in velocity pressures from two readings: K = |SPh|/VP − 1.

    Both in Pa, the suction not below the velocity pressure (a hood cannot add energy); else ValueError.

    >>> round(hood_loss_from_readings(2.0, 0.8), 9)
    1.5
    """
    _need(velocity_pressure_read, "velocity pressure", low=0.0, open_low=True)
    if not suction >= velocity_pressure_read:
        raise ValueError(
            f"a hood suction of {suction:g} Pa cannot be below the velocity pressure of {velocity_pressure_read:g} Pa"
        )
    return suction / velocity_pressure_read - 1.0


def flow_from_baseline(suction: float, baseline_suction: float, baseline_flow: float) -> float:
    """Flow by a hood's suction against its baseline: Q = Q₀·√(SP/SP₀), m³/s.

    `suction` Pa, not negative; baseline values more than zero. Holds for an unchanged hood only.

    >>> round(flow_from_baseline(64.0, 100.0, 1.0), 6)
    0.8
    """
    _need(suction, "hood suction", low=0.0)
    _need(baseline_suction, "baseline suction", low=0.0, open_low=True)
    _need(baseline_flow, "baseline flow", low=0.0, open_low=True)
    return baseline_flow * math.sqrt(suction / baseline_suction)


def _need(value: float, name: str, *, low: float, high: float = math.inf, open_low: bool = False) -> None:
    """Refuse a value that is no number, infinite, or outside its range, in words."""
    if math.isfinite(value) and low <= value <= high and not (open_low and value == low):
        return
    wanted = f"more than {low:g}" if open_low else f"at least {low:g}"
    if math.isfinite(high):
        wanted += f" and at most {high:g}"
    raise ValueError(f"{name} must be {wanted}, not {value:g}")
