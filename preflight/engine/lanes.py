"""The feed plan: where each board goes so that belt and drum wear as evenly as these parts allow.

`plan` finds places and rows, `evaluate` judges places given by the operator, `replan` goes on from what was
really fed. All three give a `FeedPlan`, whose bound holds for every plan of the same parts.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass, replace
from math import sqrt
from operator import mul
from typing import TYPE_CHECKING

from preflight.engine.boards import Part, Placement, Usable, loads_of, refuse_misfits
from preflight.engine.coverage import EDGE_TOLERANCE, Exposure, Strip, exposure_over
from preflight.engine.lane_cells import marked_lefts
from preflight.engine.lane_rotation import Rotation
from preflight.engine.lane_search import Feeds, LaneSearch
from preflight.engine.rows import share_rows, take_turns

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from preflight.engine.lane_rotation import Turns

LEAST_GAP = 0.025
"""Gap between boards abreast, m (common practice, no source)."""
ROUGHER = 0.03
"""Spread over the width that a rotation may have more than the most even plan, as a share of what the job adds."""
ENOUGH = 0.95
"""Share of the best evenness from which on fewer different feeds are worth more than evenness."""


@dataclass(frozen=True)
class FeedPlan:
    """Boards in feeding order with the figures that judge them. Exposures in m (times weight)."""

    placements: tuple[Placement, ...]
    peak: float
    """Exposure of the most-used strip, prior wear included."""
    bound: float
    """No plan of these parts here has a lower peak."""
    mean_over_peak: float
    lowest_over_peak: float
    feeds: int
    """Rows fed."""
    fewest_feeds: int
    """Rows that the fewest feeds found would take."""
    unused_width: float
    """Usable width that nothing has passed, m."""
    exposure: Exposure
    """Wear map after the job."""
    centre: FeedPlan | None = None
    """The same parts all down the middle, for comparison; None in that comparison itself."""

    @property
    def share_of_best(self) -> float:
        """Lowest peak these parts allow / peak of this plan, 0 to 1."""
        return min(1.0, self.bound / self.peak) if self.peak > 0.0 else 1.0

    @property
    def different(self) -> tuple[tuple[Placement, ...], ...]:
        """The feeds that differ, by their first turn; one that only lacks boards at the end is none of its own."""
        kinds: dict[frozenset[tuple[int, float]], tuple[Placement, ...]] = {}
        for row in self.rows:
            kinds.setdefault(frozenset((p.part, p.left_edge) for p in row), row)
        return tuple(row for kind, row in kinds.items() if not any(kind < other for other in kinds))

    @property
    def rows(self) -> tuple[tuple[Placement, ...], ...]:
        """Placements by feed, in order, each from left to right."""
        rows: list[list[Placement]] = [[] for _ in range(self.feeds)]
        for placement in self.placements:
            rows[placement.row].append(placement)
        return tuple(tuple(sorted(row, key=lambda p: p.left_edge)) for row in rows)


def plan(
    parts: Sequence[Part],
    belt: Usable,
    wear: Sequence[Strip] = (),
    places: int | None = None,
    gap: float = LEAST_GAP,
    feeds: Feeds = "evenest",
    seed: int = 0,
) -> FeedPlan:
    """Places and rows for all boards: lowest peak, then lowest variation, then no place twice running.

    `wear` is what the strips have seen (m, overlapping strips add up), `places` the number of marked places
    across the usable width (None: any position), `gap` the room between boards abreast (m), `seed` the start
    of the search's own randomness: the same arguments give the same plan. Raises ValueError when a part does
    not fit (by how much) or an argument is out of range.

    >>> p = plan([Part(0.180, 1.0, 200)], Usable(0.910, 0.015), places=5)
    >>> round(p.peak, 6), p.feeds, round(p.share_of_best, 6)
    (40.0, 80, 1.0)
    """
    _check(parts, belt, gap, feeds)
    before = exposure_over(wear, belt.segments)
    search, flipped = _search(parts, belt, before, places, gap, seed, abreast=feeds != "evenest")
    # Rows too are shared out on the side that is searched, so that the mirrored job has the same.
    turn = _offered(parts, search, search.run(feeds), gap, feeds)
    if flipped:
        turn = tuple(replace(p, left_edge=belt.flip(p.left_edge + parts[p.part].width)) for p in turn)
        turn = tuple(_flush(turn, parts, belt))
    return _judged(parts, belt, before, turn, search.bound, search.fewest, places)


def evaluate(
    placements: Iterable[Placement],
    parts: Sequence[Part],
    belt: Usable,
    wear: Sequence[Strip] = (),
    places: int | None = None,
    gap: float = LEAST_GAP,
) -> FeedPlan:
    """The same figures for a plan given by the operator; the bound is for the boards placed, whatever the counts.

    Raises ValueError when a board lies outside the usable width or on a keep-off strip, or when two boards of
    one row overlap (by how much).
    """
    placements = tuple(placements)
    counts = Counter(p.part for p in placements)
    if any(not 0 <= part < len(parts) for part in counts):
        raise ValueError("a placement names a part that is not there")
    parts = [replace(p, count=counts[i]) for i, p in enumerate(parts)]
    _check(parts, belt, gap, "evenest")
    _refuse_bad(placements, parts, belt)
    before = exposure_over(wear, belt.segments)
    search, _ = _search(parts, belt, before, places, gap, seed=0)
    search.run("evenest")
    return _judged(parts, belt, before, placements, search.bound, search.fewest, places)


def replan(
    parts: Sequence[Part],
    belt: Usable,
    fed: Sequence[Placement],
    earlier: FeedPlan,
    wear: Sequence[Strip] = (),
    places: int | None = None,
    gap: float = LEAST_GAP,
    rotation: Sequence[Sequence[Placement]] = (),
) -> FeedPlan:
    """A plan for the boards not yet fed, with those `fed` counted as wear, starting from the earlier plan.

    `rotation`: rows whose feeds are kept where they still even the wear out; none: boards go where they wear least.
    The first row differs from the last one fed wherever it can. Raises ValueError when more boards were fed
    than there are.
    """
    _refuse_bad(fed, parts, belt, abreast=False)
    counts = Counter(p.part for p in fed)
    for i, part in enumerate(parts):
        if counts[i] > part.count:
            raise ValueError(f"{counts[i]} boards of part {i + 1} were fed, of {part.count}")
    left = [replace(p, count=p.count - counts[i]) for i, p in enumerate(parts)]
    before = exposure_over([*wear, *loads_of(parts, fed)], belt.segments)
    waiting = _not_yet_fed(earlier.placements, fed)
    search = LaneSearch(left, belt, before, places, gap, seed=0, start=waiting)
    boards = search.touch_up()
    last_row = fed[-1].row if fed else None
    last = _about((p.part, p.left_edge) for p in fed if p.row == last_row)
    turn = _offered(left, search, boards, gap, "rotation" if rotation else "evenest", rotation, last)
    return _judged(left, belt, before, turn, search.bound, search.fewest, places)


def _search(
    parts: Sequence[Part],
    belt: Usable,
    before: Exposure,
    places: int | None,
    gap: float,
    seed: int,
    abreast: bool = False,
) -> tuple[LaneSearch, bool]:
    """The search, and whether it looks at the belt from the other side."""
    flipped = _runs_backwards(belt, before)
    if flipped:
        belt, before = belt.mirrored(), _mirrored(before, belt)
    return LaneSearch(parts, belt, before, places, gap, seed, abreast=abreast), flipped


def _check(parts: Sequence[Part], belt: Usable, gap: float, feeds: Feeds) -> None:
    if gap < 0.0:
        raise ValueError(f"the gap between boards cannot be negative: {gap} m")
    if isinstance(feeds, int) and feeds < 0:
        raise ValueError(f"extra feeds cannot be negative: {feeds}")
    refuse_misfits(parts, belt)


def _refuse_bad(placements: Sequence[Placement], parts: Sequence[Part], belt: Usable, abreast: bool = True) -> None:
    tolerance = EDGE_TOLERANCE * belt.width
    rows: dict[int, list[tuple[float, float]]] = {}
    for p in placements:
        a, b = p.left_edge, p.left_edge + parts[p.part].width
        if a < belt.left - tolerance or b > belt.right + tolerance:
            over = max(belt.left - a, b - belt.right)
            raise ValueError(f"a board of part {p.part + 1} lies {over * 1000:.1f} mm outside the usable width")
        if not any(s - tolerance <= a and b <= t + tolerance for s, t in belt.segments):
            raise ValueError(f"a board of part {p.part + 1} at {a * 1000:.1f} mm lies on a keep-off strip")
        rows.setdefault(p.row, []).append((a, b))
    for row, spans in rows.items() if abreast else ():
        spans.sort()
        for (_, b), (a, _) in itertools.pairwise(spans):
            if b - a > tolerance:
                raise ValueError(f"two boards of row {row + 1} overlap by {(b - a) * 1000:.1f} mm")


def _flush(placements: Sequence[Placement], parts: Sequence[Part], belt: Usable) -> list[Placement]:
    """The placements with left edges on the very end of a free stretch where they are only a rounding away."""
    segments, tolerance = belt.segments, 2.0 * EDGE_TOLERANCE * belt.width
    flush: dict[tuple[int, float], float] = {}
    for part, at in {(p.part, p.left_edge): None for p in placements}:
        width = parts[part].width
        ends = [x for a, b in segments for x in (a, b - width) if abs(at - x) <= tolerance]
        flush[part, at] = ends[0] if ends else at
    return [Placement(p.part, flush[p.part, p.left_edge], p.row) for p in placements]


def _runs_backwards(belt: Usable, before: Exposure) -> bool:
    """Whether the mirror image comes first: planning always the same of the two makes mirrored jobs alike."""

    def key(b: Usable, e: Exposure) -> list[tuple[float, float, float]]:
        steps = EDGE_TOLERANCE * b.width
        return [(round((s.start - b.left) / steps), round((s.end - b.left) / steps), s.exposure) for s in e.strips]

    return key(belt.mirrored(), _mirrored(before, belt)) < key(belt, before)


def _mirrored(exposure: Exposure, belt: Usable) -> Exposure:
    return Exposure(tuple(Strip(belt.flip(s.end), belt.flip(s.start), s.exposure) for s in reversed(exposure.strips)))


def _not_yet_fed(planned: Sequence[Placement], fed: Sequence[Placement]) -> list[Placement]:
    """The planned placements less, for each board fed, the one of its part that lies nearest."""
    waiting: dict[int, list[Placement]] = {}
    for p in planned:
        waiting.setdefault(p.part, []).append(p)
    for p in fed:
        nearest = min(waiting[p.part], key=lambda q: abs(q.left_edge - p.left_edge))
        waiting[p.part].remove(nearest)
    return [p for ps in waiting.values() for p in ps]


def _offered(
    parts: Sequence[Part],
    search: LaneSearch,
    boards: Sequence[dict[int, int]],
    gap: float,
    feeds: Feeds,
    before: Sequence[Sequence[Placement]] = (),
    last: frozenset[tuple[int, float]] = frozenset(),
) -> tuple[Placement, ...]:
    """Rows in turn: a rotation where one is even enough, with the feeds from `before` where these still are; else the
    boards where the search put them."""
    if feeds == "rotation":
        rotation, even_enough = Rotation(parts, search.cells), _evenness_wanted(parts, search, boards)
        turns = rotation.kept(search.rows_of(before))
        if turns is None or not even_enough(turns):
            turns = rotation.searched(even_enough)
        if turns is not None:
            placed = _flush(search.placed(turns.rows), parts, search.belt)
            return _in_order([list(row) for _, row in itertools.groupby(placed, key=lambda p: p.row)], last)
    return _in_turn(parts, _flush(search.placements(boards), parts, search.belt), gap, last)


def _evenness_wanted(
    parts: Sequence[Part], search: LaneSearch, boards: Sequence[dict[int, int]]
) -> Callable[[Turns], bool]:
    """Whether a rotation is near the best: by its peak, and on a worn belt, whose old peak would hide it, by its
    spread over the width."""
    peak = max(search.bound / ENOUGH, search.peak_of(boards)) * (1.0 + EDGE_TOLERANCE)
    widths = search.cells.widths
    added = sum(part.count * part.load * part.width for part in parts) / sum(widths)

    def spread(exposure: Sequence[float]) -> float:
        mean = sum(map(mul, widths, exposure)) / sum(widths)
        return sqrt(sum(d * (u - mean) ** 2 for d, u in zip(widths, exposure, strict=True)) / sum(widths))

    most = spread(search.descent.exposure) + ROUGHER * added
    return lambda turns: max(turns.exposure) <= peak and spread(turns.exposure) <= most


def _in_turn(
    parts: Sequence[Part],
    placements: Sequence[Placement],
    gap: float,
    last: frozenset[tuple[int, float]] = frozenset(),
) -> tuple[Placement, ...]:
    """Rows with fewest feeds for these places, widest parts first, and no place twice running where avoidable."""
    rows: list[list[Placement]] = []
    for thickness in sorted({p.thickness for p in parts}):
        mine = [p for p in placements if parts[p.part].thickness == thickness]
        shared = share_rows([(p.left_edge, p.left_edge + parts[p.part].width + gap) for p in mine])
        own: dict[int, list[Placement]] = {}
        for p, row in zip(mine, shared, strict=True):
            own.setdefault(row, []).append(p)
        rows += own.values()
    # Rows alike are one kind; kinds with the widest boards go first, then they take turns.
    kinds = Counter(tuple(sorted((p.part, p.left_edge) for p in row)) for row in rows)
    by_width: dict[float, list[tuple[tuple[tuple[int, float], ...], int]]] = {}
    for kind, count in sorted(kinds.items()):
        by_width.setdefault(max(parts[part].width for part, _ in kind), []).append((kind, count))
    order = []
    for width in sorted(by_width, reverse=True):
        order += take_turns(by_width[width])
    return _in_order([[Placement(part, left, 0) for part, left in kind] for kind in order], last)


def _in_order(rows: list[list[Placement]], last: frozenset[tuple[int, float]]) -> tuple[Placement, ...]:
    """The rows numbered as they follow each other, the first one another than the last one fed where there is one."""

    def again(row: Sequence[Placement]) -> bool:
        return bool(last & _about((p.part, p.left_edge) for p in row))

    if last and rows and again(rows[0]):
        other = next((i for i, row in enumerate(rows) if not again(row)), 0)
        rows.insert(0, rows.pop(other))
    return tuple(
        replace(p, row=number) for number, row in enumerate(rows) for p in sorted(row, key=lambda p: p.left_edge)
    )


def _about(places: Iterable[tuple[int, float]]) -> frozenset[tuple[int, float]]:
    """Parts and left edges to the micrometre: what a person calls the same place."""
    return frozenset((part, round(left, 6)) for part, left in places)


def _judged(
    parts: Sequence[Part],
    belt: Usable,
    before: Exposure,
    placements: Sequence[Placement],
    bound: float,
    fewest: int,
    places: int | None,
    compare: bool = True,
) -> FeedPlan:
    after = exposure_over([*before.strips, *loads_of(parts, placements)], belt.segments)
    centre = None
    if compare:
        middle = [Placement(i, _middle_of(part, belt), 0) for i, part in enumerate(parts) if part.count]
        middle = [p for p in middle for _ in range(parts[p.part].count)]
        middle = [Placement(p.part, p.left_edge, row) for row, p in enumerate(middle)]
        centre = _judged(parts, belt, before, middle, bound, fewest, places, compare=False)
    return FeedPlan(
        placements=tuple(placements),
        peak=after.peak,
        bound=min(bound, after.peak),
        mean_over_peak=after.mean_over_peak,
        lowest_over_peak=after.lowest_over_peak,
        feeds=len({p.row for p in placements}),
        fewest_feeds=fewest,
        unused_width=after.unused_width,
        exposure=after,
        centre=centre,
    )


def _middle_of(part: Part, belt: Usable) -> float:
    """Left edge nearest to the middle, clear of keep-off strips, m."""
    (middle,) = marked_lefts(part.width, belt.width, 1)
    rooms = [(a, max(a, b - part.width)) for a, b in belt.segments if b - a >= part.width - EDGE_TOLERANCE]
    return min((min(max(belt.left + middle, a), b) for a, b in rooms), key=lambda x: abs(x - belt.left - middle))
