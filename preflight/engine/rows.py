"""Boards abreast: which boards go in together, and in what order the feeds follow each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from heapq import heappop, heappush
from math import floor
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from preflight.engine.boards import Part
    from preflight.engine.lane_cells import Cells

Key = TypeVar("Key", bound=Hashable)

LONGEST_CYCLE = 12
"""A repeating order longer than this is not followed by a person."""


def abreast(usable: float, width: float, gap: float) -> int:
    """How many parts go in side by side: ⌊(U + g)/(w + g)⌋ (m).

    >>> abreast(0.910, 0.180, 0.025)
    4
    """
    if width <= 0.0 or gap < 0.0:
        raise ValueError("a part has a width, and a gap is not negative")
    return floor((usable + gap) / (width + gap) * (1.0 + 1e-9))


def share_rows(spans: Sequence[tuple[float, float]]) -> tuple[int, ...]:
    """A row for each span (left, right with its gap) so that spans in a row do not overlap, with fewest rows.

    Left to right, each span takes the lowest row that is free: as many rows as spans overlap at the worst
    point, and no grouping has fewer (interval graph colouring).

    >>> share_rows([(0.0, 0.205), (0.18, 0.385), (0.36, 0.565)])
    (0, 1, 0)
    """
    rows = [0] * len(spans)
    busy: list[tuple[float, int]] = []
    free: list[int] = []
    used = 0
    for i in sorted(range(len(spans)), key=lambda i: (spans[i], i)):
        left, right = spans[i]
        while busy and busy[0][0] <= left + 1e-9:
            heappush(free, heappop(busy)[1])
        if free:
            row = heappop(free)
        else:
            row, used = used, used + 1
        rows[i] = row
        heappush(busy, (right, row))
    return tuple(rows)


def take_turns(counts: Sequence[tuple[Key, int]]) -> list[Key]:
    """An order of the keys, each as often as its count, as a short repeating cycle, none twice running if avoidable.

    >>> "".join(take_turns([("a", 4), ("b", 2), ("c", 2)]))
    'abacabac'
    """
    left = {key: n for key, n in counts if n > 0}
    order: list[Key] = []
    while left:
        last = order[-1] if order else None
        if len(left) > LONGEST_CYCLE:
            times = min(left.values())
            shares = dict.fromkeys(left, 1)
        else:
            best: tuple[int, int, int] | None = None
            for divisor in range(1, LONGEST_CYCLE + 1):
                for n in set(left.values()):
                    t = n // divisor
                    length = sum(v // t for v in left.values()) if t else LONGEST_CYCLE + 1
                    if length <= LONGEST_CYCLE and (best is None or (t * length, -length, t) > best):
                        best = (t * length, -length, t)
            times = best[2] if best else 1
            shares = {key: v // times for key, v in left.items() if v >= times}
            if best is None:
                shares = dict.fromkeys(left, 1)
        order += _cycle(shares, last) * times
        left = {key: rest for key, n in left.items() if (rest := n - times * shares.get(key, 0))}
    return order


def _cycle(shares: dict[Key, int], last: Key | None) -> list[Key]:
    """One round in which each key stands as often as its share, evenly spread, neighbours different if possible."""
    total = sum(shares.values())
    placed: Counter[Key] = Counter()
    cycle: list[Key] = []
    keys = list(shares)
    for step in range(total):
        left = total - step
        # A key that makes up more than half of what is left must go now, or it ends up beside itself; the first
        # key a little sooner, as the cycle is repeated.
        waiting = [k for k in keys if placed[k] < shares[k] and k != (cycle[-1] if cycle else last)]
        if not waiting:
            waiting = [k for k in keys if placed[k] < shares[k]]
        pressing = [k for k in waiting if 2 * (shares[k] - placed[k]) + (k in cycle[:1]) > left]
        key = max(
            pressing or waiting,
            key=lambda k: (shares[k] * (step + 1) / total - placed[k], shares[k], -keys.index(k)),
        )
        placed[key] += 1
        cycle.append(key)
    return cycle


def fewest_feeds(parts: Sequence[Part], cells: Cells) -> list[list[tuple[int, int]]]:
    """Rows (part, place) that take all boards in few feeds: each row filled as full as can be, large parts first.

    Every row is the fullest one the boards still left allow (a sum over the places from left to right), and is
    repeated as long as they last. Parts of different thickness never share a row.
    """
    left = [p.count for p in parts]
    rows: list[list[tuple[int, int]]] = []
    for thickness in sorted({p.thickness for p in parts}):
        members = [i for i, p in enumerate(parts) if p.thickness == thickness]
        while any(left[i] for i in members):
            one = _fullest_row(parts, cells, {i: left[i] for i in members if left[i]})
            need = Counter(part for part, _ in one)
            times = min(left[part] // n for part, n in need.items())
            rows += [list(one) for _ in range(times)]
            for part, n in need.items():
                left[part] -= n * times
    return rows


def _fullest_row(parts: Sequence[Part], cells: Cells, left: dict[int, int]) -> list[tuple[int, int]]:
    """The widest set of boards that fits in one row, by a dynamic programme over the cells from the right."""
    size = len(cells.lefts)
    # best[i]: (width, boards) using cells from i on; the count limit is kept by the path itself.
    best: list[tuple[float, tuple[tuple[int, int], ...]]] = [(0.0, ())] * (size + 1)
    starting: list[list[tuple[int, int]]] = [[] for _ in range(size)]
    for part in left:
        for place, start in enumerate(cells.windows[part].starts):
            starting[start].append((part, place))
    for i in range(size - 1, -1, -1):
        best[i] = best[i + 1]
        for part, place in starting[i]:
            width, rest = best[min(size, cells.windows[part].reaches[place])]
            total = width + parts[part].width
            if total > best[i][0] + 1e-12 and sum(p == part for p, _ in rest) < left[part]:
                best[i] = (total, ((part, place), *rest))
    return list(best[0][1])
