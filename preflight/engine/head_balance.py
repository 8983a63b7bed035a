"""What each head really takes: thickness after each head alone, against the plan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class HeadTake:
    """One head's part in a removal test."""

    take: float
    """m; negative when the board came out thicker"""
    planned: float
    """m"""
    share: float
    """of the total taken, 0 to 1 when every head cut"""
    decided: bool
    """the difference from the plan is larger than the instrument's expanded uncertainty"""

    @property
    def error(self) -> float:
        """take - planned, m"""
        return self.take - self.planned


def head_takes(
    before: float, after: Sequence[float], planned: Sequence[float], reading_uncertainty: float
) -> list[HeadTake]:
    """What each head took: differences of thickness before and after heads 1, 1+2, 1+2+3 …, all in m.

    `reading_uncertainty` is the standard uncertainty of one reading; a difference of two carries √2 of it,
    doubled for about 95 %. Raises ValueError for unequal lengths, no head, or a total that is not above zero.

    >>> [round(t.take * 1e6) for t in head_takes(0.0280, [0.0279, 0.0275], [4e-4, 1e-4], 5e-6)]
    [100, 400]
    """
    if not after or len(after) != len(planned):
        raise ValueError("a removal test needs one reading and one planned share for each head")
    if not reading_uncertainty > 0:
        raise ValueError("the uncertainty of a reading must be above zero")
    steps = [a - b for a, b in zip([before, *after], after, strict=False)]
    total = math.fsum(steps)
    if not total > 0:
        raise ValueError("the board is no thinner than before: nothing was taken")
    bound = 2 * math.sqrt(2) * reading_uncertainty
    return [
        HeadTake(step, plan, step / total, abs(step - plan) > bound) for step, plan in zip(steps, planned, strict=True)
    ]


def idle_heads(takes: Sequence[HeadTake], least_part: float = 0.25) -> list[int]:
    """Places (from 0) of heads that take less than `least_part` of their planned share, beyond doubt.

    The quarter is common practice, no source: then the next head does that head's work.

    >>> idle_heads(head_takes(0.0280, [0.02799, 0.0275], [4e-4, 1e-4], 5e-6))
    [0]
    """
    return [i for i, take in enumerate(takes) if take.decided and take.take < least_part * take.planned]
