"""Speed of the feed plan: against one HiGHS call on the same cells, growth in boards, planning anew after a tally.

Run as `python -m tests.bench.bench_feed`. Prints ratios and never fails on a clock.
"""

from __future__ import annotations

import itertools
from functools import partial
from random import Random
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array

from preflight.engine.boards import Part, Placement, Usable
from preflight.engine.coverage import Strip
from preflight.engine.lanes import plan, replan

if TYPE_CHECKING:
    from collections.abc import Callable

TARGET = 8.0


def worn_job(cells: int, boards: int, seed: int) -> tuple[list[Part], Usable, list[Strip], float]:
    """Five sizes on a worn belt of so many cells."""
    random = Random(seed)
    step = 0.910 / cells
    widths = [max(1, round(w / step)) * step for w in (0.10, 0.18, 0.25, 0.30, 0.42)]
    parts = [Part(w, length, boards // 5) for w, length in zip(widths, (0.7, 0.9, 1.1, 0.6, 1.5), strict=True)]
    edges = sorted({0, cells, *(random.randrange(1, cells) for _ in range(18))})
    height = 0.25 * sum(p.count * p.length * p.width for p in parts) / 0.910
    wear = [Strip(a * step, b * step, random.uniform(0.0, height)) for a, b in itertools.pairwise(edges)]
    return parts, Usable(0.910), wear, step


def linear_programme(parts: list[Part], wear: list[Strip], cells: int, step: float) -> Callable[[], float]:
    """The built programme; calling it solves it once and gives its peak."""
    floor = np.zeros(cells)
    for strip in wear:
        floor[round(strip.start / step) : round(strip.end / step)] += strip.exposure
    row: list[int] = []
    column: list[int] = []
    value: list[float] = []
    size: list[int] = []
    for i, part in enumerate(parts):
        wide = round(part.width / step)
        for left in range(cells - wide + 1):
            row += range(left, left + wide)
            column += [len(size)] * wide
            value += [part.length] * wide
            size.append(i)
    columns = len(size)
    row += range(cells)
    column += [columns] * cells
    value += [-1.0] * cells
    covered = csr_array((value, (row, column)), shape=(cells, columns + 1))
    placed = csr_array((np.ones(columns), (size, np.arange(columns))), shape=(len(parts), columns + 1))
    cost = np.zeros(columns + 1)
    cost[-1] = 1.0
    counts = [float(p.count) for p in parts]

    def solve() -> float:
        result = linprog(cost, A_ub=covered, b_ub=-floor, A_eq=placed, b_eq=counts, method="highs")
        return float(result.fun)

    return solve


def best_of(times: int, work: Callable[[], object]) -> float:
    """Shortest of several runs, s."""
    shortest = float("inf")
    for _ in range(times):
        start = perf_counter()
        work()
        shortest = min(shortest, perf_counter() - start)
    return shortest


def against_one_linear_programme() -> None:
    for cells in (50, 91, 100, 1000):
        ratios, shares = [], []
        for seed in range(5 if cells <= 100 else 2):
            parts, belt, wear, step = worn_job(cells, 500, seed)
            solve = linear_programme(parts, wear, cells, step)
            solver = best_of(3, solve)
            planner = best_of(3, partial(plan, parts, belt, wear))
            found = plan(parts, belt, wear)
            ratios.append(planner / solver)
            shares.append(solve() / found.peak)
        middle = sorted(ratios)[len(ratios) // 2]
        mark = "" if cells > 100 else f", target at most {TARGET:g}"
        print(
            f"{cells:5d} cells, 500 boards of 5 sizes: plan / linprog = {middle:.2f} "
            f"({min(ratios):.2f} to {max(ratios):.2f}{mark}), linear peak / plan peak >= {min(shares):.4f}"
        )


def growth_in_boards() -> None:
    before = 0.0
    for boards in (125, 250, 500, 1000, 2000, 4000):
        parts, belt, wear, _ = worn_job(91, boards, 1)
        time = best_of(3, partial(plan, parts, belt, wear))
        grown = f", {time / before:.2f} times the row before" if before else ""
        print(f"{boards:5d} boards: {time * 1e3:6.1f} ms{grown}")
        before = time


def anew_after_one_tally() -> None:
    parts, belt, wear, _ = worn_job(91, 500, 1)
    for places in (None, 10):
        first = plan(parts, belt, wear, places=places)
        fed = [Placement(p.part, p.left_edge, 0) for p in first.rows[0]]
        time = best_of(5, partial(replan, parts, belt, fed, first, wear, places))
        print(f"re-plan of 500 boards after one tally, {places or 'free'} places: {time * 1e3:.1f} ms (target 50 ms)")


if __name__ == "__main__":
    against_one_linear_programme()
    growth_in_boards()
    anew_after_one_tally()
