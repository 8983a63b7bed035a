"""A reading against a limit: inside, near an end, outside, and too near to tell."""

from __future__ import annotations

import pytest

from preflight.checks.finding import Verdict
from preflight.checks.judge import Basis, basis, judged, span_of, verdict_of
from preflight.quantities import Kind, parse
from preflight.shop.limits import Limit


def limit(**bounds: str) -> Limit:
    found = {name: parse(text, Kind.PRESSURE) for name, text in bounds.items()}
    return Limit(found.get("low"), found.get("high"), found.get("caution_low"), found.get("caution_high"))


BAND = limit(low="3.2 bar", high="4.2 bar")


@pytest.mark.parametrize(
    ("text", "verdict", "side"),
    [
        ("3.19 bar", Verdict.STOP, "low"),
        ("3.2 bar", Verdict.CAUTION, "low"),
        ("3.29 bar", Verdict.CAUTION, "low"),
        ("3.3 bar", Verdict.OK, ""),
        ("4.1 bar", Verdict.OK, ""),
        ("4.11 bar", Verdict.CAUTION, "high"),
        ("4.2 bar", Verdict.CAUTION, "high"),
        ("4.21 bar", Verdict.STOP, "high"),
    ],
)
def test_the_edge_band_is_a_tenth_of_the_band_and_a_value_on_a_limit_is_inside(
    text: str, verdict: Verdict, side: str
) -> None:
    assert verdict_of(parse(text, Kind.PRESSURE).value, BAND) == (verdict, side)


def test_a_limit_in_one_unit_holds_a_reading_on_it_in_another() -> None:
    window = Limit(high=parse("1905 mm", Kind.LENGTH), caution_high=parse("1905 mm", Kind.LENGTH))
    assert verdict_of(parse("75 in", Kind.LENGTH).value, window)[0] is Verdict.OK


def test_stated_caution_bounds_take_the_place_of_the_edge_band() -> None:
    stated = limit(high="10 bar", caution_high="8 bar")
    assert verdict_of(8.0e5, stated)[0] is Verdict.OK
    assert verdict_of(8.1e5, stated) == (Verdict.CAUTION, "high")


def test_a_stop_says_by_how_much_and_never_reads_as_equal_to_its_limit() -> None:
    floor = Basis(Limit(low=parse("17.8 m/s", Kind.AIR_SPEED)), "velocity", "book")
    found = judged("run main", "Air", parse("17.76 m/s", Kind.AIR_SPEED), floor, "metric", too_low="Open a gate.")
    assert found.verdict is Verdict.STOP
    assert "17.76 m/s" in found.statement
    assert "0.04 m/s below" in found.statement


def test_a_limit_nearer_than_the_instrument_can_tell_is_a_caution_that_says_so() -> None:
    by = Basis(Limit(high=parse("0.20 mm", Kind.LENGTH)), "taper", "book")
    found = judged("taper", "Taper", parse("0.15 mm", Kind.LENGTH), by, "metric", resolution=1e-4)
    assert found.verdict is Verdict.CAUTION
    assert "cannot decide" in found.statement


def test_outside_stays_a_stop_however_coarse_the_instrument() -> None:
    assert verdict_of(4.21e5, BAND, resolution=1e5)[0] is Verdict.STOP


def test_a_reading_typed_in_another_unit_is_shown_as_typed_and_in_the_shops() -> None:
    found = judged("head 1", "Gauge", parse("52 psi", Kind.PRESSURE), Basis(BAND, "f", "s"), "metric")
    assert "52 psi (3.59 bar)" in found.statement


def test_the_source_is_the_limits_own_then_the_book_then_the_default() -> None:
    own = Limit(high=parse("1 bar", Kind.PRESSURE), source="shop trial, May")
    by_own, by_book, by_default = basis(own, "f", "book"), basis(BAND, "f", "book"), basis(None, "f", "book", own)
    assert by_own is not None
    assert by_own.source == "shop trial, May"
    assert by_book is not None
    assert by_book.source == "book"
    assert by_default is not None
    assert by_default.limit is own
    assert basis(None, "f", "book") is None


def test_a_limit_is_said_in_words() -> None:
    assert span_of(BAND, Kind.PRESSURE, "metric") == "3.2 to 4.2 bar"
    assert span_of(limit(high="0.3 bar"), Kind.PRESSURE, "metric") == "at most 0.3 bar"
    assert span_of(limit(low="5.5 bar"), Kind.PRESSURE, "metric") == "at least 5.5 bar"
