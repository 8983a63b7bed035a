"""Which totals a number of passes can take, exactly.

Given the sets of lowered heads, a pass can take any total between the sum of its least and the sum of its most,
so what k passes can take with a given head last is a union of intervals. Adding pass after pass finds the
fewest passes; there is no search that could miss one.
"""

from __future__ import annotations

import math
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.engine.removal_job import PlanHead, RemovalJob

LEAST_CUT: Final = 10e-6
"""A lowered head cuts at least this, m; from memory."""

ROUNDING: Final = 1e-12
"""m: sums of floats, nothing a caliper could ever see."""

STOCK: Final = -1
"""Stands for the head before the very first cut."""

Interval = tuple[float, float]
Lowered = tuple[int, ...]
"""Places of the lowered heads of one pass, in the order of the machine."""
_Key = tuple[int, int]  # head lowered last, lowerings so far


class Reach:
    """What k passes can take, by head lowered last and count of lowerings: exact unions of intervals."""

    def __init__(self, job: RemovalJob, heads: tuple[PlanHead, ...], ceilings: Sequence[float]) -> None:
        self.job, self.heads, self.ceilings = job, heads, ceilings
        self.sets = _lowered_sets(heads)
        self.steps: dict[tuple[int, Lowered], Interval] = {}
        for before in range(STOCK, len(heads)):
            for lowered in self.sets:
                bounds = self.bounds(before, lowered)
                if all(low <= high for low, high in bounds):
                    self.steps[before, lowered] = (
                        math.fsum(low for low, _ in bounds),
                        math.fsum(high for _, high in bounds),
                    )
        self._layers: list[dict[_Key, list[Interval]]] = [{(STOCK, 0): [(0.0, 0.0)]}]

    def bounds(self, before: int, lowered: Lowered) -> list[Interval]:
        """(least, most) of each lowered head after `before`; a need above the cap gives least > most."""
        result = []
        for index in lowered:
            head = self.heads[index]
            low = self.need(before)
            # A need between comfort and cap is allowed: the head then takes just its need.
            result.append((low, min(head.cap, max(low, self.ceilings[index]))))
            before = index
        return result

    def need(self, before: int) -> float:
        if before == STOCK:
            return max(LEAST_CUT, self.job.marks + self.job.spread)
        return max(LEAST_CUT, self.heads[before].scratch)

    def ends_at(self, passes: int) -> bool:
        """Can exactly the job's total be taken in this many passes, finishing head last?"""
        return self._fewest_lowerings(passes) is not None

    def totals(self, passes: int) -> list[Interval]:
        """Every total that at most this many passes can take, finishing head last."""
        return _union(
            [
                span
                for count in range(1, passes + 1)
                for (last, _), spans in self._layer(count).items()
                if last == self._finish
                for span in spans
            ]
        )

    def sequences(self, passes: int) -> Iterator[tuple[Lowered, ...]]:
        """The sets of each pass that take the job's total with the fewest lowerings there are."""
        lowerings = self._fewest_lowerings(passes)
        if lowerings is not None:
            key = (self._finish, lowerings)
            # a total that meets its interval only by rounding is set onto it, so that the way back allows no more
            total = min(
                (min(max(self.job.total, low), high) for low, high in self._layer(passes)[key]),
                key=lambda value: abs(value - self.job.total),
            )
            yield from self._back(passes, key, (total, total))

    @property
    def _finish(self) -> int:
        return len(self.heads) - 1

    def _fewest_lowerings(self, passes: int) -> int | None:
        total = (self.job.total, self.job.total)
        return min(
            (
                count
                for (last, count), spans in self._layer(passes).items()
                if last == self._finish and _meets(spans, total)
            ),
            default=None,
        )

    def _layer(self, passes: int) -> dict[_Key, list[Interval]]:
        while len(self._layers) <= passes:
            grown: dict[_Key, list[Interval]] = {}
            for (last, count), spans in self._layers[-1].items():
                for (before, lowered), (low, high) in self.steps.items():
                    if before == last:
                        key = (lowered[-1], count + len(lowered))
                        grown.setdefault(key, []).extend((a + low, b + high) for a, b in spans)
            self._layers.append({key: _union(spans) for key, spans in grown.items()})
        return self._layers[passes]

    def _back(self, passes: int, key: _Key, wanted: Interval) -> Iterator[tuple[Lowered, ...]]:
        if not _meets(self._layer(passes).get(key, []), wanted):
            return
        if passes == 0:
            yield ()
            return
        last, count = key
        for (before, lowered), (low, high) in self.steps.items():
            if lowered[-1] == last:
                earlier = (wanted[0] - high, wanted[1] - low)
                for head in self._back(passes - 1, (before, count - len(lowered)), earlier):
                    yield (*head, lowered)


def _lowered_sets(heads: tuple[PlanHead, ...]) -> tuple[Lowered, ...]:
    fixed = {index for index, head in enumerate(heads) if not head.can_lift}
    free = [index for index, head in enumerate(heads) if not head.barred]
    sets = [
        chosen
        for size in range(1, len(free) + 1)
        for chosen in combinations(free, size)
        if fixed.issubset(chosen) and all(heads[a].grain_size >= heads[b].grain_size for a, b in pairwise(chosen))
    ]
    return tuple(sets)


def _union(spans: list[Interval]) -> list[Interval]:
    merged: list[Interval] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged


def _meets(spans: list[Interval], wanted: Interval) -> bool:
    return any(low <= wanted[1] + ROUNDING and high >= wanted[0] - ROUNDING for low, high in spans)
