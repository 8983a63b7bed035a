"""What is fed and where: parts, the usable width they go over, and the placing of one board.

Shared by the feed planner, its bounds and its rows; x is measured across the belt from its left edge, m.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from preflight.engine.coverage import EDGE_TOLERANCE, Strip

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


@dataclass(frozen=True)
class Part:
    """One size of board and how many there are. Raises ValueError on a size that is not positive."""

    width: float
    """Width across the belt, as it lies (under skew: the occupied width), m."""
    length: float
    """Length along the feed, m."""
    count: int
    """Boards of this size, all passes together."""
    weight: float = 1.0
    """Load of a metre of it against other parts, for example removal times density; 1 when all are alike."""
    thickness: float = 0.0
    """Thickness, m: parts of different thickness are never put abreast."""

    def __post_init__(self) -> None:
        for name in ("width", "length", "weight"):
            value = getattr(self, name)
            if not (isfinite(value) and value > 0.0):
                raise ValueError(f"the {name} of a part must be more than nothing: {value}")
        if self.count < 0:
            raise ValueError(f"the count of a part cannot be negative: {self.count}")

    @property
    def load(self) -> float:
        """Exposure one board adds to each strip it passes."""
        return self.length * self.weight


@dataclass(frozen=True)
class Placement:
    """One board: which part (index into the parts), where its left edge lies (m), and in which feed it goes."""

    part: int
    left_edge: float
    row: int


@dataclass(frozen=True)
class Usable:
    """The usable width and the strips of it that nothing may pass."""

    width: float
    """min(belt, bed) less both margins, m."""
    left: float = 0.0
    """Where it begins: the left margin, m."""
    keep_off: tuple[tuple[float, float], ...] = ()
    """Strips (left end, right end) to keep off, m."""

    def __post_init__(self) -> None:
        if not (isfinite(self.width) and self.width > 0.0):
            raise ValueError(f"the usable width is nothing: {self.width} m")
        if any(not b > a for a, b in self.keep_off):
            raise ValueError("a keep-off strip must end right of its start")

    @property
    def right(self) -> float:
        """Where it ends, m."""
        return self.left + self.width

    @property
    def segments(self) -> tuple[tuple[float, float], ...]:
        """Free stretches between the keep-off strips, left to right, m. Raises ValueError when none is left."""
        tolerance = EDGE_TOLERANCE * self.width
        free, start = [], self.left
        for a, b in sorted(self.keep_off):
            if min(a, self.right) - start > tolerance:
                free.append((start, min(a, self.right)))
            start = max(start, b)
        if self.right - start > tolerance:
            free.append((start, self.right))
        if not free:
            raise ValueError("keep-off strips cover the whole usable width: change or wash the belt first")
        return tuple(free)

    def mirrored(self) -> Usable:
        """The same seen from the other side of the belt."""
        return Usable(self.width, self.left, tuple((self.flip(b), self.flip(a)) for a, b in self.keep_off))

    def flip(self, x: float) -> float:
        """The point as far from the right end as `x` is from the left end, m."""
        return self.left + (self.right - x)


def usable_width(belt: float, bed: float, margin: float, keep_off: Sequence[tuple[float, float]] = ()) -> Usable:
    """U = min(belt, bed) − 2 × margin, less keep-off strips (m). Raises ValueError when nothing is left.

    >>> round(usable_width(0.940, 0.960, 0.015).width, 6)
    0.91
    """
    if margin < 0.0:
        raise ValueError(f"the margin cannot be negative: {margin} m")
    return Usable(min(belt, bed) - 2.0 * margin, margin, tuple(keep_off))


def loads_of(parts: Sequence[Part], placements: Iterable[Placement]) -> list[Strip]:
    """What the placed boards add to the width: one strip for all that lie alike."""
    alike = Counter((p.part, p.left_edge) for p in placements)
    return [Strip(a, a + parts[i].width, parts[i].load * count) for (i, a), count in alike.items()]


NARROWEST = 100 * EDGE_TOLERANCE
"""Share of the usable width: ends of a narrower part would be taken for one."""


def refuse_misfits(parts: Sequence[Part], belt: Usable) -> None:
    """Raises ValueError naming the amount when a part fits no free stretch, or is too narrow to have two ends."""
    widest = max(b - a for a, b in belt.segments)
    tolerance = EDGE_TOLERANCE * belt.width
    for number, part in enumerate(parts, start=1):
        if part.count and part.width < NARROWEST * belt.width:
            raise ValueError(f"part {number} is no board: {part.width * 1000:g} mm wide")
        over = part.width - widest
        if part.count and over > tolerance:
            raise ValueError(
                f"part {number} is {over * 1000:.1f} mm wider than the widest free stretch of {widest * 1000:.1f} mm"
            )
