"""The width cut into cells, and the left edges each part may take: the ground the feed planner searches on.

All in metres from the left end of the usable width. Cells of keep-off strips are left out.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import gcd
from operator import itemgetter
from typing import TYPE_CHECKING

from preflight.engine.coverage import EDGE_TOLERANCE, Exposure, merged_ends

if TYPE_CHECKING:
    from preflight.engine.boards import Part, Usable

LATTICE_STEP = 1e-4
"""Sizes that are whole multiples of this (0.1 mm) may be put on a common lattice, m."""
MOST_CELLS = 240
"""A lattice finer than this many cells is given up for sums of part widths."""
MOST_SUMS = 90
"""Left edges kept per part and side when sums of part widths are used."""

MOST_STRIPS = 600
"""Strips of wear up to which every one has cells of its own; a map of 10 mm strips never has so many."""


class NoMarkFreeError(ValueError):
    """A part that fits none of the marked places; it may fit elsewhere."""


Take = Callable[[Sequence[float]], tuple[float, ...]]


@dataclass(frozen=True)
class Window:
    """The left edges one part may take, and the cells it then covers."""

    lefts: tuple[float, ...]
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    reaches: tuple[int, ...]
    """Where the next board abreast may start: the cell after this part and the gap."""
    take_starts: Take
    """Values at the starts, out of a list with one value an edge."""
    take_ends: Take
    take_reaches: Take


@dataclass(frozen=True)
class Cells:
    """Open cells left to right, with prior wear, and one window of places a part."""

    lefts: tuple[float, ...]
    """Left ends, m."""
    widths: tuple[float, ...]
    floor: tuple[float, ...]
    """Highest prior wear in each cell: what the peak is judged by."""
    mean_floor: tuple[float, ...]
    """Mean prior wear in each cell: what a bound may use."""
    windows: tuple[Window, ...]
    lossless: bool
    """No continuous plan can have a lower peak than the best plan on these cells."""


def cells_of(
    parts: Sequence[Part],
    belt: Usable,
    wear: Exposure,
    places: int | None = None,
    gap: float = 0.0,
    extra: Sequence[Sequence[float]] = (),
) -> Cells:
    """Cells and windows. `extra` adds left edges (m from the usable left end) a part; all parts must fit."""
    tolerance = EDGE_TOLERANCE * belt.width

    def snap(x: float) -> float:
        # Rounding to the tolerance makes a job and its mirror image give the very same cells.
        return round((x - belt.left) / tolerance) * tolerance

    segments = [(snap(a), snap(b)) for a, b in belt.segments]
    wear_ends = merged_ends((snap(x) for s in wear.strips for x in (s.start, s.end)), tolerance)
    anchors = sorted({x for segment in segments for x in segment} | set(wear_ends))
    lossless = False
    lists: list[list[float]]
    if places is not None:
        lists = [marked_lefts(part.width, belt.width, places) for part in parts]
    else:
        lattice = _lattice(parts, segments, anchors, tolerance)
        if lattice is not None:
            lists = [lattice for _ in parts]
            lossless = True
        else:
            lists = [_sums(part, parts, anchors) for part in parts]
    chosen = []
    for i, part in enumerate(parts):
        more = extra[i] if i < len(extra) else ()
        lefts = _fitting([*lists[i], *more], part.width, segments, tolerance, with_ends=places is None)
        if part.count and not lefts:
            raise NoMarkFreeError(f"no marked place is free of keep-off strips for part {i + 1}")
        chosen.append(lefts)
    return _cut(parts, chosen, segments, wear, belt.left, tolerance, gap, lossless)


def marked_lefts(width: float, usable: float, count: int) -> list[float]:
    """Left edges of `count` places spread evenly from hard left to hard right, m from the usable left end.

    >>> [round(x, 4) for x in marked_lefts(0.18, 0.91, 5)]
    [0.0, 0.1825, 0.365, 0.5475, 0.73]
    """
    if count < 1:
        raise ValueError(f"a machine has at least one place, not {count}")
    slack = max(0.0, usable - width)
    if count == 1:
        return [slack / 2.0]
    return [slack * i / (count - 1) for i in range(count)]


def _lattice(
    parts: Sequence[Part], segments: Sequence[tuple[float, float]], anchors: Sequence[float], tolerance: float
) -> list[float] | None:
    """Multiples of the greatest common measure of all sizes, if it is coarse enough."""
    measure = 0
    for value in (*(p.width for p in parts), *anchors):
        units = round(value / LATTICE_STEP)
        if abs(units * LATTICE_STEP - value) > tolerance:
            return None
        measure = gcd(measure, units)
    end = round(segments[-1][1] / LATTICE_STEP)
    if measure == 0 or end // measure > MOST_CELLS:
        return None
    return [i * measure * LATTICE_STEP for i in range(end // measure + 1)]


def _sums(part: Part, parts: Sequence[Part], anchors: Sequence[float]) -> list[float]:
    """Left edges pushed against an anchor by other parts, from the left and from the right, fewest parts first."""
    widths = sorted({p.width for p in parts})
    reach = anchors[-1] - anchors[0]
    sums: dict[float, None] = {0.0: None}
    layer = [0.0]
    while layer and len(sums) < MOST_SUMS:
        layer = [s + w for s in layer for w in widths if s + w <= reach and round(s + w, 9) not in sums]
        sums.update(dict.fromkeys(round(s, 9) for s in layer))
    # Far more anchors than a person's wear map has would drown the search: the nearest sums go first.
    each = max(1, MOST_SUMS // max(1, len(anchors) - 1))
    few = list(sums)[: max(each, 1 if len(anchors) > 2 else MOST_SUMS)]
    ends = (anchors[0], anchors[-1])
    lefts = [a + s for a in anchors for s in few] + [a - part.width - s for a in anchors for s in few]
    for s in sums:
        lefts += [ends[0] + s, ends[1] - part.width - s]
    return lefts


def _fitting(
    lefts: Iterable[float],
    width: float,
    segments: Sequence[tuple[float, float]],
    tolerance: float,
    with_ends: bool,
) -> list[float]:
    """Those left edges that keep the part inside one segment, with the segments' own ends where asked."""
    room = [(a, b - width) for a, b in segments if b - a - width >= -tolerance]
    ends = [x for a, b in room for x in (a, max(a, b))] if with_ends else []
    inside = [x for x in lefts if any(a - tolerance <= x <= b + tolerance for a, b in room)]
    return merged_ends([*ends, *inside], 2.0 * tolerance, ends)


def _cut(
    parts: Sequence[Part],
    chosen: Sequence[Sequence[float]],
    segments: Sequence[tuple[float, float]],
    wear: Exposure,
    left: float,
    tolerance: float,
    gap: float,
    lossless: bool,
) -> Cells:
    fixed = [x for segment in segments for x in segment]
    cuts = [x for part, lefts in zip(parts, chosen, strict=True) for x0 in lefts for x in (x0, x0 + part.width)]
    if len(wear.strips) <= MOST_STRIPS:
        cuts += [x - left for s in wear.strips for x in (s.start, s.end)]
    edges = merged_ends([*fixed, *cuts], 4.0 * tolerance, fixed)
    spans = [(a, b) for a, b in pairwise(edges) if any(s - tolerance <= a and b <= t + tolerance for s, t in segments)]
    tops = [b for _, b in spans]
    bottoms = [a for a, _ in spans]
    floor, mean_floor = _floors(spans, wear, left, tolerance)
    windows = []
    for part, lefts in zip(parts, chosen, strict=True):
        starts = tuple(bisect_right(tops, x + 8.0 * tolerance) for x in lefts)
        ends = tuple(bisect_left(bottoms, x + part.width - 8.0 * tolerance) for x in lefts)
        reaches = tuple(bisect_left(bottoms, x + part.width + gap - 8.0 * tolerance) for x in lefts)
        windows.append(Window(tuple(lefts), starts, ends, reaches, _take(starts), _take(ends), _take(reaches)))
    return Cells(tuple(bottoms), tuple(b - a for a, b in spans), floor, mean_floor, tuple(windows), lossless)


def _take(indices: tuple[int, ...]) -> Take:
    if not indices:
        return lambda _: ()
    if len(indices) == 1:
        only = indices[0]
        return lambda values: (values[only],)
    return itemgetter(*indices)


def _floors(
    spans: Sequence[tuple[float, float]], wear: Exposure, left: float, tolerance: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    highest, means = [], []
    strips = [(s.start - left, s.end - left, s.exposure) for s in wear.strips]
    first = 0
    for a, b in spans:
        while first < len(strips) - 1 and strips[first][1] <= a + tolerance:
            first += 1
        top, area, covered, i = 0.0, 0.0, 0.0, first
        while i < len(strips) and strips[i][0] < b - tolerance:
            overlap = min(b, strips[i][1]) - max(a, strips[i][0])
            if overlap > tolerance:
                top = max(top, strips[i][2])
                area += overlap * strips[i][2]
                covered += overlap
            i += 1
        highest.append(top)
        means.append(min(top, area / covered) if covered else 0.0)
    return tuple(highest), tuple(means)
