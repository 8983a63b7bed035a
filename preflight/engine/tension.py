"""From a pressure gauge to the pull in the belt: the same number is not the same pull on two machines.

Pressure is gauge pressure on the full bore (the rod side is taken as vented, its area is not deducted); the
tension roller is wrapped half round, so two strands share its force. The line tension is shown, never judged:
no published band for wide belts was found.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TensionCylinder:
    """How one head pulls its tension roller. Raises ValueError for values out of range."""

    bore: float
    """m, above zero"""
    count: int = 1
    ratio: float = 1.0
    """force at the roller / force of the cylinder, above zero"""
    efficiency: float = 1.0
    """0 to 1, not zero"""
    roller_force: float = 0.0
    """N, signed: + when the roller's weight tightens the belt, - when it slackens it"""

    def __post_init__(self) -> None:
        if not (self.bore > 0 and self.count >= 1 and self.ratio > 0 and 0 < self.efficiency <= 1):
            raise ValueError("bore and ratio are above zero, at least one cylinder, efficiency between 0 and 1")
        if not math.isfinite(self.roller_force):
            raise ValueError("the roller force must be a number")

    @property
    def gain(self) -> float:
        """Roller force per gauge pressure, N/Pa (m²)."""
        return math.pi / 4 * self.bore**2 * self.count * self.ratio * self.efficiency


def roller_pull(pressure: float, cylinder: TensionCylinder) -> float:
    """F = p·A·n·ratio·efficiency + roller force, N: what both strands carry; p in Pa gauge, not negative.

    >>> round(roller_pull(3.0e5, TensionCylinder(0.063, count=2)), 3)
    1870.347
    """
    if not (math.isfinite(pressure) and pressure >= 0):
        raise ValueError("a gauge pressure cannot be negative")
    return pressure * cylinder.gain + cylinder.roller_force


def line_tension(pressure: float, cylinder: TensionCylinder, belt_width: float) -> float:
    """T = F / (2·b), N/m; belt width b in m, above zero. At or below zero the belt is slack.

    >>> round(line_tension(3.0e5, TensionCylinder(0.063, count=2), 1.3) / 1000, 6)
    0.719364
    """
    if not belt_width > 0:
        raise ValueError("the belt width must be above zero")
    return roller_pull(pressure, cylinder) / (2 * belt_width)


def is_slack(tension: float) -> bool:
    """True when no pull is left: the roller's weight eats all the cylinder gives."""
    return tension <= 0


def capstan_ratio(friction: float, wrap: float) -> float:
    """T_tight / T_slack = e^(μ·θ) at the point of slip.

    The belt-friction (capstan, Euler-Eytelwein) relation. Friction not negative, wrap in radians, not negative.

    >>> round(capstan_ratio(0.3, math.pi), 3)
    2.566
    """
    if not (friction >= 0 and wrap >= 0):
        raise ValueError("friction and wrap cannot be negative")
    return math.exp(friction * wrap)


def slip_force(pull: float, friction: float = 0.3, wrap: float = math.pi) -> float:
    """Largest pull of the drum F·(r - 1)/(r + 1), N, with r the capstan ratio and F the sum of both strands.

    A slack belt (F ≤ 0) drives nothing. μ 0.3 is from memory; a dust-polished drum may have 0.2.

    >>> round(slip_force(2113.0))
    928
    """
    ratio = capstan_ratio(friction, wrap)
    return max(pull, 0.0) * (ratio - 1) / (ratio + 1)


def slip_power(pull: float, belt_speed: float, friction: float = 0.3, wrap: float = math.pi) -> float:
    """Power at which the belt slips on its drum, W: slip force × belt speed (m/s, not negative).

    >>> round(slip_power(2113.0, 15.7) / 1000, 1)
    14.6
    """
    if belt_speed < 0:
        raise ValueError("belt speed cannot be negative")
    return slip_force(pull, friction, wrap) * belt_speed


def belt_speed(drum_diameter: float, revolutions: float) -> float:
    """v_b = π·D·n, m/s; diameter in m, above zero, revolutions per second, not negative.

    >>> round(belt_speed(0.2, 1500 / 60), 2)
    15.71
    """
    if not (drum_diameter > 0 and revolutions >= 0):
        raise ValueError("drum diameter is above zero and revolutions not negative")
    return math.pi * drum_diameter * revolutions
