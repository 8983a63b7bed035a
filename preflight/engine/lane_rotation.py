"""A rotation: few different feeds that a person keeps in the head, fed in turn so that the wear comes out even.

A feed is boards of one size at fixed places abreast. For a number of feeds every sharing of them over the sizes, and of
boards over the feeds, is tried. Where a feed lies is found exactly while the others stay: boards of one feed never
overlap, so the sum of exponentials over the cells (as in `lane_descent`) splits over them.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import accumulate, islice, permutations, product
from math import exp, floor, log
from operator import sub
from typing import TYPE_CHECKING

from preflight.engine.lane_cells import marked_lefts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from preflight.engine.boards import Part
    from preflight.engine.lane_cells import Cells

MOST_DIFFERENT = 4
"""Feeds that a person keeps in the head; where there are as many sizes, one more than sizes."""
ONE_MORE = 0.1
"""Share of the feeds that one more feed to keep in mind must save."""
SHARPNESS = (12.0, 40.0, 120.0)
"""Scales of the exponentials times the peak, in turn."""
SWEEPS = 3
"""Rounds over the feeds at each scale."""
SUMS = 3
"""Numbers of boards that the feeds of one size take together: so many are tried."""
MOST_TRIED = 40
"""Sharings tried for a number of feeds."""
MOST_BALANCED = 6
"""The most even of them, whose feeds are then given unequal times."""
MOVED = (0.5, 0.25, 0.1)
"""Shares of a feed's boards that go to another feed."""
AT_THE_EDGE = 0.97
"""Of places about as good the edge is easiest to hit: its price is this share."""
ROOM = 0.01
"""Share of the width from which on a board lies elsewhere when it is moved by so much."""
SLACK = 1e-9
INFINITE = float("inf")

Row = tuple[int, tuple[int, ...]]
"""Part and places of one feed."""
Sharing = dict[int, list[int]]
"""Boards abreast by part and feed."""


@dataclass(frozen=True, slots=True)
class Feed:
    """One size at fixed places, and how often it is fed: a mean, whole boards come last."""

    part: int
    places: tuple[int, ...]
    """Indices of left edges, from left to right."""
    times: float


@dataclass(frozen=True, slots=True)
class Turns:
    """Rows as they go in, and what they do."""

    rows: tuple[Row, ...]
    exposure: tuple[float, ...]
    """By cell, after the last row."""


class Rotation:
    """The search for few different feeds on given cells."""

    def __init__(self, parts: Sequence[Part], cells: Cells) -> None:
        self.parts = parts
        self.cells = cells
        self.members = sorted((i for i, p in enumerate(parts) if p.count), key=lambda i: -parts[i].width)
        self.most = max(MOST_DIFFERENT, len(self.members) + 1)
        self.following = [
            [bisect_left(window.starts, reach) for reach in window.reaches] if window.starts else []
            for window in cells.windows
        ]
        """By part and place: the first place that leaves the gap to it."""

    def searched(self, even_enough: Callable[[Turns], bool]) -> Turns | None:
        """The shortest rotation found that is even enough; None without one.

        Shortest by feeds, where each different one counts as `ONE_MORE` of them all. Sizes are never mixed in a feed,
        so many sizes take more feeds than a person keeps in mind. A size that has room to move gets two places as long
        as that is no feed too many: the same strip twice running gets hot.
        """
        shortest: tuple[float, Turns | None] = (INFINITE, None)
        fewest = sum(1 + self._moves(part) for part in self.members)
        for size in range(max(len(self.members), min(fewest, MOST_DIFFERENT)), self.most + 1):
            if size > MOST_DIFFERENT and shortest[1]:
                break
            tried = [self._settled(sharing) for sharing in islice(self._sharings(size), MOST_TRIED)]
            tried.sort(key=lambda feeds: max(self._exposure(feeds)))
            for found in map(self.fed, (*tried, *map(self._balanced, tried[:MOST_BALANCED]))):
                cost = len(found.rows) * (1.0 + ONE_MORE * size)
                if cost < shortest[0] and even_enough(found):
                    shortest = cost, found
        return shortest[1]

    def kept(self, rows: Sequence[Row]) -> Turns | None:
        """The same feeds as in these rows, shared anew over the boards there are; None where they do not do."""
        kinds = [row for row in dict.fromkeys(rows) if self.parts[row[0]].count]
        whole = [(i, xs) for i, xs in kinds if not any(i == j and set(xs) < set(ys) for j, ys in kinds)]
        abreast = {part: sum(len(places) for other, places in whole if other == part) for part in self.members}
        if len(whole) > self.most or not all(abreast.values()):
            return None
        feeds = [Feed(part, places, self.parts[part].count / abreast[part]) for part, places in whole]
        return self.fed(self._balanced(feeds))

    def fed(self, feeds: Sequence[Feed]) -> Turns:
        """Every feed in turn, the widest size first. The last feed of a size may lack boards."""
        rows: list[Row] = []
        exposure = list(self.cells.floor)
        for part in self.members:
            mine = sorted((feed for feed in feeds if feed.part == part), key=lambda feed: (-feed.times, feed.places))
            left, done = self.parts[part].count, [0] * len(mine)
            total = sum(feed.times for feed in mine)
            while left:
                due = [feed.times / total * (sum(done) + 1) - n for feed, n in zip(mine, done, strict=True)]
                chosen = due.index(max(due))
                places = mine[chosen].places
                if len(places) > left:
                    window = self.cells.windows[part]
                    level = {p: max(exposure[window.starts[p] : window.ends[p]]) for p in places}
                    places = tuple(sorted(sorted(places, key=level.__getitem__)[:left]))
                done[chosen] += 1
                left -= len(places)
                rows.append((part, places))
                self._lay(exposure, Feed(part, places, 1.0))
        return Turns(tuple(rows), tuple(exposure))

    # how boards are shared out -----------------------------------------------------------------------------------

    def _sharings(self, size: int) -> Iterator[Sharing]:
        """For so many feeds in all, those that need the fewest feedings first."""
        spare = size - len(self.members)
        counts = (c for c in product(range(1, spare + 2), repeat=len(self.members)) if sum(c) == size)
        every = [
            dict(zip(self.members, ways, strict=True))
            for by_part in counts
            for ways in product(*(self._ways(i, n) for i, n in zip(self.members, by_part, strict=True)))
        ]

        def feedings(sharing: Sharing) -> float:
            return sum(self.parts[i].count * len(abreast) / sum(abreast) for i, abreast in sharing.items())

        return iter(sorted(every, key=feedings))

    def _ways(self, part: int, feeds: int) -> list[list[int]]:
        """Boards abreast in each of so many feeds: as many as go in, or a multiple of the lanes there are."""
        full, lanes = self._most_abreast(part) * feeds, self._lanes(part)
        sums = {full: None} | dict.fromkeys(n for n in range(full - full % lanes, 0, -lanes) if n >= feeds)
        return [[(n + k) // feeds for k in range(feeds - 1, -1, -1)] for n in islice(sums, SUMS)]

    def _moves(self, part: int) -> bool:
        lefts = self.cells.windows[part].lefts
        return self.parts[part].count > 1 and lefts[-1] - lefts[0] > ROOM * sum(self.cells.widths)

    def _most_abreast(self, part: int) -> int:
        at, n, following = 0, 0, self.following[part]
        while at < len(following):
            at, n = following[at], n + 1
        return n

    def _lanes(self, part: int) -> int:
        """Boards that lie side by side without a gap: feeds that take a multiple of them can wear all strips alike."""
        free: list[list[float]] = []
        for left, width in zip(self.cells.lefts, self.cells.widths, strict=True):
            if free and left - free[-1][1] < SLACK:
                free[-1][1] = left + width
            else:
                free.append([left, left + width])
        return max(1, sum(floor((b - a) / self.parts[part].width * (1.0 + SLACK)) for a, b in free))

    # where the feeds lie -----------------------------------------------------------------------------------------

    def _settled(self, sharing: Sharing) -> tuple[Feed, ...]:
        """Feeds with so many boards abreast, each laid where it adds least while the others stay."""
        spread = {part: self._spread(part, abreast) for part, abreast in sharing.items()}
        return min((self._laid(sharing, spread), self._laid(sharing, {})), key=lambda feeds: max(self._exposure(feeds)))

    def _spread(self, part: int, abreast: Sequence[int]) -> list[tuple[int, ...]]:
        """A first guess: lanes evenly over the width, their boards dealt out to the feeds in turn."""
        boards, window = sum(abreast), self.cells.windows[part]
        deep = max(1, round(boards / self._lanes(part)))
        lanes = marked_lefts(0.0, window.lefts[-1] - window.lefts[0], -(-boards // deep))
        places: list[list[int]] = [[] for _ in abreast]
        for board in range(boards):
            at = window.lefts[0] + lanes[board // deep]
            places[board % len(abreast)].append(min(range(len(window.lefts)), key=lambda i: abs(window.lefts[i] - at)))
        return [tuple(row) for row in places]

    def _laid(self, sharing: Sharing, start: dict[int, list[tuple[int, ...]]]) -> tuple[Feed, ...]:
        wanted = [(part, n) for part, abreast in sharing.items() for n in abreast]
        first = [places for part, abreast in sharing.items() for places in start.get(part, [()] * len(abreast))]
        feeds = [
            Feed(part, places, self.parts[part].count / sum(sharing[part]))
            for (part, _), places in zip(wanted, first, strict=True)
        ]
        exposure = self._exposure(feeds)
        peak = max(*exposure, sum(feed.times * self.parts[feed.part].load for feed in feeds))
        best, least = tuple(feeds), INFINITE
        for sharp in SHARPNESS:
            for _ in range(SWEEPS):
                before = tuple(feeds)
                for k, feed in enumerate(before):
                    self._lay(exposure, feed, -1.0)
                    feeds[k] = replace(feed, places=self._places(feed.part, wanted[k][1], exposure, sharp / peak))
                    self._lay(exposure, feeds[k])
                peak = max(exposure)
                if peak < least:
                    best, least = tuple(feeds), peak
                if before == tuple(feeds):
                    break
        return best

    def _places(self, part: int, wanted: int, exposure: Sequence[float], scale: float) -> tuple[int, ...]:
        """The places for so many boards abreast over which the sum of exponentials is least."""
        top = max(exposure)
        prices = [d * exp(max(-600.0, scale * (u - top))) for d, u in zip(self.cells.widths, exposure, strict=True)]
        running = list(accumulate(prices, initial=0.0))
        window, following = self.cells.windows[part], self.following[part]
        cost = list(map(sub, window.take_ends(running), window.take_starts(running)))
        for edge in (0, -1):
            cost[edge] *= AT_THE_EDGE
        layers = [[0.0] * (len(cost) + 1)]  # by boards still to be laid: the least cost from each place on
        for _ in range(wanted):
            inner, layer = layers[-1], [INFINITE] * (len(cost) + 1)
            for place in range(len(cost) - 1, -1, -1):
                layer[place] = min(layer[place + 1], cost[place] + inner[following[place]])
            layers.append(layer)
        places, at = [], 0
        for layer in reversed(layers[1:]):
            while layer[at] == layer[at + 1]:
                at += 1
            places.append(at)
            at = following[at]
        return tuple(places)

    def _balanced(self, feeds: Sequence[Feed]) -> tuple[Feed, ...]:
        """Boards moved from feed to feed of a size where that levels the exposure."""
        best, level = tuple(feeds), self._level(feeds)
        for share in MOVED:
            for a, b in permutations(range(len(best)), 2):
                give, take = best[a], best[b]
                if give.part != take.part:
                    continue
                moved = give.times * share
                more = moved * len(give.places) / len(take.places)
                tried = list(best)
                tried[a], tried[b] = replace(give, times=give.times - moved), replace(take, times=take.times + more)
                if (reached := self._level(tried)) < level * (1.0 - SLACK):
                    best, level = tuple(tried), reached
        return best

    def _level(self, feeds: Sequence[Feed]) -> float:
        """The peak softened: it also counts how wide the highest strips are."""
        exposure = self._exposure(feeds)
        top = max(exposure)
        scale = SHARPNESS[1] / top
        weighed = (d * exp(scale * (u - top)) for d, u in zip(self.cells.widths, exposure, strict=True))
        return top + log(sum(weighed) / sum(self.cells.widths)) / scale

    def _exposure(self, feeds: Sequence[Feed]) -> list[float]:
        exposure = list(self.cells.floor)
        for feed in feeds:
            self._lay(exposure, feed)
        return exposure

    def _lay(self, exposure: list[float], feed: Feed, sign: float = 1.0) -> None:
        window, load = self.cells.windows[feed.part], sign * feed.times * self.parts[feed.part].load
        for place in feed.places:
            a, b = window.starts[place], window.ends[place]
            exposure[a:b] = [u + load for u in exposure[a:b]]
