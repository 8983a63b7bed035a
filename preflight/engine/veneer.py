"""How likely a face veneer is sanded through, from measured spread."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def margin_in_sigmas(face: float, removal: float, spreads: Sequence[float]) -> float:
    """z = (face - removal) / √(Σ sd²); face and removal in m, standard deviations of panel, machine, repeat in m.

    Raises ValueError for a face not above zero, a negative removal, or spreads that are all zero.

    >>> round(margin_in_sigmas(0.30e-3, 0.05e-3, [0.05e-3, 0.04e-3, 0.03e-3]), 1)
    3.5
    """
    if not face > 0 or removal < 0 or any(sd < 0 for sd in spreads):
        raise ValueError("the face is above zero; removal and spreads are not negative")
    spread = math.hypot(*spreads)
    if spread == 0:
        raise ValueError("at least one spread must be above zero: nothing is even to the last micrometre")
    return (face - removal) / spread


def chance_at_point(z: float) -> float:
    """Chance that one point is sanded through: 1 - Φ(z), for a normal spread.

    >>> round(chance_at_point(2.07), 3)
    0.019
    """
    return math.erfc(z / math.sqrt(2)) / 2


def chance_in_panel(z: float, points: int) -> float:
    """Chance that at least one of `points` independent points of a panel is sanded through: 1 - (1 - P)^k.

    >>> round(chance_in_panel(2.857, 10), 3)
    0.021
    """
    if points < 1:
        raise ValueError("a panel has at least one point")
    point = chance_at_point(z)
    return 1.0 if point == 1 else -math.expm1(points * math.log1p(-point))
