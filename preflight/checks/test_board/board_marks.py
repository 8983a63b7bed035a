"""Repeating marks on the test board: their pitch against everything on this machine that repeats."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.checks.removal.removal_facts import feed_speed_of
from preflight.engine.marks import (
    FeedTest,
    MarkSource,
    MeasuredPitch,
    RankedSource,
    drum_pitch,
    feed_roller_pitch,
    feed_test,
    joint_pitch,
    measured_pitch,
    oscillation_pitch,
    rank_sources,
)
from preflight.engine.tension import belt_speed
from preflight.quantities import Kind, computed, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preflight.quantities import Quantity
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Head, Machine
    from preflight.shop.view import ShopView

REPEATING: Final = ("chatter", "ripple", "dashes in a row", "cross band", "waves far apart", "raised wavy line")
"""Words of the look in raking light after which a span and a count are asked."""
SHOWN: Final = 3


def sources_of(
    machine: Machine, feed_speed: float, belts: Mapping[str, float], periods: Mapping[str, float]
) -> list[MarkSource]:
    """What prints a repeating mark on this machine at a feed (m/s, above zero).

    `belts` is the length of the belt on a head in m, else the middle of its window counts; `periods` the time of
    one swing out and back in s, for heads that were timed.
    """
    found: list[MarkSource] = []
    for head in machine.heads:
        if head.drum_diameter and head.drum_speed and head.drum_diameter.value > 0 and head.drum_speed.value > 0:
            speed = belt_speed(head.drum_diameter.value, head.drum_speed.value)
            length = belts.get(head.id) or _nominal(head)
            if length > 0:
                pitch = joint_pitch(feed_speed, length, speed)
                found.append(MarkSource("belt joint", f"belt joint of head {head.id}", pitch))
            pitch = drum_pitch(feed_speed, head.drum_speed.value)
            found.append(MarkSource("drum", f"drum of head {head.id}", pitch))
        if periods.get(head.id, 0.0) > 0:
            pitch = oscillation_pitch(feed_speed, periods[head.id])
            found.append(MarkSource("oscillation", f"swing of the belt on head {head.id}", pitch))
    roller = machine.conveyor.roller_diameter
    if roller is not None and roller.value > 0:
        found.append(MarkSource("feed roller", "feed or hold-down roller", feed_roller_pitch(roller.value)))
    return found


def ranked(
    span: Quantity, count: int, sources: Sequence[MarkSource]
) -> tuple[MeasuredPitch, list[RankedSource], FeedTest]:
    """Measured pitch, sources nearest first, and the feed test. Raises ValueError for a span or count of nothing."""
    pitch = measured_pitch(span.value, count)
    order = rank_sources(pitch, sources)
    return pitch, order, feed_test(pitch, order)


def test_words(order: Sequence[RankedSource], test: FeedTest, units: str) -> str:
    """The separating test with the pitch that each source still in question predicts."""
    if not order:
        return "The profile names no drum, speed or roller to compare with."
    if not test.pitches:
        nearest = order[0].source
        predicted = show(nearest.pitch, Kind.LENGTH, units)
        return f"None fits; nearest is the {nearest.name} at {predicted}. Measure over more marks, and time the feed."
    names: dict[str, list[str]] = {}
    for source, pitch in test.pitches[:SHOWN]:
        names.setdefault(show(round(pitch, 9), Kind.LENGTH, units), []).append(source.name)
    own = ", ".join(f"{pitch} if it is the {' or the '.join(of)}" for pitch, of in names.items())
    change = f"Feed {test.feed_ratio - 1:.0%} faster and measure again: {own}"
    if len(test.pitches) > 1 and not test.separates:
        return f"{change}. Still alike: lift one head at a time."
    return f"{change}; another pitch means another source."


def marks(sheet: SetupSheet, shop: ShopView) -> list[Finding]:
    """The likeliest source of the marks that were counted, and the test that proves it; none when none were."""
    reading = sheet.test_board.marks
    if reading is None or reading.span.value <= 0:
        return []
    machine, units = shop.machine, shop.machine.units
    feed = feed_speed_of(sheet, machine)
    pitch, order, test = ranked(reading.span, reading.count, sources_on(sheet, shop))
    size = computed(pitch.pitch, Kind.LENGTH, units)
    fits = [one for one in order if one.fits]
    if fits:
        also = f", or {fits[1].source.name}" if len(fits) > 1 else ""
        statement = f"{size.text} from mark to mark: likeliest {fits[0].source.name}{also}."
    else:
        statement = f"{size.text} from mark to mark: nothing that turns on this machine prints that."
    listed = "; ".join(f"{one.source.name} {show(one.source.pitch, Kind.LENGTH, units)}" for one in order[:4])
    return [
        Finding(
            "marks",
            Verdict.CAUTION,
            statement,
            test_words(order, test, units),
            measured=size,
            basis="heads, belts and rollers of the profile",
            source=defaults.PRACTICE,
            workings=(
                f"pitch = span / spaces = {reading.span.text} / {reading.count} = {size.text} at "
                f"{show(feed, Kind.FEED_SPEED, units)}; {listed}"
            ),
            actions=("feed changed and measured", "heads lifted one by one", "shown to the lead"),
        )
    ]


def sources_on(sheet: SetupSheet, shop: ShopView) -> list[MarkSource]:
    """Sources with the belts, swings and feed of this sheet."""
    belts = {on.head: card.length_left.value for on in sheet.belts if (card := shop.belt(on)) and card.length_left}
    periods = {head: swing.out.value + swing.back.value for head, swing in sheet.running.swing.items()}
    return sources_of(shop.machine, feed_speed_of(sheet, shop.machine), belts, periods)


def _nominal(head: Head) -> float:
    ends = [end for end in (head.belt_length.floor, head.belt_length.ceiling) if end is not None]
    return sum(ends) / len(ends) if ends else 0.0
