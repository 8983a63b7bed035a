"""Certified lower bounds on the peak: no plan of these parts on this belt can have less.

Each is a weighted mean of the exposure that every plan must reach, so none relies on the planner.
"""

from __future__ import annotations

from itertools import accumulate
from math import ceil, floor, fsum, gcd
from operator import mul, sub
from typing import TYPE_CHECKING

from preflight.engine.coverage import EDGE_TOLERANCE, Exposure, Strip, exposure_over

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preflight.engine.boards import Part, Usable
    from preflight.engine.lane_cells import Cells

LOAD_STEP = 1e-4
"""Loads that are whole multiples of this (0.1 mm) allow the bound to be raised to the next sum of whole boards."""
MOST_SUMS = 200_000
"""Sums of whole boards beyond this many steps are not worked out."""
MOST_POINTS = 64
"""Points tried in the closed form; more points come ever nearer to area over width."""


def least_peak_of_identical(count: int, width: float, load: float, usable: float) -> float:
    """Exact least peak of identical parts without wear: load · ⌈N / ⌊U/w⌋⌉.

    At most ⌊U/w⌋ of them lie side by side, so that many points a part's width apart share all N boards;
    ⌊U/w⌋ abutting lanes reach it. Raises ValueError when the part is wider than U.

    >>> least_peak_of_identical(200, 0.180, 1.0, 0.910)
    40.0
    """
    lanes = floor(usable / width * (1.0 + EDGE_TOLERANCE))
    if lanes < 1:
        raise ValueError(f"the part is {(width - usable) * 1000:.1f} mm wider than the usable width")
    return load * ceil(count / lanes)


def closed_form_bound(parts: Sequence[Part], usable: float) -> float:
    """Largest of Σ N·load·(⌈w(k+1)/U⌉ − 1)/k over k, and of area over width; one free stretch of width U, no wear.

    k points U/(k+1) apart: wherever a board of width w lies, it passes over at least ⌈w(k+1)/U⌉ − 1 of them.

    >>> from preflight.engine.boards import Part
    >>> closed_form_bound([Part(0.6, 1.0, 10)], 0.9)   # wider than half: all pass over the middle
    10.0
    """
    best = fsum(p.count * p.load * p.width for p in parts) / usable
    for k in range(1, MOST_POINTS + 1):
        # The small amount off makes rounding lower the bound, never raise it.
        hits = fsum(p.count * p.load * max(0, ceil(p.width * (k + 1) / usable - EDGE_TOLERANCE) - 1) for p in parts)
        best = max(best, hits / k)
    return best


def price_bound(
    parts: Sequence[Part], cells: Cells, prices: Sequence[float], marked: bool, segments: Sequence[tuple[float, float]]
) -> float:
    """Σ π·wear + Σ N·load·(cheapest place), π = prices / Σ prices: weak duality of the linear programme.

    Any prices that are not negative, one a cell, give a valid bound: every board pays at least the cheapest
    place, and the peak is at least any weighted mean of the exposure. With `marked` places only those count;
    otherwise all places in the segments (m from the usable left end) do.
    """
    total = fsum(prices)
    if not total > 0.0:
        return 0.0
    paid = fsum(map(mul, prices, cells.mean_floor))
    for part, cheapest in zip(parts, cheapest_places(parts, cells, prices, marked, segments), strict=True):
        paid += part.count * part.load * cheapest
    return paid / total * (1.0 - EDGE_TOLERANCE)


def cheapest_places(
    parts: Sequence[Part], cells: Cells, prices: Sequence[float], marked: bool, segments: Sequence[tuple[float, float]]
) -> list[float]:
    """Least price of a place for each part, 0 for a part without boards; arguments as in `price_bound`."""
    running = list(accumulate(prices, initial=0.0))
    found = []
    for part, window in zip(parts, cells.windows, strict=True):
        if not part.count:
            found.append(0.0)
        elif marked or cells.lossless:
            found.append(max(0.0, min(map(sub, window.take_ends(running), window.take_starts(running)))))
        else:
            found.append(max(0.0, _cheapest_anywhere(part.width, cells, running, segments)))
    return found


def _cheapest_anywhere(
    width: float, cells: Cells, running: Sequence[float], segments: Sequence[tuple[float, float]]
) -> float:
    """Least price of a part's width over all places: prices are even in each cell, so one end lies on a cell's."""
    rights = [a + d for a, d in zip(cells.lefts, cells.widths, strict=True)]
    best = float("inf")
    for s, t in segments:
        if t - s < width * (1.0 - EDGE_TOLERANCE):
            continue
        inside = [i for i, a in enumerate(cells.lefts) if s - 1e-9 <= a and rights[i] <= t + 1e-9]
        xs = [s, *(rights[i] for i in inside)]
        ys = [running[inside[0]], *(running[i + 1] for i in inside)]
        shifted = _interpolated([min(t, x + width) for x in xs if x + width <= t + 1e-9], xs, ys)
        best = min([best, *(b - a for a, b in zip(ys, shifted, strict=False))])
        back = [(x, y) for x, y in zip(xs, ys, strict=True) if x - width >= s - 1e-9]
        before = _interpolated([max(s, x - width) for x, _ in back], xs, ys)
        best = min([best, *(y - b for (_, y), b in zip(back, before, strict=True))])
    return best


def _interpolated(points: Iterable[float], xs: Sequence[float], ys: Sequence[float]) -> list[float]:
    """Values at rising points of the line through (xs, ys)."""
    out, i = [], 0
    for x in points:
        while i < len(xs) - 2 and xs[i + 1] < x:
            i += 1
        share = (x - xs[i]) / (xs[i + 1] - xs[i])
        out.append(ys[i] + min(1.0, max(0.0, share)) * (ys[i + 1] - ys[i]))
    return out


def next_whole(bound: float, parts: Sequence[Part], wear: Exposure) -> float:
    """Least peak not below `bound` that whole boards on some strip of the wear map can add up to.

    Only raises the bound where all loads are whole multiples of 0.1 mm; returns it unchanged otherwise.

    >>> from preflight.engine.boards import Part
    >>> wear = exposure_over([], [(0.0, 1.0)])
    >>> round(next_whole(2.3, [Part(0.4, 0.7, 4), Part(0.2, 1.1, 2)], wear), 6)   # 2.5 = 2 x 0.7 + 1.1
    2.5
    """
    fed = [p for p in parts if p.count]
    units = [round(p.load / LOAD_STEP) for p in fed]
    if any(abs(u * LOAD_STEP - p.load) > 1e-9 for u, p in zip(units, fed, strict=True)) or not fed:
        return bound
    measure = gcd(*units)
    step = measure * LOAD_STEP
    units = [u // measure for u in units]
    highest = ceil(bound / step) + max(units)
    if highest > MOST_SUMS:
        return bound
    sums = sums_of_boards(units, [p.count for p in fed], highest)
    best = float("inf")
    for level in {s.exposure for s in wear.strips}:
        need = max(0, ceil((bound - level) / step - 1e-6))
        above = sums >> need
        if above:
            reached = need + (above & -above).bit_length() - 1
            best = min(best, level + reached * step)
    return max(bound, best) if best < float("inf") else bound


def sums_of_boards(units: Sequence[int], counts: Sequence[int], highest: int) -> int:
    """Bit n is set where some boards add up to n units."""
    mask = (1 << (highest + 1)) - 1
    sums = 1
    for unit, count in zip(units, counts, strict=True):
        left, step = count, 1
        while left > 0 and unit * step <= highest:
            step = min(step, left)
            sums |= (sums << (unit * step)) & mask
            left -= step
            step *= 2
        # Steps beyond the highest sum cannot matter.
    return sums


def wear_bound(parts: Sequence[Part], belt: Usable, wear: Sequence[Strip] = ()) -> float:
    """The bound that needs no search: the highest wear, the closed form, and area over width on this wear map."""
    over = exposure_over(wear, belt.segments)
    area = over.total + fsum(p.count * p.load * p.width for p in parts)
    best = max(over.peak, area / over.width * (1.0 - EDGE_TOLERANCE))
    if len(belt.segments) == 1:
        a, b = belt.segments[0]
        best = max(best, closed_form_bound(parts, b - a))
    return best
