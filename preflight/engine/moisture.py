"""Wood and air: the moisture content wood settles at, and what it does to thickness."""

from __future__ import annotations

from typing import Final, Literal

GrowthDirection = Literal["radial", "tangential"]

GROWTH: Final[dict[GrowthDirection, tuple[float, float]]] = {
    "radial": (0.0015, 0.0020),
    "tangential": (0.0025, 0.0035),
}
"""Growth per one point of moisture content, low and high; after the Wood Handbook, figures from memory.

The thickness of a flat-sawn board moves radially, that of a quarter-sawn board tangentially.
"""


def equilibrium_moisture(temperature: float, humidity: float) -> float:
    """Moisture content, in %, at which wood neither takes up nor gives off water: two-hydrate sorption fit.

    EMC = 1800/W · (K·H/(1 - K·H) + (K1·K·H + 2·K1·K2·K²·H²)/(1 + K1·K·H + K1·K2·K²·H²)), T in °C (0 to 70 here),
    relative humidity H as a fraction, 0 to 1 without 1. Form after the Wood Handbook, coefficients from memory.

    >>> round(equilibrium_moisture(21.0, 0.50), 1)
    9.2
    """
    if not 0 <= temperature <= 70:
        raise ValueError("the fit holds for temperatures of 0 to 70 °C")
    if not 0 <= humidity < 1:
        raise ValueError("relative humidity is a share from 0 to below 1")
    t = temperature
    w = 349 + 1.29 * t + 0.0135 * t**2
    kh = (0.805 + 0.000736 * t - 0.00000273 * t**2) * humidity
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    hydrates = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + hydrates)


def thickness_growth(thickness: float, points: float, direction: GrowthDirection = "radial") -> tuple[float, float]:
    """Least and most growth of thickness, m, for a change of moisture content in points (negative: shrinks).

    Thickness in m, above zero; points -30 to 30 (above fibre saturation wood no longer moves).

    >>> [round(g * 1e6) for g in thickness_growth(0.020, 1.0)]
    [30, 40]
    """
    if not thickness > 0:
        raise ValueError("thickness must be above zero")
    if not -30 <= points <= 30:
        raise ValueError("wood moves only below about 30 % moisture content")
    low, high = GROWTH[direction]
    return thickness * low * points, thickness * high * points
