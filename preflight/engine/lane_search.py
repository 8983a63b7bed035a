"""One planning of the feed: the cells, the descents in turn, and the bound that their prices prove."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from math import ceil
from random import Random
from typing import TYPE_CHECKING, Literal

from preflight.engine.boards import Part, Placement, Usable
from preflight.engine.coverage import EDGE_TOLERANCE, Exposure
from preflight.engine.lane_bounds import next_whole, price_bound, wear_bound
from preflight.engine.lane_cells import Cells, cells_of
from preflight.engine.lane_descent import SLACK, Descent
from preflight.engine.lane_identical import identical_places
from preflight.engine.rows import fewest_feeds

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.engine.lane_rotation import Row

Feeds = Literal["rotation", "evenest", "fewest"] | int
"""Few different feeds in turn, best evenness, fewest feeds, or at most so many feeds more than the fewest."""

KICKS = (3.0, 6.0, 12.0)
"""Boards taken out at once, about so many, in turn."""
MOST_KICKS, KICKS_OF_MANY = 200, 4
MOST_MOVES = 20_000
"""Kicks times cells: on a wear map of many strips a kick costs more, and fewer are tried."""
WORSE = 0.03
"""What a kick may cost of the level at first, as a share; less from kick to kick."""
MANY_BOARDS = 150
"""From so many boards on, whole ones are thin enough, and a few moves more bring little."""
THIN_BOARDS = 1000
"""Boards are split lengthwise into about so many thin ones: places and prices near those of the linear programme."""
SCALES = (20.0, 40.0, 80.0, 160.0, 320.0, 640.0)
"""Scales of the exponentials times the bound, at which thin boards settle in turn."""
SETTLINGS = 3
"""Rounds over the thin boards at each scale."""


class LaneSearch:
    """One planning: cells, bound and the descents that share them."""

    def __init__(
        self,
        parts: Sequence[Part],
        belt: Usable,
        before: Exposure,
        places: int | None,
        gap: float,
        seed: int,
        start: Sequence[Placement] = (),
        abreast: bool = False,
    ) -> None:
        self.parts = parts
        self.belt = belt
        self.before = before
        self.marked = places is not None
        self.abreast = abreast
        self.gap = gap
        self.random = Random(seed)
        extra: list[list[float]] = [[] for _ in parts]
        for p in start:
            extra[p.part].append(p.left_edge - belt.left)
        if abreast and places is None:
            for i, part in enumerate(parts):
                extra[i] += abreast_lefts(part, parts, belt, gap)
        self.places = places
        self.extra = extra
        self.cells: Cells = cells_of(parts, belt, before, places, gap, extra)
        self.descent = Descent(parts, self.cells)
        self.segments = [(a - belt.left, b - belt.left) for a, b in belt.segments]
        self.start = start
        self.boards_left = sum(p.count for p in parts)
        self.bound = next_whole(wear_bound(parts, belt, before.strips), parts, before)
        self._fewest: list[list[tuple[int, int]]] | None = None

    @property
    def fewest(self) -> int:
        """Feeds of the layout with fewest feeds found."""
        return len(self._fewest_rows())

    def placements(self, boards: Sequence[dict[int, int]]) -> list[Placement]:
        """One placement a board, rows not yet given."""
        left = self.belt.left
        return [
            Placement(part, left + self.cells.windows[part].lefts[place], 0)
            for part, places in enumerate(boards)
            for place, count in sorted(places.items())
            for _ in range(count)
        ]

    def placed(self, rows: Sequence[Row]) -> list[Placement]:
        """One placement a board of these rows."""
        windows = self.cells.windows
        return [
            Placement(part, self.belt.left + windows[part].lefts[place], number)
            for number, (part, places) in enumerate(rows)
            for place in places
        ]

    def rows_of(self, rows: Sequence[Sequence[Placement]]) -> list[Row]:
        """Rows of one size as they lie on the cells, which were cut at their left edges too."""
        alike = [row for row in rows if len({p.part for p in row}) == 1]
        return [(row[0].part, tuple(sorted(map(self._nearest, row)))) for row in alike]

    def run(self, feeds: Feeds = "evenest") -> list[dict[int, int]]:
        """Boards by part and place. Raises nothing: parts that do not fit are refused before."""
        if not self.boards_left:
            return self.descent.copy_boards()
        evenest = self._evenest()
        if feeds == "evenest" or feeds == "rotation":
            return evenest
        spare = 0 if feeds == "fewest" else feeds
        if sum(self.descent.feeds.values()) <= self.fewest + spare:
            return evenest
        fewest = Counter(self.parts[row[0][0]].thickness for row in self._fewest_rows())
        return self._limited({group: n + spare * n // self.fewest for group, n in fewest.items()})

    def touch_up(self) -> list[dict[int, int]]:
        """Start from given placements and move only what helps."""
        boards = self._laid(self.start)
        descent = self.descent
        descent.restore(boards)
        if not self.boards_left:
            return descent.copy_boards()
        best = self._improve([self._scale(0.5), descent.steepest], passes=1)
        self._thinned(best)
        descent.restore(best)
        descent.smooth(descent.peak, passes=1)
        return descent.copy_boards()

    def _scale(self, share: float) -> float:
        """A scale between gentle (0) and steepest (1), in even ratios."""
        gentle = min(self.descent.steepest, 8.0 / max(self.bound, 1e-12))
        return float(gentle * (self.descent.steepest / gentle) ** share)

    def _evenest(self) -> list[dict[int, int]]:
        descent = self.descent
        counts = [p.count for p in self.parts]
        descent.fill(counts, self._scale(0.3), chunks=12)
        many = self.boards_left >= MANY_BOARDS
        best = self._improve([self._scale(s) for s in (0.3, 0.6, 1.0)], passes=1 if many else 2)
        best = self._exactly(best) if len(descent.order) == 1 else self._mixed(best, many)
        peak = self.peak_of(best)
        descent.restore(best)
        descent.thin(peak, passes=1)
        descent.most_feeds = descent.feeds
        descent.smooth(peak, passes=1 if many else 3)
        descent.most_feeds = None
        return descent.copy_boards()

    def _mixed(self, best: list[dict[int, int]], many: bool) -> list[dict[int, int]]:
        """Several sizes: whole boards where thin ones settle, then kicks while a gap to the bound is left."""
        best = self._rounded(best, self._thinned(best))
        few = min(MOST_KICKS, MOST_MOVES // len(self.cells.widths), 2_000_000 // (self.boards_left + 40) ** 2)
        return self._kicked(best, KICKS_OF_MANY if many else few)

    def _exactly(self, reached: Sequence[dict[int, int]]) -> list[dict[int, int]]:
        """One size of board: the least peak these cells allow."""
        (only,) = self.descent.order
        part = self.parts[only]
        cells = replace(self.cells, windows=(self.cells.windows[only],))
        boards: list[dict[int, int]] = [{} for _ in self.parts]
        boards[only] = identical_places(part.count, part.load, cells, self.bound, self.peak_of(reached))
        if self.marked or self.cells.lossless:
            self.bound = max(self.bound, self.peak_of(boards) * (1.0 - EDGE_TOLERANCE))
        else:
            self._thinned(boards)
        return boards

    def _laid(self, lying: Sequence[Placement]) -> list[dict[int, int]]:
        """The boards on the cells, which were cut at their left edges too."""
        boards: list[Counter[int]] = [Counter() for _ in self.parts]
        for p in lying:
            boards[p.part][self._nearest(p)] += 1
        return [dict(places) for places in boards]

    def _nearest(self, lying: Placement) -> int:
        lefts, at = self.cells.windows[lying.part].lefts, lying.left_edge - self.belt.left
        return min(range(len(lefts)), key=lambda i: abs(lefts[i] - at))

    def _thinned(self, boards: Sequence[dict[int, int]]) -> list[dict[int, float]]:
        """Where thin boards settle, in whole ones by part and place; their prices raise the bound (weak duality)."""
        if self.peak_of(boards) <= self.bound * (1.0 + 2.0 * EDGE_TOLERANCE):
            return [{} for _ in self.parts]
        split = ceil(THIN_BOARDS / self.boards_left)
        thin = Descent([replace(p, count=p.count * split, length=p.length / split) for p in self.parts], self.cells)
        thin.fill([p.count for p in thin.parts], SCALES[0] / self.bound, chunks=24)
        proven, mean = self.bound, [0.0] * len(self.cells.widths)
        for scale in (s / self.bound for s in SCALES):
            for _ in range(SETTLINGS):
                thin.settle(min(thin.steepest, scale), 1)
                prices = thin.prices(scale)
                total = sum(prices)
                mean = [m / 2.0 + price / total for m, price in zip(mean, prices, strict=True)]
                bounds = (price_bound(self.parts, self.cells, p, self.marked, self.segments) for p in (prices, mean))
                proven = max(proven, *bounds)
        if proven > self.bound:
            self.bound = next_whole(proven, self.parts, self.before)
        return [{place: n / split for place, n in places.items()} for places in thin.boards]

    def _rounded(self, best: list[dict[int, int]], wanted: Sequence[dict[int, float]]) -> list[dict[int, int]]:
        """The better of `best` and whole boards put where they are wanted."""
        whole = [{place: int(n + 1e-6) for place, n in sorted(places.items()) if n >= 1.0 - 1e-6} for places in wanted]
        if not any(whole):
            return best
        self.descent.restore(whole)
        missing = [part.count - sum(places.values()) for part, places in zip(self.parts, whole, strict=True)]
        self.descent.fill(missing, self._scale(1.0), chunks=max(1, *missing))
        return min((best, self._improve([self._scale(1.0)], passes=3)), key=self.peak_of)

    def _limited(self, most: dict[float, int]) -> list[dict[int, int]]:
        descent = self.descent
        descent.restore([{} for _ in self.parts])
        for row in self._fewest_rows():
            for part, place in row:
                descent.add(part, place, 1)
        descent.most_feeds = most
        best = self._improve([self._scale(s) for s in (0.0, 0.3, 0.6, 1.0)], passes=3)
        best = self._kicked(best, rounds=40)
        descent.restore(best)
        descent.smooth(descent.peak, passes=6)
        descent.most_feeds = None
        return descent.copy_boards()

    def _improve(self, scales: Sequence[float], passes: int) -> list[dict[int, int]]:
        """Settle at rising scales; the best state met."""
        descent = self.descent
        best, best_peak = descent.copy_boards(), descent.peak
        for scale in scales:
            descent.settle(scale, passes)
            if descent.peak < best_peak * (1.0 - SLACK):
                best, best_peak = descent.copy_boards(), descent.peak
        return best

    def _kicked(self, best: list[dict[int, int]], rounds: int) -> list[dict[int, int]]:
        """Take a few boards out and put them in again while the bound is not reached, in so many rounds."""
        descent = self.descent
        steep = descent.steepest
        peak = self.peak_of(best)
        current, level = best, descent.level(steep)
        for turn in range(rounds):
            if peak <= self.bound * (1.0 + 2.0 * EDGE_TOLERANCE):
                break
            descent.restore(current)
            if not descent.kick(self.random, KICKS[turn % len(KICKS)], (steep, self._scale(0.6))[turn % 2]):
                continue
            if turn % 4 == 3:
                descent.settle(steep, 1)
            if descent.level(steep) <= level * (1.0 + WORSE * (1.0 - turn / rounds)):
                current = descent.copy_boards()
                level = min(level, descent.level(steep))
            if descent.peak < peak * (1.0 - SLACK):
                best, peak = descent.copy_boards(), descent.peak
        return best

    def peak_of(self, boards: Sequence[dict[int, int]]) -> float:
        """Highest exposure with these boards. The descent holds them from then on."""
        self.descent.restore(boards)
        return self.descent.peak

    def _fewest_rows(self) -> list[list[tuple[int, int]]]:
        if self._fewest is None:
            cells = self.cells
            if not (self.abreast or self.marked):
                lefts = [abreast_lefts(part, self.parts, self.belt, self.gap) for part in self.parts]
                cells = cells_of(self.parts, self.belt, self.before, None, self.gap, lefts)
            self._fewest = fewest_feeds(self.parts, cells)
        return self._fewest


def abreast_lefts(part: Part, parts: Sequence[Part], belt: Usable, gap: float) -> list[float]:
    """Left edges in a row packed from the left with its gaps, for this part beside its like and each other part."""
    lefts = []
    for a, b in belt.segments:
        for other in parts:
            step = other.width + gap
            n = 0
            while n * step + part.width <= b - a + EDGE_TOLERANCE:
                lefts += [a - belt.left + n * step, b - belt.left - n * step - part.width]
                n += 1
    return lefts
