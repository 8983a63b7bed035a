"""How long the feeding takes and how much wood and belt it moves."""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preflight.engine.boards import Part, Placement


def feed_time(row_lengths: Iterable[float], spacing: float, feed_speed: float, passes: int = 1) -> float:
    """Time for all feeds: Σ (l + spacing) / v_f × passes (m, m, m/s; s). Each row is as long as its longest board.

    Raises ValueError on a speed or pass count that is not positive or a negative spacing.

    >>> round(feed_time([0.7] * 60, 0.1, 6.0 / 60.0, passes=2) / 60.0, 6)     # 120 pieces, two abreast
    16.0
    """
    if not feed_speed > 0.0:
        raise ValueError(f"the feed must run: {feed_speed} m/s")
    if spacing < 0.0 or passes < 1:
        raise ValueError("the spacing cannot be negative, and there is at least one pass")
    return fsum(length + spacing for length in row_lengths) / feed_speed * passes


def row_lengths(parts: Sequence[Part], rows: Iterable[Sequence[Placement]]) -> tuple[float, ...]:
    """Length of each feed: its longest board, m.

    >>> from preflight.engine.boards import Part, Placement
    >>> row_lengths([Part(0.2, 0.7, 1), Part(0.2, 0.9, 1)], [[Placement(0, 0.0, 0), Placement(1, 0.3, 0)]])
    (0.9,)
    """
    return tuple(max(parts[p.part].length for p in row) for row in rows)


def extra_pass_time(row_lengths: Iterable[float], spacing: float, feed_speed: float) -> float:
    """What one more pass costs, s: the same feeds once more."""
    return feed_time(row_lengths, spacing, feed_speed)


def sanded_area(parts: Iterable[Part]) -> float:
    """Area of all boards, one face once each: Σ N·l·w, m².

    >>> from preflight.engine.boards import Part
    >>> round(sanded_area([Part(0.180, 0.900, 120)]), 3)
    19.44
    """
    return fsum(p.count * p.length * p.width for p in parts)


def belt_area_used(unused_width: float, usable_width: float, belt_length: float) -> float:
    """Area of belt that touched wood: (U − unused) × L, m².

    >>> round(belt_area_used(0.010, 0.910, 1.900), 3)
    1.71
    """
    if not 0.0 <= unused_width <= usable_width * (1.0 + 1e-9):
        raise ValueError("the unused width lies between nothing and the usable width")
    if not belt_length > 0.0:
        raise ValueError("the belt must have a length")
    return max(0.0, usable_width - unused_width) * belt_length


def throughput(amount: float, time: float) -> float:
    """Amount an hour: boards, m or m² fed in `time` (s).

    >>> throughput(120, 960.0)
    450.0
    """
    if not time > 0.0:
        raise ValueError("the time must be more than nothing")
    return amount / time * 3600.0
