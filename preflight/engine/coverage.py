"""Exposure over the width: how much wood has passed each strip of the belt.

Every figure of the feed plan and the wear map is read from an `Exposure`, found exactly by sweeping the
ends of the strips; nothing is sampled.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from math import fsum, isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

EDGE_TOLERANCE = 1e-9
"""Ends nearer to each other than this share of the width are one end."""


@dataclass(frozen=True)
class Strip:
    """One strip of the width and what has passed it. Raises ValueError on an empty or negative strip."""

    start: float
    """Left end, m."""
    end: float
    """Right end, m."""
    exposure: float
    """Length of wood passed, m (times the weight of removal and density, if weighted)."""

    def __post_init__(self) -> None:
        if not (isfinite(self.start) and isfinite(self.end) and self.end > self.start):
            raise ValueError(f"a strip must end right of its start: {self.start} to {self.end} m")
        if not (isfinite(self.exposure) and self.exposure >= 0.0):
            raise ValueError(f"exposure cannot be negative or unknown: {self.exposure}")

    @property
    def width(self) -> float:
        """Width of the strip, m."""
        return self.end - self.start


@dataclass(frozen=True)
class Exposure:
    """Piecewise-constant exposure over the usable width, left to right; neighbours differ."""

    strips: tuple[Strip, ...]

    @property
    def width(self) -> float:
        """Width looked at, m."""
        return fsum(s.width for s in self.strips)

    @property
    def total(self) -> float:
        """Area passed: exposure integrated over the width, m² (times weight)."""
        return fsum(s.width * s.exposure for s in self.strips)

    @property
    def peak(self) -> float:
        """Exposure of the most-used strip."""
        return max(s.exposure for s in self.strips)

    @property
    def lowest(self) -> float:
        """Exposure of the least-used strip."""
        return min(s.exposure for s in self.strips)

    @property
    def mean(self) -> float:
        """Mean exposure over the width."""
        return self.total / self.width

    @property
    def variation(self) -> float:
        """Standard deviation of the exposure over the width."""
        mean = self.mean
        variance = fsum(s.width * (s.exposure - mean) ** 2 for s in self.strips) / self.width
        return float(variance**0.5)

    @property
    def mean_over_peak(self) -> float:
        """Mean / most-used strip, 0 to 1; 1 where nothing has passed yet."""
        return min(1.0, self.mean / self.peak) if self.peak > 0.0 else 1.0

    @property
    def lowest_over_peak(self) -> float:
        """Least-used / most-used strip, 0 to 1; 1 where nothing has passed yet."""
        return self.lowest / self.peak if self.peak > 0.0 else 1.0

    @property
    def unused_width(self) -> float:
        """Width that nothing has passed, m."""
        return fsum(s.width for s in self.strips if s.exposure == 0.0)

    def bars(self, count: int) -> tuple[float, ...]:
        """Mean exposure in each of `count` equal bars across the whole span; a bar without usable width is 0."""
        if count < 1:
            raise ValueError("at least one bar")
        left, right = self.strips[0].start, self.strips[-1].end
        step = (right - left) / count
        bars = []
        for i in range(count):
            a, b = left + i * step, left + (i + 1) * step
            parts = [(min(b, s.end) - max(a, s.start), s.exposure) for s in self.strips]
            inside = [(w, e) for w, e in parts if w > 0.0]
            width = fsum(w for w, _ in inside)
            bars.append(fsum(w * e for w, e in inside) / width if width > 0.0 else 0.0)
        return tuple(bars)


def exposure_over(loads: Iterable[Strip], segments: Sequence[tuple[float, float]]) -> Exposure:
    """Sum of all loads at every point of the given segments (left to right, apart from each other, m).

    Exact up to rounding: the ends are swept, and ends nearer than 1e-9 of the span are merged. Loads outside
    the segments do not count. Raises ValueError when no segment has any width.

    >>> profile = exposure_over([Strip(0.0, 0.6, 2.0), Strip(0.4, 1.0, 1.0)], [(0.0, 1.0)])
    >>> [(s.start, s.end, s.exposure) for s in profile.strips]
    [(0.0, 0.4, 2.0), (0.4, 0.6, 3.0), (0.6, 1.0, 1.0)]
    """
    loads = list(loads)
    if not segments or any(b <= a for a, b in segments):
        raise ValueError("the usable width is nothing: check belt width, margins and keep-off strips")
    tolerance = EDGE_TOLERANCE * (segments[-1][1] - segments[0][0])
    segment_ends = sorted(x for segment in segments for x in segment)
    ends = merged_ends([*segment_ends, *(x for s in loads for x in (s.start, s.end))], tolerance, segment_ends)

    def place(x: float) -> int:
        return min(bisect_left(ends, x - 2.0 * tolerance), len(ends) - 1)

    # Adding and taking off floats in turn leaves dust (0.1 + 0.2 - 0.1 - 0.2 != 0), so the sweep keeps counts
    # per distinct exposure and multiplies once.
    begins: list[dict[float, int]] = [{} for _ in ends]
    for load in loads:
        a, b = place(load.start), place(load.end)
        if a < b:
            begins[a][load.exposure] = begins[a].get(load.exposure, 0) + 1
            begins[b][load.exposure] = begins[b].get(load.exposure, 0) - 1
    strips: list[Strip] = []
    running: dict[float, int] = {}
    inside = [(place(a), place(b)) for a, b in segments]
    for i in range(len(ends) - 1):
        for amount, change in begins[i].items():
            running[amount] = running.get(amount, 0) + change
            if not running[amount]:
                del running[amount]
        if any(a <= i < b for a, b in inside):
            exposure = fsum(amount * count for amount, count in running.items())
            last = strips[-1] if strips else None
            if last is not None and last.end == ends[i] and last.exposure == exposure:
                strips[-1] = Strip(last.start, ends[i + 1], exposure)
            else:
                strips.append(Strip(ends[i], ends[i + 1], exposure))
    return Exposure(tuple(strips))


def merged_ends(ends: Iterable[float], tolerance: float, keep: Iterable[float] = ()) -> list[float]:
    """Sorted ends, those nearer than `tolerance` to their left neighbour dropped; `keep` wins over others."""
    kept = set(keep)
    out: list[float] = []
    for x in sorted(set(ends)):
        if out and x - out[-1] <= tolerance:
            if x in kept and out[-1] not in kept:
                out[-1] = x
        else:
            out.append(x)
    return out
