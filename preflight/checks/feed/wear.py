"""The wear map of a belt or drum: metres of wood that each strip of the bed's width has passed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.history import WearStrip

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.engine.coverage import Strip

STRIP = 0.010
"""Width of one strip of the map, m; fine enough for any board, and few enough to plan on."""


@dataclass(frozen=True, slots=True)
class WearMap:
    """Strips of `STRIP` from `left` on. Raises ValueError on a value that no belt can have passed."""

    left: float
    """m from the left edge of the bed."""
    metres: tuple[float, ...]
    """Metres of wood passed, strip by strip."""

    def __post_init__(self) -> None:
        if any(not (math.isfinite(m) and m >= 0.0) for m in self.metres):
            raise ValueError("a strip has passed a number of metres from zero on")

    @property
    def strips(self) -> tuple[WearStrip, ...]:
        """Neighbours that passed the same as one strip, left to right."""
        merged: list[WearStrip] = []
        for number, metres in enumerate(self.metres):
            start, end = self.left + number * STRIP, self.left + (number + 1) * STRIP
            if merged and merged[-1].metres == metres:
                merged[-1] = WearStrip(merged[-1].left, end, metres)
            else:
                merged.append(WearStrip(start, end, metres))
        return tuple(merged)


def worn_map(left: float, width: float, before: Iterable[WearStrip], fed: Iterable[Strip]) -> WearMap:
    """The map over a width after what was there before and what was fed, both in m from the bed's left edge.

    A board that covers part of a strip counts by that part, so that the area passed over the width is kept.
    Raises ValueError for a width of nothing.

    >>> from preflight.engine.coverage import Strip
    >>> worn_map(0.0, 0.03, [], [Strip(0.0, 0.015, 10.0)]).metres
    (10.0, 5.0, 0.0)
    """
    if not width > 0.0:
        raise ValueError("a wear map has a width")
    count = math.ceil(width / STRIP - 1e-9)
    metres = [0.0] * count
    loads = [(s.left, s.right, s.metres) for s in before] + [(s.start, s.end, s.exposure) for s in fed]
    for start, end, passed in loads:
        first = max(0, math.floor((start - left) / STRIP + 1e-9))
        last = min(count, math.ceil((end - left) / STRIP - 1e-9))
        for number in range(first, last):
            a = left + number * STRIP
            metres[number] += passed * (min(end, a + STRIP) - max(start, a)) / STRIP
    return WearMap(left, tuple(round(max(0.0, m), 3) for m in metres))
