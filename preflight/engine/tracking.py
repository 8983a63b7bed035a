"""How evenly a belt swings."""

from __future__ import annotations


def swing_ratio(out: float, back: float) -> float:
    """t_out / t_in of one swing, s and s, both above zero; 1 is even.

    Common practice, no source: 0.8 to 1.25 is good, outside 0.67 to 1.5 a stop.

    >>> swing_ratio(2.5, 2.0)
    1.25
    """
    if not (out > 0 and back > 0):
        raise ValueError("swing times must be above zero")
    return out / back
