"""Places a person can follow with boards in both hands: marks on the machine, names, a short repeating pattern."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from preflight.engine.lane_cells import marked_lefts

if TYPE_CHECKING:
    from preflight.engine.boards import Part, Placement, Usable
    from preflight.engine.lanes import FeedPlan

Step = TypeVar("Step", bound=Hashable)

LONGEST_STEP = 12
"""A pattern with more feeds than this before it repeats is not looked for."""


@dataclass(frozen=True)
class Block(Generic[Step]):
    """Feeds that follow each other, and how often the whole block is repeated."""

    steps: tuple[Step, ...]
    times: int


def marked_places(width: float, belt: Usable, count: int) -> tuple[float, ...]:
    """Left edges (m) of a part of this width at the marks 0 to count − 1, hard left to hard right.

    Raises ValueError when the part is wider than the usable width, or there is no mark.

    >>> from preflight.engine.boards import Usable
    >>> [round(x, 3) for x in marked_places(0.180, Usable(0.910, 0.015), 3)]
    [0.015, 0.38, 0.745]
    """
    if width > belt.width * (1.0 + 1e-9):
        raise ValueError(f"the part is {(width - belt.width) * 1000:.1f} mm wider than the usable width")
    return tuple(belt.left + x for x in marked_lefts(width, belt.width, count))


def nearest_place(left_edge: float, width: float, belt: Usable, count: int) -> int:
    """Number of the marked place nearest to a left edge (m)."""
    marks = marked_places(width, belt, count)
    return min(range(count), key=lambda i: (abs(marks[i] - left_edge), i))


def place_name(left_edge: float, width: float, belt: Usable, count: int | None = None) -> str:
    """What to call a place: "left edge", "right edge", the number of its mark, or millimetres from the left edge.

    >>> from preflight.engine.boards import Usable
    >>> belt = Usable(0.910, 0.015)
    >>> place_name(0.015, 0.180, belt), place_name(0.745, 0.180, belt), place_name(0.380, 0.180, belt, 5)
    ('left edge', 'right edge', '2')
    >>> place_name(0.135, 0.180, belt)
    '120 mm'
    """
    if abs(left_edge - belt.left) <= 5e-4:
        return "left edge"
    if abs(left_edge + width - belt.right) <= 5e-4:
        return "right edge"
    if count is not None:
        return str(nearest_place(left_edge, width, belt, count))
    return f"{(left_edge - belt.left) * 1000:.0f} mm"


def row_names(
    row: Sequence[Placement], parts: Sequence[Part], belt: Usable, count: int | None = None
) -> tuple[str, ...]:
    """Names of the places of one feed, left to right; the part is named too where the job has several.

    >>> from preflight.engine.boards import Part, Placement, Usable
    >>> row_names([Placement(0, 0.015, 0)], [Part(0.18, 0.7, 60)], Usable(0.910, 0.015), 10)
    ('left edge',)
    """
    several = sum(1 for p in parts if p.count) > 1
    return tuple(
        place_name(p.left_edge, parts[p.part].width, belt, count) + (f" (part {p.part + 1})" if several else "")
        for p in sorted(row, key=lambda p: p.left_edge)
    )


def repeating_pattern(steps: Sequence[Step]) -> tuple[Block[Step], ...]:
    """The same steps in the same order, as few blocks: each block is the repeat that covers most of what is left.

    >>> [(b.steps, b.times) for b in repeating_pattern("abababc")]
    [(('a', 'b'), 3), (('c',), 1)]
    """
    blocks: list[Block[Step]] = []
    single: list[Step] = []
    at = 0
    while at < len(steps):
        best_length, best_times = 1, 1
        for length in range(1, min(LONGEST_STEP, len(steps) - at) + 1):
            times = 1
            block = steps[at : at + length]
            while steps[at + times * length : at + (times + 1) * length] == block:
                times += 1
            if times > 1 and times * length > best_times * best_length:
                best_length, best_times = length, times
        if best_times == 1:
            single.append(steps[at])
        else:
            if single:
                blocks.append(Block(tuple(single), 1))
                single = []
            blocks.append(Block(tuple(steps[at : at + best_length]), best_times))
        at += best_length * best_times
    if single:
        blocks.append(Block(tuple(single), 1))
    return tuple(blocks)


def pattern_of(
    plan: FeedPlan, parts: Sequence[Part], belt: Usable, count: int | None = None
) -> tuple[Block[tuple[str, ...]], ...]:
    """The plan as a person follows it: blocks of feeds, each a tuple of place names, repeated so often."""
    return repeating_pattern([row_names(row, parts, belt, count) for row in plan.rows])


def tallies(
    placements: Sequence[Placement], parts: Sequence[Part], belt: Usable, count: int
) -> tuple[tuple[int, ...], ...]:
    """Boards by part and marked place."""
    table = [[0] * count for _ in parts]
    for p in placements:
        table[p.part][nearest_place(p.left_edge, parts[p.part].width, belt, count)] += 1
    return tuple(tuple(row) for row in table)
