"""`preflight marks`: what on a machine prints marks at the pitch that was measured, and the test that proves it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from preflight.checks.test_board.board_marks import ranked, sources_of, test_words
from preflight.cli.shop_files import shop_files
from preflight.errors import PreflightError
from preflight.quantities import Kind, Quantity, QuantityError, parse, show
from preflight.shop import defaults
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    import argparse

    from preflight.engine.marks import FeedTest, MeasuredPitch, RankedSource


def run(arguments: argparse.Namespace) -> int:
    """Rank the sources. Raises `PreflightError` for a profile, span, count or feed that cannot be read."""
    machine = shop_files(arguments.shop, arguments.machine).load(Machine, arguments.machine).value
    span = _read(arguments.span, Kind.LENGTH, "--span")
    feed = _read(arguments.feed, Kind.FEED_SPEED, "--feed") if arguments.feed else defaults.FEED_SPEED
    if span.value <= 0 or feed.value <= 0 or arguments.count < 1:
        raise PreflightError("Span, feed and count are above zero.", "Count the spaces between marks, ten or more.")
    pitch, order, test = ranked(span, arguments.count, sources_of(machine, feed.value, {}, {}))
    if arguments.json:
        print(json.dumps(_document(pitch, order, test, machine.units), indent=2))
        return 0
    units = machine.units
    print(
        f"{machine.name}: {span.text} over {arguments.count} spaces is {show(pitch.pitch, Kind.LENGTH, units)} "
        f"from mark to mark, at {feed.text}."
    )
    for number, one in enumerate(order, 1):
        off, margin = (show(value, Kind.LENGTH, units) for value in (abs(one.source.pitch - pitch.pitch), one.margin))
        fits = f"fits, {off} off" if one.fits else f"does not fit, {off} off"
        print(
            f"{number}. {one.source.name}: {show(one.source.pitch, Kind.LENGTH, units)}, {fits} "
            f"(rule and speeds explain up to {margin})"
        )
    if (fitting := sum(one.fits for one in order)) > 1:
        print(f"{fitting} of them fit: this pitch alone does not tell them apart.")
    print(f"Test: {test_words(order, test, units)}")
    return 0


def _read(text: str, kind: Kind, option: str) -> Quantity:
    try:
        return parse(text, kind)
    except QuantityError as error:
        raise PreflightError(
            f"{option}: {error}", f'Write it with its unit, as in {option} "{_EXAMPLE[kind]}".'
        ) from error


_EXAMPLE = {Kind.LENGTH: "121 mm", Kind.FEED_SPEED: "6 m/min"}


def _document(pitch: MeasuredPitch, order: list[RankedSource], test: FeedTest, units: str) -> dict[str, Any]:
    def length(value: float) -> dict[str, Any]:
        return {"value": value, "unit": "m", "text": show(value, Kind.LENGTH, units)}

    return {
        "pitch": length(pitch.pitch),
        "error": length(pitch.error),
        "sources": [
            {
                "source": one.source.name,
                "kind": one.source.kind,
                "pitch": length(one.source.pitch),
                "distance": one.distance,
                "fits": one.fits,
                "margin": length(one.margin),
            }
            for one in order
        ],
        "test": {
            "feed_ratio": test.feed_ratio,
            "separates": test.separates,
            "pitches": [{"source": source.name, "pitch": length(value)} for source, value in test.pitches],
            "words": test_words(order, test, units),
        },
    }
