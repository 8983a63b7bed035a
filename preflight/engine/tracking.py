"""Where a belt's wander comes from: belt or machine, by turning the belt end for end.

Only a belt with a taped butt joint and no arrow may be turned; lap and skived lap are never run against their
arrow, not even to jog.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TrackingSplit:
    """A walk split over machine and belt; right is positive, any unit that both walks share."""

    machine: float
    belt: float


def split_walk(before: float, turned: float) -> TrackingSplit:
    """machine = (before + turned) / 2, belt = (before - turned) / 2, at the same tension and knob.

    Works alike for walks (m/s, right positive) and for swing imbalances.

    >>> split_walk(-4.0, 2.0)
    TrackingSplit(machine=-1.0, belt=-3.0)
    """
    if not (math.isfinite(before) and math.isfinite(turned)):
        raise ValueError("both walks must be numbers")
    return TrackingSplit((before + turned) / 2, (before - turned) / 2)


def swing_ratio(out: float, back: float) -> float:
    """t_out / t_in of one swing, s and s, both above zero; 1 is even.

    Common practice, no source: 0.8 to 1.25 is good, outside 0.67 to 1.5 a stop.

    >>> swing_ratio(2.5, 2.0)
    1.25
    """
    _positive_times(out, back)
    return out / back


def swing_imbalance(out: float, back: float) -> float:
    """(t_out - t_in) / (t_out + t_in), -1 to 1: stands for the walk on heads whose swing cannot be stopped.

    >>> swing_imbalance(3.0, 2.0)
    0.2
    """
    _positive_times(out, back)
    return (out - back) / (out + back)


def cone_angle(left: float, right: float, width: float) -> float:
    """Tilt (L_right - L_left) / (2·W) of a roller that would act like this cone, rad; lengths in m, above zero.

    Half the difference of lengths, since each edge runs there and back. Positive: the right edge is longer.

    >>> round(math.degrees(cone_angle(1.899, 1.901, 0.94)), 2)
    0.06
    """
    if not (left > 0 and right > 0 and width > 0):
        raise ValueError("edge lengths and width must be above zero")
    return (right - left) / (2 * width)


def lateral_speed(belt_speed: float, angle: float) -> float:
    """v_b · tan(angle), m/s: how fast a belt walks on a roller tilted by `angle` (rad, within ±0.1).

    >>> round(lateral_speed(15.7, math.radians(0.02)) * 1000, 1)
    5.5
    """
    if belt_speed < 0 or not -0.1 <= angle <= 0.1:
        raise ValueError("belt speed cannot be negative, and a tilt stays within 0.1 rad")
    return belt_speed * math.tan(angle)


def _positive_times(out: float, back: float) -> None:
    if not (out > 0 and back > 0):
        raise ValueError("swing times must be above zero")
