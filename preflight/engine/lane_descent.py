"""The search behind the feed plan: boards on cells, moved one by one towards an even exposure.

Each move lowers the sum of d·exp(scale·u) over the cells (d width, u exposure), with the scale raised in
steps: at a low scale the whole profile counts, at a high one only its highest strips. A move costs one
running sum over the cells, whatever the number of boards.
"""

from __future__ import annotations

from itertools import accumulate
from math import exp, log
from operator import mul, sub
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from random import Random

    from preflight.engine.boards import Part
    from preflight.engine.lane_cells import Cells

SLACK = 1e-9
"""Exposures nearer than this share are equal."""
INFINITE = float("inf")
STEEPEST = 12.0
"""Highest scale times load: one board more or less is then a factor e^12, as far as floats keep the sums apart."""


class Descent:
    """Counts of boards per part and place, with the exposure they give. Mutable, private to one plan."""

    def __init__(self, parts: Sequence[Part], cells: Cells) -> None:
        self.parts = parts
        self.cells = cells
        self.loads = [p.load for p in parts]
        self.order = sorted(
            (i for i, p in enumerate(parts) if p.count),
            key=lambda i: (-parts[i].load * parts[i].width, i),
        )
        self.boards: list[dict[int, int]] = [{} for _ in parts]
        self.exposure: list[float] = list(cells.floor)
        self.groups = [p.thickness for p in parts]
        self.crowd: dict[float, list[int]] = {g: [0] * len(cells.widths) for g in self.groups}
        """Boards with their gap over each cell, by thickness: the highest is the number of feeds they need."""
        self.most_feeds: dict[float, int] | None = None
        """Feeds allowed, by thickness; None is no limit."""

    # state -----------------------------------------------------------------------------------------------

    def add(self, part: int, place: int, count: int) -> None:
        """Put `count` boards there (negative: take them away)."""
        window = self.cells.windows[part]
        a, b = window.starts[place], window.ends[place]
        here = self.boards[part]
        here[place] = here.get(place, 0) + count
        if here[place] == 0:
            del here[place]
        amount = self.loads[part] * count
        self.exposure[a:b] = [u + amount for u in self.exposure[a:b]]
        crowd, reach = self.crowd[self.groups[part]], window.reaches[place]
        crowd[a:reach] = [c + count for c in crowd[a:reach]]

    def restore(self, boards: Sequence[dict[int, int]]) -> None:
        """Put the boards as they stood in an earlier copy of `boards`, free of rounding left by moves."""
        self.boards = [{} for _ in self.parts]
        self.exposure = list(self.cells.floor)
        self.crowd = {g: [0] * len(self.exposure) for g in self.groups}
        for part, places in enumerate(boards):
            for place, count in sorted(places.items()):
                self.add(part, place, count)

    def copy_boards(self) -> list[dict[int, int]]:
        """A copy that later moves leave alone."""
        return [dict(places) for places in self.boards]

    @property
    def peak(self) -> float:
        """Highest exposure of any cell."""
        return max(self.exposure)

    @property
    def feeds(self) -> dict[float, int]:
        """Feeds needed, by thickness: boards abreast keep their gap."""
        return {group: max(crowd) for group, crowd in self.crowd.items()}

    @property
    def roughness(self) -> float:
        """Σ d·u²: for the same boards, least where the variation is least."""
        return float(sum(map(mul, self.cells.widths, map(mul, self.exposure, self.exposure))))

    @property
    def steepest(self) -> float:
        """Highest useful scale for these loads."""
        return STEEPEST / max((self.loads[i] for i in self.order), default=1.0)

    # building --------------------------------------------------------------------------------------------

    def fill(self, counts: Sequence[int], scale: float, chunks: int) -> bool:
        """Put the boards in one after the other (large ones first, in at most `chunks` lots a part) where the
        sum of exponentials grows least. False when the allowed feeds leave no place for one."""
        prices = self.prices(scale)
        for part in self.order:
            left = counts[part]
            lot = max(1, -(-left // chunks))
            while left > 0:
                count = min(lot, left)
                windows = self._allowed(part, self._windows(part, prices), count)
                least = min(windows)
                if least == INFINITE:
                    if count == 1:
                        return False
                    lot = 1
                    continue
                self._put(part, windows.index(least), count, prices, scale)
                left -= count
        return True

    # moving ----------------------------------------------------------------------------------------------

    def settle(self, scale: float, passes: int) -> None:
        """Move boards while that lowers the sum of exponentials, in at most `passes` rounds over the places."""
        for _ in range(passes):
            if not self._round(scale):
                return

    def _round(self, scale: float) -> bool:
        prices = self.prices(scale)
        moved = False
        for part in self.order:
            window = self.cells.windows[part]
            step = min(scale * self.loads[part], 600.0)
            worst_first = self._windows(part, prices)
            for place in sorted(self.boards[part], key=lambda p: (-worst_first[p], p)):
                a, b = window.starts[place], window.ends[place]
                lot = self.boards[part][place]
                # Half the boards at once where that fits, else fewer, down to one.
                lot = max(1, min(lot // 2, int(600.0 / step)))
                while lot and self.boards[part].get(place, 0) >= lot:
                    saved = prices[a:b]
                    factor = exp(-step * lot)
                    prices[a:b] = [e * factor for e in saved]
                    windows = self._windows(part, prices)
                    here = windows[place]
                    windows = self._allowed(part, windows, lot, place)
                    least = min(windows)
                    if least < here - 1e-6 * abs(here) and windows[place] != least:
                        self.add(part, place, -lot)
                        self._put(part, windows.index(least), lot, prices, scale)
                        moved = True
                    else:
                        prices[a:b] = saved
                        lot //= 4
        return moved

    def smooth(self, highest: float, passes: int) -> None:
        """Move boards while that lowers Σ d·u² and keeps every covered cell at or below `highest`."""
        for _ in range(passes):
            if not self._level(highest, self._areas, 1e-9):
                return

    def thin(self, highest: float, passes: int) -> None:
        """Move boards while that lowers the crowding, so that fewer feeds do, with no cell above `highest`."""
        for _ in range(passes):
            if not self._level(highest, self._crowding, 1e-6):
                return

    def _level(self, highest: float, cost_of: Callable[[int], list[float]], worthwhile: float) -> bool:
        ceiling = highest * (1.0 + SLACK)
        moved = False
        for part in self.order:
            load = self.loads[part]
            for place in sorted(self.boards[part]):
                while self.boards[part].get(place, 0):
                    self.add(part, place, -1)
                    cost = cost_of(part)
                    here = cost[place]
                    if max(self.exposure) + load > ceiling:
                        full = self._windows(part, [x + load > ceiling for x in self.exposure])
                        cost = [c if not f else INFINITE for c, f in zip(cost, full, strict=True)]
                    cost = self._allowed(part, cost, 1)
                    least = min(cost)
                    # Rounding leaves costs a hair below 0: a place must be cheaper by an amount, and not the same.
                    if not least < here - worthwhile * max(abs(here), 1e-12) or cost[place] == least:
                        self.add(part, place, 1)
                        break
                    self.add(part, cost.index(least), 1)
                    moved = True
        return moved

    def _areas(self, part: int) -> list[float]:
        return self._windows(part, list(map(mul, self.cells.widths, self.exposure)))

    def _crowding(self, part: int) -> list[float]:
        crowd = self.crowd[self.groups[part]]
        top = max(crowd)
        running = [0.0, *accumulate([2.0 ** max(-40, 3 * (c - top)) for c in crowd])]
        window = self.cells.windows[part]
        return list(map(sub, window.take_reaches(running), window.take_starts(running)))

    def level(self, scale: float) -> float:
        """The peak softened: it also counts how wide the highest strips are."""
        return self.peak + log(sum(self.prices(scale)) / sum(self.cells.widths)) / scale

    def kick(self, random: Random, about: float, scale: float) -> bool:
        """Take out about so many boards, most of them over one strip of the peak, and fill them in again; False
        if the allowed feeds prevent it."""
        top = self.peak * (1.0 - SLACK)
        peaks = [i for i, u in enumerate(self.exposure) if u >= top]
        cell = peaks[random.randrange(len(peaks))]
        stacks = []
        over = total = 0
        for part in self.order:
            window = self.cells.windows[part]
            for place, count in sorted(self.boards[part].items()):
                on_top = window.starts[place] <= cell < window.ends[place]
                stacks.append((part, place, count, on_top))
                over += count if on_top else 0
                total += count
        share_over = min(0.8, 0.7 * about / max(1, over))
        share_other = min(0.4, 0.3 * about / max(1, total - over))
        taken = [0] * len(self.parts)
        for part, place, count, on_top in stacks:
            share = share_over if on_top else share_other
            out = sum(random.random() < share for _ in range(count))
            if out:
                self.add(part, place, -out)
                taken[part] += out
        return self.fill(taken, scale, chunks=max(1, *taken))

    # inside ----------------------------------------------------------------------------------------------

    def prices(self, scale: float) -> list[float]:
        """d·exp(scale·(u − peak)) of each cell: what a place costs at this scale."""
        top = self.peak
        return [d * exp(scale * (u - top)) for d, u in zip(self.cells.widths, self.exposure, strict=True)]

    def _windows(self, part: int, values: Sequence[float]) -> list[float]:
        window = self.cells.windows[part]
        running = list(accumulate(values, initial=0.0))
        return list(map(sub, window.take_ends(running), window.take_starts(running)))

    def _allowed(self, part: int, values: list[float], count: int, own: int | None = None) -> list[float]:
        """The values, infinite at places where `count` more boards would need too many feeds. `own`: the place
        those boards still stand at while their move is weighed."""
        if self.most_feeds is None:
            return values
        group = self.groups[part]
        most = self.most_feeds[group] - count
        crowd = self.crowd[group]
        window = self.cells.windows[part]
        if own is not None:
            a, b = window.starts[own], window.reaches[own]
            crowd = [*crowd[:a], *(c - count for c in crowd[a:b]), *crowd[b:]]
        running = [0, *accumulate([c > most for c in crowd])]
        over = map(sub, window.take_reaches(running), window.take_starts(running))
        return [INFINITE if o else v for v, o in zip(values, over, strict=True)]

    def _put(self, part: int, place: int, count: int, prices: list[float], scale: float) -> None:
        window = self.cells.windows[part]
        a, b = window.starts[place], window.ends[place]
        factor = exp(min(600.0, scale * self.loads[part] * count))
        prices[a:b] = [e * factor for e in prices[a:b]]
        self.add(part, place, count)
