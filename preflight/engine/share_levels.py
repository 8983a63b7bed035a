"""Share a total over bounded takers so that all are loaded alike."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Bound:
    """How much one taker may take."""

    low: float
    high: float
    weight: float
    """take / weight is the load that is made level; above zero"""
    last_resort: bool = False
    """stays at `low` until all others are at `high`"""


def level_shares(total: float, bounds: Sequence[Bound]) -> list[float]:
    """Takes that sum to `total`, each within its bounds: take = clamp(level · weight, low, high).

    The one level that fits is found exactly: the sum rises linearly between the levels where some taker
    reaches a bound. A total outside the sum of the bounds (rounding) gives the nearest bounds.

    >>> level_shares(9.0, [Bound(1, 10, 2), Bound(1, 10, 1)])
    [6.0, 3.0]
    >>> level_shares(4.0, [Bound(1.0, 2.0, 1.0), Bound(1.0, 9.0, 1.0, last_resort=True)])
    [2.0, 2.0]
    """
    takes = [bound.low for bound in bounds]
    for resort in (False, True):
        group = [i for i, bound in enumerate(bounds) if bound.last_resort is resort]
        rest = total - math.fsum(take for i, take in enumerate(takes) if i not in group)
        for i, take in zip(group, _levelled(rest, [bounds[i] for i in group]), strict=True):
            takes[i] = take
    return takes


def _levelled(total: float, bounds: list[Bound]) -> list[float]:
    levels = sorted({edge / bound.weight for bound in bounds for edge in (bound.low, bound.high)})
    low = [bound.low for bound in bounds]
    if total <= math.fsum(low):
        return low
    for level in levels:
        high = _at(level, bounds)
        if math.fsum(high) >= total:
            part = (total - math.fsum(low)) / (math.fsum(high) - math.fsum(low))
            # Clamped again: the interpolation may round one unit past a bound.
            return [
                min(max(a + part * (b - a), bound.low), bound.high)
                for a, b, bound in zip(low, high, bounds, strict=True)
            ]
        low = high
    return [bound.high for bound in bounds]


def _at(level: float, bounds: list[Bound]) -> list[float]:
    return [min(max(level * bound.weight, bound.low), bound.high) for bound in bounds]
