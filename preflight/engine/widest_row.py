"""How much wood lies abreast at most: the widest row that parts of given widths fill of a bed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

STEP: Final = 1e-4
"""Part widths are summed in whole steps of this, m; rounded up, so that a row never looks narrower."""
_ROUNDING: Final = 1e-9


def widest_row(parts: Iterable[tuple[float, int]], usable: float) -> float:
    """Most wood abreast, m, that parts (width, count) fill of a usable width: boards touching, sizes mixed.

    Every sum of part widths up to the usable width is one bit of a number, so it is exact to 0.1 mm.

    >>> round(widest_row([(0.180, 120)], 0.910), 4)
    0.9
    """
    room = round(usable / STEP)
    sums = 1
    for width, count in parts:
        if width <= 0:
            continue
        step = math.ceil(width / STEP * (1 - _ROUNDING))
        for _ in range(min(count, room // step)):
            grown = sums | (sums << step) & ((1 << (room + 1)) - 1)
            if grown == sums:
                break
            sums = grown
    return (sums.bit_length() - 1) * STEP
