"""The cumulative-sum alarm for drift: many small steps the same way, long before a limit is reached."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_OVERSHOOT = 1.166
"""Siegmund's correction for the sum passing the decision value between two readings."""


@dataclass(frozen=True, slots=True)
class Alarm:
    """Where the sum passed the decision value."""

    place: int
    """Index of the reading at which it did."""
    began: int
    """Index of the first reading of that rise: the estimated beginning of the drift."""
    up: bool


def alarm(values: Sequence[float], mean: float, deviation: float, slack: float, decision: float) -> Alarm | None:
    """The first alarm of the two one-sided sums; None when there is none.

    Equation: S+ = max(0, S+ + z - k), S- = max(0, S- - z - k), z = (x - mean) / deviation; alarm above h.
    ValueError unless deviation, slack k and decision value h are above zero. Page 1954, tabular form.

    >>> alarm([0.0] * 5 + [2.0] * 5, 0.0, 1.0, 0.5, 5.0)
    Alarm(place=8, began=5, up=True)
    """
    if deviation <= 0 or slack <= 0 or decision <= 0:
        raise ValueError("deviation, slack and decision value are above zero")
    sums, began = [0.0, 0.0], [0, 0]
    for place, value in enumerate(values):
        z = (value - mean) / deviation
        for side, way in enumerate((z, -z)):
            if sums[side] == 0.0:
                began[side] = place
            sums[side] = max(0.0, sums[side] + way - slack)
            if sums[side] > decision:
                return Alarm(place, began[side], side == 0)
    return None


def standing(values: Sequence[float], mean: float, deviation: float, slack: float, decision: float) -> Alarm | None:
    """The alarm that stands at the last value: a sum that passed the decision value and has not come back since.

    A drift that was put right, or a false alarm of long ago, stands no more. Errors as in `alarm`.

    >>> standing([2.0] * 5 + [0.0] * 20, 0.0, 1.0, 0.5, 5.0) is None
    True
    """
    if deviation <= 0 or slack <= 0 or decision <= 0:
        raise ValueError("deviation, slack and decision value are above zero")
    found: Alarm | None = None
    for sign in (1.0, -1.0):
        total, began, passed = 0.0, 0, -1
        for place, value in enumerate(values):
            if total == 0.0:
                began = place
            total = max(0.0, total + sign * (value - mean) / deviation - slack)
            if total <= decision:
                passed = -1
            elif passed < 0:
                passed = place
        if passed >= 0 and (found is None or passed < found.place):
            found = Alarm(passed, began, sign > 0)
    return found


def run_length(slack: float, decision: float, shift: float = 0.0) -> float:
    """Average number of readings until an alarm of either side, for a shift of the mean in standard deviations.

    Equation: (exp(-2 d b) + 2 d b - 1) / (2 d^2) a side, d = ±shift - k, b = h + 1.166, and 1/ARL adds up.
    ValueError unless slack and decision value are above zero and the shift at most two. Siegmund 1985, an
    approximation for independent normal readings and a known baseline; within 5 % up to two deviations.

    >>> round(run_length(0.5, 5.0))
    469
    """
    if slack <= 0 or decision <= 0 or abs(shift) > 2:
        raise ValueError("slack and decision value are above zero, a shift is at most two deviations")
    reach = decision + _OVERSHOOT
    rate = 0.0
    for way in (shift, -shift):
        drift = way - slack
        if abs(drift) < 1e-9:
            length = reach * reach
        else:
            length = (math.exp(-2 * drift * reach) + 2 * drift * reach - 1) / (2 * drift * drift)
        rate += 1 / length
    return 1 / rate
