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
    rows = _Rows(parts, cells, members, active)
    for place in used:
        rows.add(place)
    best = 0.0
    best_prices: list[float] = []
    wanted: dict[Place, float] = {}
    for _ in range(rounds):
        prices, worth, wanted, value = rows.solve()
        bound = judge(prices)
        if bound > best:
            best, best_prices = bound, prices
        running = [0.0, *accumulate(prices)]
        new = rows.activate(wanted, value)
        if not new and best >= value * CLOSE:
            break
        for k, part in enumerate(members):
            window = cells.windows[part]
            cost = list(map(sub, window.take_ends(running), window.take_starts(running)))
            # Not only the cheapest: neighbours of it would follow one by one, a round each.
            order = sorted((c, i) for i, c in enumerate(cost) if c < worth[k] - 1e-7)
            taken: list[int] = []
            for _, i in order:
                if all(abs(i - j) > 2 for j in taken):
                    taken.append(i)
                    new |= rows.add((part, i))
                if len(taken) == 4:
                    break
        if not new:
            break
    return best, best_prices, wanted


class _Rows:
    """The programme so far: one row a place, then a dense simplex from the origin, which is always feasible."""

    def __init__(self, parts: Sequence[Part], cells: Cells, members: Sequence[int], active: Sequence[int]) -> None:
        self._cells = cells
        self._active = list(active)
        self._members = list(members)
        self._demand = [parts[i].count * parts[i].load for i in members]
        self._places: dict[Place, None] = {}

    def add(self, place: Place) -> bool:
        """Take a place in; False when it is in already."""
        if place in self._places:
            return False
        self._places[place] = None
        return True

    def activate(self, wanted: dict[Place, float], value: float) -> bool:
        """Give a price to the cells that the wanted exposure lifts above the value; False when there are none."""
        change = [0.0] * (len(self._cells.widths) + 1)
        for (part, place), exposure in wanted.items():
            change[self._cells.windows[part].starts[place]] += exposure
            change[self._cells.windows[part].ends[place]] -= exposure
        exposures = map(add, accumulate(change), self._cells.mean_floor)
        known = set(self._active)
        over = [c for c, u in enumerate(exposures) if u > value * (1.0 + 1e-6) and c not in known]
        self._active += over
        return bool(over)

    def _table(self) -> list[list[float]]:
        rows = []
        for i, (part, place) in enumerate(self._places):
            window = self._cells.windows[part]
            a, b = window.starts[place], window.ends[place]
            # The right side is 0 but for the last row; tiny different amounts keep the simplex from circling.
            rows.append(
                [
                    *(-1.0 if a <= c < b else 0.0 for c in self._active),
                    *(1.0 if part == member else 0.0 for member in self._members),
                    1e-7 * (1.0 + (i * 0.618) % 1.0),
                ]
            )
        rows.append([*([1.0] * len(self._active)), *([0.0] * len(self._members)), 1.0])
        return rows

    def solve(self) -> tuple[list[float], list[float], dict[Place, float], float]:
        """Prices of all cells, the worth t of each part, the exposure wanted at each place, and the value."""
        table = self._table()
        columns = len(table[0]) - 1
        basic = [columns + i for i in range(len(table))]
        nonbasic = list(range(columns))
        gain = [*(self._cells.mean_floor[c] for c in self._active), *self._demand, 0.0]
        for _ in range(6 * len(table)):
            enter = max(range(columns), key=gain.__getitem__)
            if gain[enter] <= 1e-9 * max(1.0, abs(gain[-1])):
                break
            leave = -1
            least = float("inf")
            for i, row in enumerate(table):
                if row[enter] > 1e-9 and row[-1] / row[enter] < least:
                    leave, least = i, row[-1] / row[enter]
            if leave < 0:
                break
            pivot_row = table[leave]
            pivot = pivot_row[enter]
            pivot_row[enter] = 1.0
            table[leave] = pivot_row = [x / pivot for x in pivot_row]
            # Early pivot rows are mostly 0: then only the few others are touched.
            few = [(j, y) for j, y in enumerate(pivot_row) if y]
            sparse = 2 * len(few) < len(pivot_row)
            for i, row in enumerate((*table, gain)):
                factor = row[enter]
                if i == leave or not factor:
                    continue
                row[enter] = 0.0
                if sparse:
                    for j, y in few:
                        row[j] -= factor * y
                else:
                    row[:] = [x - factor * y for x, y in zip(row, pivot_row)]  # noqa: B905 - one length by construction
            basic[leave], nonbasic[enter] = nonbasic[enter], basic[leave]
        values = [0.0] * columns
        for i, column in enumerate(basic):
            if column < columns:
                values[column] = max(0.0, table[i][-1])
        prices = [0.0] * len(self._cells.widths)
        for k, c in enumerate(self._active):
            prices[c] = values[k]
        row_of = dict(enumerate(self._places))
        wanted = {
            row_of[c - columns]: -gain[k]
            for k, c in enumerate(nonbasic)
            if c >= columns and c - columns in row_of and gain[k] < -1e-9
        }
        return prices, values[len(self._active) :], wanted, -gain[-1]
