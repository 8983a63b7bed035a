"""Whether all boards fit under a ceiling of exposure: an exact search for jobs of few boards.

Any plan can be pushed left, board by board, until each rests against something: the start of a free stretch, the
end of another board, or a step of the wear map. So the search goes from left to right over such edges only and
loses no plan, whatever the sizes are. What it proves not to fit is a bound, what it finds is a plan.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import accumulate, pairwise
from math import floor, gcd
from typing import TYPE_CHECKING

from preflight.engine.lane_bounds import LOAD_STEP, MOST_SUMS, sums_of_boards

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preflight.engine.boards import Part

GRAIN = 2.5e-10
"""Widths are whole multiples of this in the search, m; sizes in micrometres or in 128ths of an inch are exact."""
FINE = 1e-12
"""Loads that are no multiples of 0.1 mm are whole multiples of this, m."""
DEEPEST = 500
"""Boards and edges in one search at most: each is one step down."""

FIRST: tuple[Callable[[Part], float], ...] = (lambda p: p.load * p.width, lambda p: p.width, lambda p: -p.load)
"""What is put down first where there is a choice: the largest, widest, shortest. Each finds what the others miss."""

Lying = tuple[int, float]
"""Part, and left edge from the usable left end, m."""


@dataclass(frozen=True)
class Ground:
    """What boards are packed on, in m from the usable left end: strips left to right without a gap."""

    edges: tuple[float, ...]
    """Both ends of all strips."""
    wear: tuple[float | None, ...]
    """Prior exposure of each strip; None where nothing may pass."""
    priced: tuple[tuple[float, float], ...]
    """Price of all the width left of a point (point, price), even in between. Any prices that prove a bound tell early
    what cannot fit any more."""
    cheapest: tuple[float, ...]
    """Price of the cheapest place of each part."""
    marks: tuple[frozenset[float], ...] | None = None
    """The left edges each part may take, all of them among the edges; None: any."""


@dataclass(frozen=True)
class Packing:
    """What a search came to."""

    boards: tuple[Lying, ...] | None
    """All boards at or below the ceiling; None: there is no such plan, or the tries ran out."""
    tries: int
    """Steps taken."""
    ran_out: bool = False


class _RanOutError(Exception):
    """No tries are left."""


def packed(
    parts: Sequence[Part], ground: Ground, ceiling: float, tries: int, first: Callable[[Part], float] = FIRST[0]
) -> Packing:
    """All boards at or below the ceiling (m, times weight), or the proof that they do not fit, in so many tries.

    >>> from preflight.engine.boards import Part
    >>> belt = Ground((0.0, 1.0), (0.0,), ((0.0, 0.0), (1.0, 1.0)), (0.6, 0.4))
    >>> boards = [Part(0.6, 1.0, 2), Part(0.4, 1.0, 2)]
    >>> packed(boards, belt, 2.0, 100).boards
    ((0, 0.0), (0, 0.0), (1, 0.6), (1, 0.6))
    >>> packed(boards, belt, 1.9, 100).boards is None
    True
    """
    search = _Search(parts, ground, ceiling, tries, first)
    if 2 * search.missing + len(ground.edges) > DEEPEST:
        return Packing(None, 0, ran_out=True)
    try:
        fits = search.hopeful and search.place(0, 0, 0, 0, 0.0)
    except _RanOutError:
        return Packing(None, tries, ran_out=True)
    return Packing(tuple(search.boards) if fits else None, search.tried)


class _Search:
    """One depth-first search, in whole grains. What is no whole number of grains is rounded so that a plan that fits
    fits here too: boards and loads down, room up. So a proof holds in spite of it."""

    def __init__(
        self, parts: Sequence[Part], ground: Ground, ceiling: float, tries: int, first: Callable[[Part], float]
    ) -> None:
        self.order = sorted((i for i, p in enumerate(parts) if p.count), key=lambda i: (-first(parts[i]), i))
        unit, self.loads = _whole_loads([parts[i].load for i in self.order])
        self.real_widths = [parts[i].width for i in self.order]
        exact = all(abs(x / GRAIN - round(x / GRAIN)) < 1e-2 for x in (*self.real_widths, *ground.edges))
        # A grain off makes up for edges that are rounded the wrong way.
        self.widths = [round(x / GRAIN) if exact else floor(x / GRAIN) - 1 for x in self.real_widths]
        self.left = [parts[i].count for i in self.order]
        self.missing = sum(self.left)
        self.edges = [round(x / GRAIN) for x in ground.edges]
        self.end = self.edges[-1]
        self.marks = None if ground.marks is None else [{round(x / GRAIN) for x in ground.marks[i]} for i in self.order]
        self.room = [0 if w is None else floor((ceiling - w) / unit + 1e-10) for w in ground.wear]
        """Room under the ceiling at the left end of each strip, boards that reach over it taken off."""
        self.most = tuple(self.room)
        self.real = dict(zip(self.edges, ground.edges, strict=True))
        """The left edge in m of every edge in grains met so far."""
        self.ends: dict[int, int] = {}
        """Load that ends at each edge to come."""
        self.boards: list[Lying] = []
        self.tries, self.tried = tries, 0
        self.hopeless: set[tuple[object, ...]] = set()
        self._set_prices(ground)

    def _set_prices(self, ground: Ground) -> None:
        """What may be wasted: empty room costs its price, a board what its place costs above the cheapest."""
        self._points = [round(x / GRAIN) for x, _ in ground.priced]
        self._paid = [price for _, price in ground.priced]
        self._price_at: dict[int, float] = {}
        top = max(self.most)
        least = [0] * len(self.most)
        if 0 <= top <= MOST_SUMS:
            sums = sums_of_boards(self.loads, self.left, top)
            least = [most - _highest_sum(sums, most) for most in self.most]
        self.least = least
        """Room that no sum of boards can fill."""
        spans = [self.price(b) - self.price(a) for a, b in pairwise(self.edges)]
        wasted = [n * span for n, span in zip(least, spans, strict=True)]
        self.wasted_after = [0.0, *accumulate(reversed(wasted))][::-1]
        self.cheapest = [ground.cheapest[i] for i in self.order]
        worth = sum(n * span for n, span in zip(self.most, spans, strict=True))
        needs = sum(map(_product, self.loads, self.left, self.cheapest))
        self.budget = worth - needs + 1e-7 * top * self._paid[-1]
        self.hopeful = min(self.most) >= 0 and self.wasted_after[0] <= self.budget

    def price(self, x: int) -> float:
        """Price of all the width left of x."""
        found = self._price_at.get(x)
        if found is None:
            at = max(0, min(bisect_right(self._points, x), len(self._points) - 1) - 1)
            share = min(1.0, (x - self._points[at]) / (self._points[at + 1] - self._points[at]))
            found = self._price_at[x] = self._paid[at] + share * (self._paid[at + 1] - self._paid[at])
        return found

    def place(self, x: int, strip: int, load: int, gap: int, spent: float, first: int = 0) -> bool:
        """Whether the boards that are left fit from x on.

        `strip` holds x, `load` lies over it, `gap` is the room left just before it, `spent` the waste so far; parts
        before `first` had their turn at this x.
        """
        self.tried += 1
        if self.tried > self.tries:
            raise _RanOutError
        if not self.missing:
            return True
        key = (x, gap, *self.left, *sorted(self.ends.items())) if not first else None
        if key is not None and key in self.hopeless:
            return False
        ahead = self.least[strip] * (self.price(self.edges[strip + 1]) - self.price(x)) + self.wasted_after[strip + 1]
        for k in range(first, len(self.order)):
            if not self.left[k] or load + self.loads[k] > self.most[strip] or not self._may_start(k, x, gap):
                continue
            end = x + self.widths[k]
            if end > self.end:
                continue
            costs = spent + self.loads[k] * (self.price(end) - self.price(x) - self.cheapest[k])
            if costs + ahead <= self.budget and self._lay(k, x, end, strip):
                if self.place(x, strip, load + self.loads[k], gap, costs, k):
                    return True
                self._take_up(k, end, strip)
        if self._go_on(x, strip, load, spent):
            return True
        if key is not None:
            self.hopeless.add(key)
        return False

    def _may_start(self, k: int, x: int, gap: int) -> bool:
        """On its mark; or, where any place will do, only where it cannot be pushed further left."""
        return gap < self.loads[k] if self.marks is None else x in self.marks[k]

    def _go_on(self, x: int, strip: int, load: int, spent: float) -> bool:
        """The same from the next edge on."""
        following = min(min(self.ends, default=self.end), self.edges[strip + 1])
        if following >= self.end:
            return False
        gap = self.most[strip] - load
        spent += gap * (self.price(following) - self.price(x))
        ended = self.ends.pop(following, 0)
        if following == self.edges[strip + 1]:
            strip += 1
        ahead = self.least[strip] * (self.price(self.edges[strip + 1]) - self.price(following))
        fits = spent + ahead + self.wasted_after[strip + 1] <= self.budget and self.place(
            following, strip, load - ended, gap, spent
        )
        if not fits and ended:
            self.ends[following] = ended
        return fits

    def _lay(self, k: int, x: int, end: int, strip: int) -> bool:
        """Put one board down; False, and nothing done, where a strip further right has no room for it."""
        beyond = strip + 1
        while self.edges[beyond] < end:
            if self.room[beyond] < self.loads[k]:
                return False
            beyond += 1
        for reached in range(strip + 1, beyond):
            self.room[reached] -= self.loads[k]
        self.ends[end] = self.ends.get(end, 0) + self.loads[k]
        self.left[k] -= 1
        self.missing -= 1
        self.boards.append((self.order[k], self.real[x]))
        self.real.setdefault(end, self.real[x] + self.real_widths[k])
        return True

    def _take_up(self, k: int, end: int, strip: int) -> None:
        reached = strip + 1
        while self.edges[reached] < end:
            self.room[reached] += self.loads[k]
            reached += 1
        self.ends[end] -= self.loads[k]
        if not self.ends[end]:
            del self.ends[end]
        self.left[k] += 1
        self.missing += 1
        self.boards.pop()


def _whole_loads(loads: Sequence[float]) -> tuple[float, list[int]]:
    """A unit and the loads in it: exact where they are multiples of 0.1 mm, else rounded down."""
    steps = [round(load / LOAD_STEP) for load in loads]
    if all(abs(n * LOAD_STEP - load) < 1e-12 for n, load in zip(steps, loads, strict=True)):
        common = gcd(*steps)
        return common * LOAD_STEP, [n // common for n in steps]
    return FINE, [floor(load / FINE) for load in loads]


def _highest_sum(sums: int, most: int) -> int:
    return (sums & ((1 << (most + 1)) - 1)).bit_length() - 1


def _product(load: int, count: int, price: float) -> float:
    return load * count * price
