"""The feed plan in a person's words: names of places, the feeds by letter, their turns, the next feed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.engine.places import repeating_pattern, row_names
from preflight.quantities import Kind, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.checks.feed.feed_task import FeedTask
    from preflight.engine.boards import Placement
    from preflight.engine.lanes import FeedPlan
    from preflight.sheet import SetupSheet


def named_by(sheet: SetupSheet, task: FeedTask) -> int | None:
    """How many marks the places are named by; None: by their distance from the left edge."""
    if not sheet.feed.boards:
        return task.places
    if any(board.left_edge is not None for board in sheet.feed.boards):
        return None
    return task.marks or defaults.PLACES_UNMARKED


def feed_name(row: Sequence[Placement], task: FeedTask, count: int | None, units: str) -> str:
    """One feed: "left edge + 5", "left edge + 290 mm (part 2)"."""
    names = row_names(row, task.parts, task.belt, count)
    return " + ".join(_in_units(name, units) for name in names)


@dataclass(frozen=True, slots=True)
class Turns:
    """A plan as a person keeps it in the head: the feeds by letter, and the letters in turn."""

    feeds: tuple[tuple[str, str], ...]
    """Letter and places, "left edge + 6", in the order of their first turn."""
    order: tuple[str, ...]
    """Blocks: "A B, 20 times", "A", and of a last feed that lacks boards "B, 1 board"."""

    @property
    def in_turn(self) -> str:
        """The order as one sentence part: "A B, 20 times; then A"."""
        return "; then ".join(self.order)


def turns(found: FeedPlan, task: FeedTask, count: int | None, units: str) -> Turns:
    """The different feeds of a plan, and when each goes in."""
    different = found.different
    lying = [{(p.part, p.left_edge) for p in row} for row in different]
    steps = []
    for row in found.rows:
        here = {(p.part, p.left_edge) for p in row}
        number = next(number for number, kind in enumerate(lying) if here <= kind)
        letter, lacks = letter_of(number), len(lying[number]) - len(row)
        steps.append(f"{letter}, {len(row)} board{'s' if len(row) > 1 else ''}" if lacks else letter)
    order = []
    for block in repeating_pattern(steps):
        times = f", {block.times} times" if block.times > 1 else ""
        order.append(f"{' '.join(block.steps)}{times}")
    named = tuple((letter_of(number), feed_name(row, task, count, units)) for number, row in enumerate(different))
    return Turns(named, tuple(order))


def letter_of(number: int) -> str:
    """A to Z, then A1 to Z1 and so on.

    >>> letter_of(0), letter_of(27)
    ('A', 'B1')
    """
    round_, letter = divmod(number, 26)
    return f"{chr(ord('A') + letter)}{round_ or ''}"


def next_name(found: FeedPlan, task: FeedTask, count: int | None, units: str) -> str:
    """What goes in next, as on the conveyor: "place 7", "left edge + 5"; empty when the lot is done."""
    if not found.feeds:
        return ""
    name = feed_name(found.rows[0], task, count, units)
    return f"place {name}" if count is not None and name[0].isdigit() else name


def _in_units(name: str, units: str) -> str:
    """The engine names unmarked places in whole millimetres; an inch shop reads inches."""
    number, found, rest = name.partition(" mm")
    if units == "metric" or not found:
        return name
    return show(float(number) / 1000.0, Kind.LENGTH, units) + rest
