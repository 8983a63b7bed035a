"""One planning of the feed: the cells, the bound that rises as prices prove more, and the descents in turn."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING, Literal

from preflight.engine.boards import Part, Placement, Usable
from preflight.engine.coverage import EDGE_TOLERANCE, Exposure
from preflight.engine.lane_bounds import cheapest_places, next_whole, price_bound, wear_bound
from preflight.engine.lane_cells import Cells, cells_of
from preflight.engine.lane_descent import SLACK, Descent
from preflight.engine.lane_gap import close_gap, ground_of
from preflight.engine.lane_identical import identical_places
from preflight.engine.lane_prices import proving_prices
from preflight.engine.rows import fewest_feeds

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.engine.lane_packing import Lying

Feeds = Literal["evenest", "fewest"] | int
"""Best evenness, fewest feeds, or at most so many feeds more than the fewest."""

Wanted = dict[tuple[int, int], float]
"""Exposure by part and place, in parts of boards."""

KICKS = (3.0, 6.0, 12.0)
"""Boards taken out at once, about so many, in turn."""
MOST_MOVES = 20_000
"""Kicks times cells: on a wear map of many strips a kick costs more, and fewer are tried."""
GOOD_ENOUGH = 0.95
"""A peak this share of one board, or of 1 %, above the bound is not worked on any harder."""
MANY_BOARDS = 150
"""From so many boards on, whole ones are thin enough, and a few moves more bring little."""
FEW_BOARDS, FEW_EDGES, FEW_TRIES = 50, 30, 40_000
"""Steps of the exact search for so many boards and edges of wear at most: a tenth of a second or so. More get fewer."""
NEAR_PEAK = 0.03
"""Strips this near to the peak get a price from the start of the proof."""
THINNER = 16
"""Thin boards a board is split into when the bound is proven."""


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
        self._proven, self._prices = 0.0, list(self.cells.widths)
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

    def run(self, feeds: Feeds) -> list[dict[int, int]]:
        """Boards by part and place. Raises nothing: parts that do not fit are refused before."""
        if not self.boards_left:
            return self.descent.copy_boards()
        evenest = self._evenest()
        if feeds == "evenest":
            return evenest
        spare = 0 if feeds == "fewest" else feeds
        if sum(self.descent.feeds.values()) <= self.fewest + spare:
            return evenest
        fewest = Counter(self.parts[row[0][0]].thickness for row in self._fewest_rows())
        return self._limited({group: n + spare * n // self.fewest for group, n in fewest.items()})

    def touch_up(self) -> list[dict[int, int]]:
        """Start from given placements and move only what helps."""
        boards = self._laid([(p.part, p.left_edge - self.belt.left) for p in self.start])
        descent = self.descent
        descent.restore(boards)
        if not self.boards_left:
            return descent.copy_boards()
        best = self._improve([self._scale(0.5), descent.steepest], passes=1)
        self._prove(best, rounds=2)
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
        if not many:
            best = self._closed(best)
            descent = self.descent
        peak = self._peak_of(best)
        descent.restore(best)
        descent.thin(peak, passes=1)
        descent.most_feeds = descent.feeds
        descent.smooth(peak, passes=1 if many else 3)
        descent.most_feeds = None
        return descent.copy_boards()

    def _mixed(self, best: list[dict[int, int]], many: bool) -> list[dict[int, int]]:
        """Several sizes: proof, rounding of what it wants, and kicks; once more and harder where a gap is left."""
        heaviest = max(self.descent.loads[i] for i in self.descent.order)
        most = MOST_MOVES // len(self.cells.widths)
        kicks = min(200, most, 1_000_000 // (self.boards_left + 40) ** 2)
        quick = (1, 8, 4) if many else (THINNER, 4, kicks)
        for split, rounds, tries in (quick, (2 * THINNER, 10, min(60, most))):
            for wanted in self._prove(best, rounds, split):
                best = self._rounded(best, wanted)
            best = self._kicked(best, tries)
            if self._peak_of(best) - self.bound <= GOOD_ENOUGH * max(heaviest, 0.01 * self.bound):
                break
        return best

    def _exactly(self, reached: Sequence[dict[int, int]]) -> list[dict[int, int]]:
        """One size of board: the least peak these cells allow."""
        (only,) = self.descent.order
        part = self.parts[only]
        cells = replace(self.cells, windows=(self.cells.windows[only],))
        boards: list[dict[int, int]] = [{} for _ in self.parts]
        boards[only] = identical_places(part.count, part.load, cells, self.bound, self._peak_of(reached))
        if self.marked or self.cells.lossless:
            self.bound = max(self.bound, self._peak_of(boards) * (1.0 - EDGE_TOLERANCE))
        else:
            self._prove(boards, rounds=4, split=THINNER)
        return boards

    def _closed(self, best: list[dict[int, int]]) -> list[dict[int, int]]:
        """The least peak there is, or as near to it as the tries come; what they prove raises the bound."""
        peak = self._peak_of(best)
        if peak <= self.bound * (1.0 + 2.0 * EDGE_TOLERANCE):
            return best
        cheapest = cheapest_places(self.parts, self.cells, self._prices, self.marked, self.segments)
        ground = ground_of(self.belt, self.before, self.cells, self._prices, cheapest, self.marked)
        lying, self.bound = close_gap(
            self.parts,
            self.belt,
            self.before,
            ground,
            self.bound,
            peak,
            FEW_TRIES
            * FEW_BOARDS
            * FEW_EDGES
            // max(FEW_BOARDS, self.boards_left)
            // max(FEW_EDGES, len(ground.edges)),
            lambda bound: next_whole(bound, self.parts, self.before),
        )
        if lying is None:
            return best
        kept = [(p.part, p.left_edge - self.belt.left) for p in self.placements(best)]
        laid = self._laid(lying)
        return laid if self._peak_of(laid) < peak else self._laid(kept)

    def _laid(self, lying: Sequence[Lying]) -> list[dict[int, int]]:
        """The boards on the cells, cut anew where one lies at none of the left edges so far."""
        tolerance = 2.0 * EDGE_TOLERANCE * self.belt.width
        lefts = [window.lefts for window in self.cells.windows]
        if any(min(abs(x - left) for x in lefts[part]) > tolerance for part, left in lying):
            for part, left in lying:
                self.extra[part].append(left)
            self.cells = cells_of(self.parts, self.belt, self.before, self.places, self.gap, self.extra)
            self.descent, self._fewest = Descent(self.parts, self.cells), None
            lefts = [window.lefts for window in self.cells.windows]
        boards: list[dict[int, int]] = [{} for _ in self.parts]
        for part, left in lying:
            place = min(range(len(lefts[part])), key=lambda i: abs(lefts[part][i] - left))
            boards[part][place] = boards[part].get(place, 0) + 1
        return boards

    def _prove(self, boards: Sequence[dict[int, int]], rounds: int, split: int = 1) -> tuple[Wanted, Wanted]:
        """Raise the bound by prices that boards `split` lengthwise in thin ones lead to; returns the exposure at
        each place that the proof wants, and that the thin boards came to."""
        wanted: Wanted = {}
        if self._peak_of(boards) <= self.bound * (1.0 + 2.0 * EDGE_TOLERANCE):
            return wanted, wanted
        thin = [replace(p, count=p.count * split, length=p.length / split) for p in self.parts]
        descent = Descent(thin, self.cells)
        descent.restore([{place: n * split for place, n in places.items()} for places in boards])
        for scale in (150.0, 500.0, 1500.0) if split > 1 else ():
            descent.settle(min(descent.steepest, scale / self.bound), passes=2)
        top = descent.peak
        used = [(part, place) for part, places in enumerate(descent.boards) for place in places]
        active = [i for i, u in enumerate(descent.exposure) if u >= top * (1.0 - NEAR_PEAK)]
        bound, prices, wanted = proving_prices(self.parts, self.cells, used, active, rounds, self._price_bound)
        if bound > self._proven:
            self._proven, self._prices = bound, prices
        self._raise_bound(bound)
        lying: Wanted = {}
        if split > 1:
            lying = {
                (part, place): n * thin[part].load
                for part, places in enumerate(descent.boards)
                for place, n in places.items()
            }
        return wanted, lying

    def _rounded(self, best: list[dict[int, int]], wanted: Wanted) -> list[dict[int, int]]:
        """The better of `best` and whole boards put where they are wanted."""
        descent = self.descent
        whole: list[dict[int, int]] = [{} for _ in self.parts]
        missing = [p.count for p in self.parts]
        for (part, place), exposure in sorted(wanted.items()):
            count = min(missing[part], int(exposure / self.parts[part].load + 1e-6))
            if count:
                whole[part][place] = count
                missing[part] -= count
        if whole == [{} for _ in self.parts]:
            return best
        descent.restore(whole)
        descent.fill(missing, self._scale(1.0), chunks=max(1, *missing))
        return min((best, self._improve([self._scale(1.0)], passes=3)), key=self._peak_of)

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
        peak = self._peak_of(best)
        current, level = best, descent.level(steep)
        for turn in range(rounds):
            if peak <= self.bound * (1.0 + 2.0 * EDGE_TOLERANCE):
                break
            descent.restore(current)
            if not descent.kick(self.random, KICKS[turn % len(KICKS)], (steep, self._scale(0.6))[turn % 2]):
                continue
            if turn % 4 == 3:
                descent.settle(steep, 1)
            if descent.level(steep) <= level * (1.0 + SLACK):
                current, level = descent.copy_boards(), descent.level(steep)
            if descent.peak < peak * (1.0 - SLACK):
                best, peak = descent.copy_boards(), descent.peak
        return best

    def _peak_of(self, boards: Sequence[dict[int, int]]) -> float:
        self.descent.restore(boards)
        return self.descent.peak

    def _price_bound(self, prices: Sequence[float]) -> float:
        return price_bound(self.parts, self.cells, prices, self.marked, self.segments)

    def _raise_bound(self, bound: float) -> None:
        if bound > self.bound:
            self.bound = next_whole(bound, self.parts, self.before)

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
