"""`preflight feed`: where the boards go over the width, as a pattern with its figures or as one JSON document."""

from __future__ import annotations

import json
import math
import re
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field

from preflight.checks.carrier import carrier_words
from preflight.checks.feed.feed_run import minutes
from preflight.checks.feed.feed_task import FeedTask, planned
from preflight.checks.feed.feed_words import turns
from preflight.checks.judge import span_of
from preflight.cli.shop_files import shop_files
from preflight.engine.boards import Part, usable_width
from preflight.engine.coverage import Strip
from preflight.engine.part_limits import Misfit, PartWindow, largest_skew, occupied_width, part_refusals
from preflight.engine.throughput import extra_pass_time, feed_time, row_lengths, throughput
from preflight.errors import PreflightError
from preflight.outside_text import joined
from preflight.quantities import Kind, Quantity, QuantityError, parse, show
from preflight.shop import defaults
from preflight.shop.fields import Length, Strict
from preflight.shop.files import load
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from preflight.engine.lane_search import Feeds
    from preflight.engine.lanes import FeedPlan
    from preflight.engine.part_limits import Refusal

EXPECTED = 'Write WIDTH x LENGTH x THICKNESS, COUNT, as in --part "180 mm x 700 mm x 19 mm, 60".'
MOST_BOARDS = 100_000


class FeedInputError(PreflightError):
    """A part, trade, skew or wear that cannot be read."""


class UnplaceableError(PreflightError):
    """Parts that may not go through this machine. Exit status 2."""


class WornStrip(Strict):
    """One strip of the belt; positions from the bed's left edge."""

    left: Length
    right: Length
    passed: Length
    """Length of wood passed, "120 m"."""


class WearFile(Strict):
    """A file of strips: `strips = [{ left = "15 mm", right = "300 mm", passed = "120 m" }]`."""

    strips: Annotated[tuple[WornStrip, ...], Field(strict=False)]


def run(arguments: argparse.Namespace) -> int:
    """Plan and print. Raises `FeedInputError` (exit 3) or `UnplaceableError` (exit 2)."""
    machine = shop_files(arguments.shop, arguments.machine).load(Machine, arguments.machine).value
    sizes = [_part(text) for text in arguments.part]
    skew = _skew(arguments.skew)
    task = _task(machine, sizes, skew, _trade(arguments.trade), arguments.wear, at_marks=arguments.at_marks)
    found = planned(task)
    speed = _speed(arguments.feed, machine)
    print(
        json.dumps(_document(found, task, speed), indent=2)
        if arguments.json
        else joined(_lines(found, task, machine, speed))
    )
    return 0


def _part(text: str) -> tuple[Quantity, Quantity, Quantity, int]:
    size, comma, count = text.rpartition(",")
    words = re.split(r"\s*[x×]\s*", size.strip())
    digits = count.strip()
    if not comma or len(words) != 3 or not re.fullmatch(r"[0-9]{1,6}", digits):
        raise FeedInputError(f"--part {text!r}: three lengths and a count are wanted.", EXPECTED)
    try:
        width, length, thickness = (parse(word, Kind.LENGTH) for word in words)
    except QuantityError as error:
        raise FeedInputError(f"--part {text!r}: {error}", EXPECTED) from error
    if not (width.value > 0 and length.value > 0 and thickness.value > 0 and 0 < int(digits) <= MOST_BOARDS):
        what = f"sizes and count are above zero, the count at most {MOST_BOARDS}"
        raise FeedInputError(f"--part {text!r}: {what}.", EXPECTED)
    return width, length, thickness, int(digits)


def _skew(text: str) -> float:
    try:
        skew = float(text)
    except ValueError:
        skew = math.nan
    if not 0.0 <= skew < 90.0:
        raise FeedInputError(f"--skew {text!r} is not 0 to 90 degrees.", "Write it in degrees, as in --skew 15.")
    return skew


def _trade(text: str) -> Feeds:
    if text == "rotation":
        return "rotation"
    if text == "evenest":
        return "evenest"
    if text == "fewest":
        return "fewest"
    if not re.fullmatch(r"[0-9]{1,4}", text):
        raise FeedInputError(f"--trade {text!r}: rotation, evenest, fewest, or a number of extra feeds is wanted.")
    return int(text)


def _speed(text: str | None, machine: Machine) -> float:
    limit = machine.conveyor.feed_speed
    if text is None:
        usual = defaults.FEED_SPEED.value
        return usual if limit is None else min(max(usual, limit.floor or 0.0), limit.ceiling or math.inf)
    try:
        speed = parse(text, Kind.FEED_SPEED)
    except QuantityError as error:
        raise FeedInputError(f"--feed: {error}", 'As in --feed "6 m/min".') from error
    if speed.value <= 0.0:
        raise FeedInputError(f"--feed {speed}: the feed must run.")
    if limit is not None and not (limit.floor or 0.0) <= speed.value <= (limit.ceiling or math.inf):
        span = span_of(limit, Kind.FEED_SPEED, machine.units)
        raise FeedInputError(f"--feed {speed} is outside the machine's range ({span}).")
    return speed.value


def _task(
    machine: Machine,
    sizes: list[tuple[Quantity, Quantity, Quantity, int]],
    skew: float,
    trade: Feeds,
    wear: str | None,
    *,
    at_marks: bool,
) -> FeedTask:
    bed, units = machine.conveyor, machine.units
    usable = usable_width(bed.working_width.value, bed.working_width.value, bed.edge_margin.value)
    window = PartWindow(
        bed.hold_down_spacing.value if bed.hold_down_spacing else None,
        bed.part_length.floor if bed.part_length else None,
        bed.part_length.ceiling if bed.part_length else None,
        bed.part_width.floor if bed.part_width else defaults.PART_WIDTH.floor,
        usable.width,
        bed.part_thickness.floor if bed.part_thickness else defaults.PART_THICKNESS.floor,
        bed.part_thickness.ceiling if bed.part_thickness else None,
    )
    refused, parts = [], []
    for number, (width, length, thickness, count) in enumerate(sizes, 1):
        for refusal in part_refusals(width.value, length.value, thickness.value, window, skew):
            what = _refused(refusal, width.value, length.value, skew, usable.width, machine)
            refused.append(f"Part {number} is {show(refusal.by, Kind.LENGTH, units)} {what}")
        across = occupied_width(width.value, length.value, skew)
        along = occupied_width(length.value, width.value, skew)
        weight = width.value * length.value / (across * along)
        parts.append(Part(across, along, count, weight, thickness.value))
    if refused:
        raise UnplaceableError(" ".join(refused), exit_status=2)
    marks = bed.places.count if bed.places else None
    return FeedTask(tuple(parts), usable, _wear(wear), marks if at_marks else None, marks, trade)


def _refused(refusal: Refusal, width: float, length: float, skew: float, usable: float, machine: Machine) -> str:
    """What is wrong with a part and what may be done, as the end of its sentence."""
    words = {
        Misfit.TIPS: "narrower than 1.5 times its thickness: it tips over.",
        Misfit.TOO_SHORT: "too short for the hold-down rollers.",
        Misfit.TOO_WIDE: f"too wide for the usable {show(usable, Kind.LENGTH, machine.units)}"
        + (f" at {skew:g}° skew." if skew else "."),
    }
    said = words.get(refusal.misfit, f"{refusal.misfit.value} for this machine.")
    if refusal.carrier:
        return f"{said} {carrier_words(machine)}"
    if refusal.misfit is Misfit.TOO_WIDE and skew and width <= usable:
        return f"{said} At most {math.floor(largest_skew(width, length, usable))}° fits."
    return said


def _wear(path: str | None) -> tuple[Strip, ...]:
    if path is None:
        return ()
    from pathlib import Path

    file: Path = Path(path)
    strips = load(file, WearFile).value.strips
    for number, strip in enumerate(strips, 1):
        if strip.right.value <= strip.left.value:
            raise FeedInputError(f"{path}: strips.{number}: 'right' {strip.right} is not right of 'left' {strip.left}.")
    return tuple(Strip(s.left.value, s.right.value, s.passed.value) for s in strips)


def _time(found: FeedPlan, task: FeedTask, speed: float) -> float:
    return feed_time(row_lengths(task.parts, found.rows), defaults.FEED_SPACING.value, speed)


def _document(found: FeedPlan, task: FeedTask, speed: float) -> dict[str, Any]:
    """Stable keys; lengths and exposures in m, the time in s for one pass; left edges from the bed's left edge."""
    figures = _figures(found)
    centre = {"centre": _figures(found.centre)} if found.centre is not None else {}
    return {
        "placements": [{"part": p.part + 1, "left_edge": p.left_edge, "row": p.row + 1} for p in found.placements],
        **figures,
        "fewest_feeds": found.fewest_feeds,
        "time": _time(found, task, speed),
        "feed_speed": speed,
        "usable_width": task.belt.width,
        **centre,
    }


def _figures(found: FeedPlan) -> dict[str, Any]:
    return {
        "peak": found.peak,
        "mean_over_peak": found.mean_over_peak,
        "lowest_over_peak": found.lowest_over_peak,
        "bound": found.bound,
        "share_of_best": found.share_of_best,
        "feeds": found.feeds,
        "unused_width": found.unused_width,
    }


def _lines(found: FeedPlan, task: FeedTask, machine: Machine, speed: float) -> list[str]:
    units = machine.units

    def length(value: float) -> str:
        return show(value, Kind.LENGTH, units)

    unused = f"{length(found.unused_width)} of {length(task.belt.width)} unused"
    seconds = _time(found, task, speed)
    extra = extra_pass_time(row_lengths(task.parts, found.rows), defaults.FEED_SPACING.value, speed)
    more = found.feeds - found.fewest_feeds
    taken = turns(found, task, task.places, units)
    lines = [
        f"{machine.name}: {len(found.placements)} boards in {found.feeds} feeds"
        + (f", {more} more than the fewest found, for evenness." if more > 0 else ", as few as any found."),
        *(f"  {letter}  {places}" for letter, places in taken.feeds),
        f"In turn: {taken.in_turn}.",
        f"Share of best {found.share_of_best:.1%}: peak {found.peak:.2f} m, no plan has less than {found.bound:.2f} m.",
        f"Mean over peak {found.mean_over_peak:.2f}, lowest over peak {found.lowest_over_peak:.2f}, {unused}.",
    ]
    if (centre := found.centre) is not None:
        lines.append(
            f"All down the middle: share of best {centre.share_of_best:.1%}, mean over peak "
            f"{centre.mean_over_peak:.2f}, lowest over peak {centre.lowest_over_peak:.2f}, "
            f"{length(centre.unused_width)} unused."
        )
    lines.append(
        f"About {minutes(seconds)} a pass at {show(speed, Kind.FEED_SPEED, units)}, "
        f"{throughput(len(found.placements), seconds):.0f} boards an hour; one more pass costs {minutes(extra)}."
    )
    return lines
