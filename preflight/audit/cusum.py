"""The cumulative-sum alarm for drift: many small steps the same way, long before a limit is reached."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_OVERSHOOT = 1.166
"""Siegmund's correction for the sum passing the decision value between two readings."""
_FULL = 1.5
"""A sum grows to so many decision values: a drift that was put right is forgotten in weeks, not in years."""


@dataclass(frozen=True, slots=True)
class Alarm:
    """Where the sum passed the decision value."""

    place: int
    """Index of the reading at which it did."""
    began: int
    """Index of the first reading of that rise: the estimated beginning of the drift."""
    up: bool


@dataclass(slots=True)
class Sums:
    """The two one-sided sums, fed one standard score at a time. ValueError unless slack and decision are above zero.

    Equation: S+ = max(0, S+ + z - k), S- = max(0, S- - z - k); alarm above h. Page 1954, tabular form.
    """

    slack: float
    """k, in standard deviations."""
    decision: float
    """h."""
    standing: Alarm | None = None
    """The alarm of the side that passed first and has not come back since."""
    _totals: list[float] = field(default_factory=lambda: [0.0, 0.0])
    _began: list[int] = field(default_factory=lambda: [0, 0])

    def __post_init__(self) -> None:
        if self.slack <= 0 or self.decision <= 0:
            raise ValueError("slack and decision value are above zero")

    def add(self, place: int, z: float) -> None:
        """The next score, and the index that an alarm gives it."""
        for side, way in enumerate((z, -z)):
            if self._totals[side] == 0.0:
                self._began[side] = place
            total = max(0.0, self._totals[side] + way - self.slack)
            self._totals[side] = min(_FULL * self.decision, total)
            stands = self.standing is not None and self.standing.up == (side == 0)
            if total <= self.decision:
                self.standing = None if stands else self.standing
            elif self.standing is None:
                self.standing = Alarm(place, self._began[side], side == 0)


def alarm(values: Sequence[float], mean: float, deviation: float, slack: float, decision: float) -> Alarm | None:
    """The first alarm about a mean and deviation that are known; None when there is none.

    ValueError unless deviation, slack and decision value are above zero.

    >>> alarm([0.0] * 5 + [2.0] * 5, 0.0, 1.0, 0.5, 5.0)
    Alarm(place=8, began=5, up=True)
    """
    if deviation <= 0:
        raise ValueError("a deviation is above zero")
    sums = Sums(slack, decision)
    for place, value in enumerate(values):
        sums.add(place, (value - mean) / deviation)
        if sums.standing is not None:
            return sums.standing
    return None


def run_length(slack: float, decision: float, shift: float = 0.0) -> float:
    """Average number of readings until an alarm of either side, for a shift of the mean in standard deviations.

    Equation: (exp(-2 d b) + 2 d b - 1) / (2 d^2) a side, d = ±shift - k, b = h + 1.166, and 1/ARL adds up.
    ValueError unless slack and decision value are above zero and the shift at most two. Siegmund 1985, an
    approximation for independent normal readings and a known baseline; within 5 % at k = 0.5, h = 5 up to two
    deviations, far too long beyond k = 1.

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


def decision_value(slack: float, length: float) -> float:
    """The decision value whose average run length without any shift is `length`: the inverse of `run_length`.

    At least 1. ValueError unless slack is above zero and the length at least one and finite. By halving.

    >>> round(decision_value(0.5, 469), 1)
    5.0
    """
    if slack <= 0 or not 1 <= length < math.inf:
        raise ValueError("a slack is above zero, an average run length finite and at least one")
    low, high = 1.0, 1.0
    while run_length(slack, high) < length:
        high *= 2
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if run_length(slack, middle) < length else (low, middle)
    return high
