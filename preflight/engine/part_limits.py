"""Whether a part may go through: length against the hold-down, width under skew, thickness, and what went abreast."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import asin, atan2, cos, hypot, pi, radians, sin
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

HOLD_DOWN_OVERLAP = 0.050
"""A part reaches this much beyond the spacing of the hold-down rollers, m (common practice, no source)."""
TIPPING_RATIO = 1.5
"""A part narrower than this many times its thickness tips (common practice, no source)."""
SAME_THICKNESS = 0.0005
"""Boards abreast differ by no more than this, m (from memory): a thinner one is loose under the rollers."""
EXACT = 1e-9
"""A size this near to its limit, m, lies on it, and a size on its limit is inside."""


class Misfit(Enum):
    """What is wrong with a part."""

    TOO_SHORT = "too short"
    TOO_LONG = "too long"
    TOO_NARROW = "too narrow"
    TIPS = "narrower than it is stable"
    TOO_WIDE = "too wide"
    TOO_THIN = "too thin"
    TOO_THICK = "too thick"


@dataclass(frozen=True)
class Refusal:
    """One misfit, by how much (m), and whether the part may go on a carrier instead."""

    misfit: Misfit
    by: float
    carrier: bool


@dataclass(frozen=True)
class PartWindow:
    """What the machine takes, m; None is no limit."""

    hold_down_spacing: float | None = None
    """Largest distance between two hold-down rollers round a head."""
    shortest: float | None = None
    longest: float | None = None
    narrowest: float | None = None
    usable_width: float | None = None
    thinnest: float | None = None
    thickest: float | None = None


def occupied_width(width: float, length: float, skew: float) -> float:
    """Width that a board turned by `skew` takes up: w·cos θ + l·sin θ (m, skew in degrees, 0 to 90). Geometry.

    >>> [round(occupied_width(0.600, 0.900, t), 3) for t in (0, 15, 20, 30)]
    [0.6, 0.812, 0.872, 0.97]
    """
    _positive(width=width, length=length)
    if not 0.0 <= skew <= 90.0:
        raise ValueError(f"a skew lies between 0 and 90 degrees: {skew}")
    t = radians(skew)
    return width * cos(t) + length * sin(t)


def largest_skew(width: float, length: float, usable: float) -> float:
    """Largest skew up to which the board stays within `usable` (m); degrees. Raises ValueError when it never fits.

    From w·cos θ + l·sin θ = √(w² + l²)·sin(θ + φ), φ = atan2(w, l).

    >>> round(largest_skew(0.600, 0.900, 0.940), 2)
    26.66
    """
    _positive(width=width, length=length, usable=usable)
    if width > usable + EXACT:
        raise ValueError(f"the board is {(width - usable) * 1000:.1f} mm too wide even when it lies straight")
    diagonal = hypot(width, length)
    if diagonal <= usable:
        return 90.0
    return max(0.0, (asin(min(1.0, usable / diagonal)) - atan2(width, length)) * 180.0 / pi)


def shortest_held(hold_down_spacing: float) -> float:
    """Shortest part the hold-down keeps hold of: spacing + 50 mm (m; common practice, no source).

    >>> round(shortest_held(0.320), 3)
    0.37
    """
    if hold_down_spacing < 0.0:
        raise ValueError("the spacing cannot be negative")
    return hold_down_spacing + HOLD_DOWN_OVERLAP


def part_refusals(
    width: float, length: float, thickness: float, window: PartWindow, skew: float = 0.0
) -> tuple[Refusal, ...]:
    """Everything that keeps this part out, each by how much; empty when it may go. Sizes in m, skew in degrees.

    >>> [(r.misfit.value, round(r.by, 3), r.carrier)
    ...  for r in part_refusals(0.1, 0.210, 0.019, PartWindow(hold_down_spacing=0.320))]
    [('too short', 0.16, True)]
    """
    _positive(width=width, length=length, thickness=thickness)
    least_length = max(
        window.shortest or 0.0,
        shortest_held(window.hold_down_spacing) if window.hold_down_spacing is not None else 0.0,
    )
    across = occupied_width(width, length, skew)
    found = [
        (Misfit.TOO_SHORT, least_length - length, True),
        (Misfit.TOO_LONG, _above(length, window.longest), False),
        (Misfit.TOO_NARROW, (window.narrowest or 0.0) - width, True),
        (Misfit.TIPS, TIPPING_RATIO * thickness - width, True),
        (Misfit.TOO_WIDE, _above(across, window.usable_width), False),
        (Misfit.TOO_THIN, (window.thinnest or 0.0) - thickness, True),
        (Misfit.TOO_THICK, _above(thickness, window.thickest), False),
    ]
    return tuple(Refusal(misfit, by, carrier) for misfit, by, carrier in found if by > EXACT)


def thickness_step(thicknesses: Sequence[float], allowed: float = SAME_THICKNESS) -> float:
    """Largest difference of thickness between boards abreast beyond what is allowed, m; 0 when they may go together.

    >>> round(thickness_step([0.0190, 0.0210]), 4)
    0.0015
    """
    if allowed < 0.0:
        raise ValueError("the allowed step cannot be negative")
    if len(thicknesses) < 2:
        return 0.0
    over = max(thicknesses) - min(thicknesses) - allowed
    return over if over > EXACT else 0.0


def _above(value: float, limit: float | None) -> float:
    return 0.0 if limit is None else value - limit


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0.0:
            raise ValueError(f"{name.replace('_', ' ')} must be more than nothing: {value}")
