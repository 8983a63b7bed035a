"""The feed plan in a person's words: names of places, the repeating pattern with its counts, the next feed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.engine.places import pattern_of, row_names
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


def pattern_blocks(found: FeedPlan, task: FeedTask, count: int | None, units: str) -> list[str]:
    """The plan as blocks of feeds with their counts: "left edge, right edge: 15 times".

    Feeds are parted by commas, boards abreast by plus signs.
    """
    blocks = []
    for block in pattern_of(found, task.parts, task.belt, count):
        feeds = ", ".join(" + ".join(_in_units(name, units) for name in feed) for feed in block.steps)
        blocks.append(f"{feeds}: {block.times} times" if block.times > 1 else f"{feeds}: once")
    return blocks


def short_pattern(found: FeedPlan, task: FeedTask, count: int | None, units: str) -> str:
    """The whole pattern in few words: "left + 360, 180 + right: 12 times; left + right: once"; units as the shop's."""
    text = "; ".join(pattern_blocks(found, task, count, units))
    for long, short in ((" edge", ""), (f" {Kind.LENGTH.unit_in(units)}", ""), ("(part ", "(")):
        text = text.replace(long, short)
    return text


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
