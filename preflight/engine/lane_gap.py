"""Closing the gap between bound and peak of a job of few boards: a better plan, or the proof that there is none."""

from __future__ import annotations

from bisect import bisect_left
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from preflight.engine.boards import Placement, loads_of
from preflight.engine.coverage import EDGE_TOLERANCE, Exposure, exposure_over, merged_ends
from preflight.engine.lane_packing import FIRST, Ground, packed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preflight.engine.boards import Part, Usable
    from preflight.engine.lane_cells import Cells
    from preflight.engine.lane_packing import Lying

BELOW = 1.5 * EDGE_TOLERANCE
"""A peak lower by more than this share is a lower one."""


def close_gap(
    parts: Sequence[Part],
    belt: Usable,
    before: Exposure,
    ground: Ground,
    bound: float,
    peak: float,
    tries: int,
    next_level: Callable[[float], float],
) -> tuple[tuple[Lying, ...] | None, float]:
    """The best plan found below the peak (None: none), and the bound that is proven; they meet if the tries suffice.

    `next_level` raises a bound to the next exposure that whole boards can add up to. A hair below the peak is asked
    in every other turn: that it does not fit is what proves most plans. In between the gap is halved. Half of the
    tries that are left go to each question.
    """
    best: tuple[Lying, ...] | None = None
    turn = 0
    while tries > 1 and bound < peak * (1.0 - EDGE_TOLERANCE):
        below = turn % 2 == 0
        ceiling = peak * (1.0 - BELOW) if below else bound if turn == 1 else (bound + peak) / 2.0
        for first in FIRST if below else FIRST[:1]:
            found = packed(parts, ground, ceiling, tries // 2, first)
            tries -= max(1, found.tries)
            if not found.ran_out:
                break
        if found.boards is not None:
            loads = loads_of(parts, [Placement(part, belt.left + left, 0) for part, left in found.boards])
            reached = exposure_over([*before.strips, *loads], belt.segments).peak
            if reached >= peak:  # it fits by the search's roundings only
                break
            best, peak = found.boards, reached
        elif found.ran_out and below:
            break
        elif not found.ran_out:
            bound = peak * (1.0 - EDGE_TOLERANCE) if below else max(bound, next_level(ceiling))
        turn += 1
    return best, bound


def ground_of(
    belt: Usable, before: Exposure, cells: Cells, prices: Sequence[float], cheapest: Sequence[float], marked: bool
) -> Ground:
    """What boards are packed on: the wear map as it is, and prices by cell."""
    tolerance = 2.0 * EDGE_TOLERANCE * belt.width
    strips = [(s.start - belt.left, s.end - belt.left, s.exposure) for s in before.strips]
    ends = [0.0, belt.width, *(x for a, b, _ in strips for x in (a, b))]
    starts = [x for window in cells.windows for x in window.lefts] if marked else []
    edges = merged_ends([*ends, *starts], tolerance, ends)
    marks = None
    if marked:  # a mark so near to another edge that they are one is that edge
        marks = tuple(frozenset(_nearest(edges, x) for x in window.lefts) for window in cells.windows)
    wear: list[float | None] = []
    for a, b in pairwise(edges):
        middle = (a + b) / 2.0
        wear.append(next((u for start, end, u in strips if start <= middle <= end), None))
    priced = [(0.0, 0.0)]
    for a, d, paid in zip(cells.lefts, cells.widths, accumulate(prices), strict=True):
        if a - priced[-1][0] > tolerance:
            priced.append((a, priced[-1][1]))
        priced.append((a + d, paid))
    return Ground(tuple(edges), tuple(wear), tuple(priced), tuple(cheapest), marks)


def _nearest(edges: Sequence[float], x: float) -> float:
    at = bisect_left(edges, x)
    return min(edges[max(0, at - 1) : at + 1], key=lambda edge: abs(edge - x))
