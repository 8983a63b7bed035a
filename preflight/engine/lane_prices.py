"""Prices of the strips that prove a high lower bound: the dual of the feed plan's linear programme.

Maximise Σ wear·π + Σ D·t with t(part) at most the price of each of its places and Σ π = 1. Places are added
as they are found too cheap; whatever prices come out, `price_bound` turns them into a valid bound.
"""

from __future__ import annotations

from itertools import accumulate
from operator import add, sub
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preflight.engine.boards import Part
    from preflight.engine.lane_cells import Cells

CLOSE = 0.998
"""A bound this near to the programme's own value is not worth another round."""
Place = tuple[int, int]
"""Part and index of its left edge."""
Variable = tuple[str, int]
"""Kind ("price" of a cell, "worth" of a part, "slack" of a place, "rest" of the prices' sum) and number."""


def proving_prices(
    parts: Sequence[Part],
    cells: Cells,
    used: Sequence[Place],
    active: Sequence[int],
    rounds: int,
    judge: Callable[[Sequence[float]], float],
) -> tuple[float, list[float], dict[Place, float]]:
    """Best bound (by `judge`, a function of one price a cell) over some rounds of the dual programme, the prices that
    prove it, and the exposure the last round wants at each place, in parts of boards.

    `used` are the places of a good plan, `active` the cells near its peak: only those get a price.
    """
    members = [i for i, p in enumerate(parts) if p.count]
    programme = _Programme(parts, cells, members, active)
    for place in used:
        programme.add(place)
    best = 0.0
    best_prices: list[float] = []
    wanted: dict[Place, float] = {}
    for _ in range(rounds):
        prices, worth, wanted, value = programme.solve()
        bound = judge(prices)
        if bound > best:
            best, best_prices = bound, prices
        running = [0.0, *accumulate(prices)]
        new = programme.activate(wanted, value)
        if not new and best >= value * CLOSE:
            break
        for part in members:
            window = cells.windows[part]
            cost = list(map(sub, window.take_ends(running), window.take_starts(running)))
            # Not only the cheapest: neighbours of it would follow one by one, a round each.
            order = sorted((c, i) for i, c in enumerate(cost) if c < worth[part] - 1e-7)
            taken: list[int] = []
            for _, i in order:
                if all(abs(i - j) > 2 for j in taken):
                    taken.append(i)
                    new |= programme.add((part, i))
                if len(taken) == 4:
                    break
        if not new:
            break
    return best, best_prices, wanted


class _Programme:
    """The programme so far as a dense simplex table. It starts at the origin, which is always feasible; places and
    cells that come later are worked into the table, so that each round goes on from the last one's prices."""

    def __init__(self, parts: Sequence[Part], cells: Cells, members: Sequence[int], active: Sequence[int]) -> None:
        self._cells = cells
        self._nonbasic: list[Variable] = [*(("price", c) for c in active), *(("worth", i) for i in members)]
        demand = (parts[i].count * parts[i].load for i in members)
        self._gain = [*(cells.mean_floor[c] for c in active), *demand, 0.0]
        """What a unit of each variable out of the basis adds; last the negative of the value."""
        self._table = [[*(1.0 for _ in active), *(0.0 for _ in members), 1.0]]
        """One row a variable in the basis, its value last."""
        self._basic: list[Variable] = [("rest", 0)]
        self._places: dict[Place, None] = {}
        self._priced = set(active)
        self._new_cells: list[int] = []

    def add(self, place: Place) -> bool:
        """Take a place in, dearer than its part's worth from now on; False when it is in already."""
        if place in self._places:
            return False
        part, at = place
        window = self._cells.windows[part]
        a, b = window.starts[at], window.ends[at]
        # The right side is 0; tiny different amounts keep the simplex from circling.
        row = [0.0] * len(self._nonbasic) + [1e-7 * (1.0 + (len(self._places) * 0.618) % 1.0)]
        for j, (kind, i) in enumerate(self._nonbasic):
            row[j] = self._share(kind, i, part, a, b)
        for (kind, i), other in zip(self._basic, self._table, strict=True):
            share = self._share(kind, i, part, a, b)
            if share:
                row = list(map(sub, row, other)) if share > 0.0 else list(map(add, row, other))
        self._places[place] = None
        self._basic.append(("slack", len(self._places) - 1))
        self._table.append(row)
        return True

    @staticmethod
    def _share(kind: str, i: int, part: int, start: int, end: int) -> float:
        """Worth less the prices of the cells: what each variable has in the row of a place."""
        if kind == "price":
            return -1.0 if start <= i < end else 0.0
        return 1.0 if kind == "worth" and i == part else 0.0

    def activate(self, wanted: dict[Place, float], value: float) -> bool:
        """Give a price to the cells that the wanted exposure lifts above the value; False when there are none."""
        change = [0.0] * (len(self._cells.widths) + 1)
        for (part, place), exposure in wanted.items():
            change[self._cells.windows[part].starts[place]] += exposure
            change[self._cells.windows[part].ends[place]] -= exposure
        exposures = map(add, accumulate(change), self._cells.mean_floor)
        over = [c for c, u in enumerate(exposures) if u > value * (1.0 + 1e-6) and c not in self._priced]
        self._new_cells += over
        self._priced.update(over)
        return bool(over)

    def _add_cell(self, cell: int) -> None:
        """A price for one more cell: its column is a sum of those of the rows it stands in."""
        column_of = {variable: j for j, variable in enumerate(self._nonbasic)}
        row_of = {variable: i for i, variable in enumerate(self._basic)}
        column, gain = [0.0] * len(self._table), self._cells.mean_floor[cell]
        shares: list[tuple[Variable, float]] = [(("rest", 0), 1.0)]
        for n, (part, at) in enumerate(self._places):
            window = self._cells.windows[part]
            if window.starts[at] <= cell < window.ends[at]:
                shares.append((("slack", n), -1.0))
        for variable, share in shares:
            j = column_of.get(variable)
            if j is None:
                column[row_of[variable]] += share
            else:
                column = [x + share * row[j] for x, row in zip(column, self._table, strict=True)]
                gain += share * self._gain[j]
        self._nonbasic.append(("price", cell))
        self._gain.insert(-1, gain)
        for row, x in zip(self._table, column, strict=True):
            row.insert(-1, x)

    def solve(self) -> tuple[list[float], dict[int, float], dict[Place, float], float]:
        """Prices of all cells, the worth of each part, the exposure wanted at each place, and the value."""
        most = 6 * len(self._table)
        for _ in range(most):
            if not self._make_feasible():
                break
        for cell in self._new_cells:
            self._add_cell(cell)
        self._new_cells.clear()
        for _ in range(most):
            if not self._improve():
                break
        prices = [0.0] * len(self._cells.widths)
        worth = {i: 0.0 for kind, i in self._nonbasic if kind == "worth"}
        for (kind, i), row in zip(self._basic, self._table, strict=True):
            if kind == "price":
                prices[i] = max(0.0, row[-1])
            elif kind == "worth":
                worth[i] = max(0.0, row[-1])
        places = list(self._places)
        wanted = {
            places[i]: -gain
            for (kind, i), gain in zip(self._nonbasic, self._gain[:-1], strict=True)
            if kind == "slack" and gain < -1e-9
        }
        return prices, worth, wanted, -self._gain[-1]

    def _make_feasible(self) -> bool:
        """One step of the dual simplex: places taken in since are not cheaper than allowed; False when none is."""
        leave = min(range(len(self._table)), key=lambda i: self._table[i][-1])
        row = self._table[leave]
        if row[-1] >= -1e-9:
            return False
        enter = min(
            (j for j, x in enumerate(row[:-1]) if x < -1e-9), key=lambda j: self._gain[j] / row[j], default=None
        )
        if enter is None:
            return False
        self._pivot(leave, enter)
        return True

    def _improve(self) -> bool:
        """One step of the simplex; False at the optimum."""
        enter = max(range(len(self._nonbasic)), key=self._gain.__getitem__)
        if self._gain[enter] <= 1e-9 * max(1.0, abs(self._gain[-1])):
            return False
        leave, least = -1, float("inf")
        for i, row in enumerate(self._table):
            if row[enter] > 1e-9 and row[-1] / row[enter] < least:
                leave, least = i, row[-1] / row[enter]
        if leave < 0:
            return False
        self._pivot(leave, enter)
        return True

    def _pivot(self, leave: int, enter: int) -> None:
        table = self._table
        pivot_row = table[leave]
        pivot = pivot_row[enter]
        pivot_row[enter] = 1.0
        table[leave] = pivot_row = [x / pivot for x in pivot_row]
        # Early pivot rows are mostly 0: then only the few others are touched.
        few = [(j, y) for j, y in enumerate(pivot_row) if y]
        sparse = 2 * len(few) < len(pivot_row)
        for i, row in enumerate((*table, self._gain)):
            factor = row[enter]
            if i == leave or not factor:
                continue
            row[enter] = 0.0
            if sparse:
                for j, y in few:
                    row[j] -= factor * y
            else:
                row[:] = [x - factor * y for x, y in zip(row, pivot_row)]  # noqa: B905 - one length by construction
        self._basic[leave], self._nonbasic[enter] = self._nonbasic[enter], self._basic[leave]
