"""The band gauge as lines."""

from __future__ import annotations

import pytest
from fake_stations import BAND

from preflight.quantities import Kind, parse
from preflight.tui.charset import ASCII, UNICODE
from preflight.tui.painting import Line, width_of
from preflight.tui.widgets.band_gauge import band_gauge


def _text(line: Line) -> str:
    return "".join(text for text, _ in line)


def _gauge(reading: str, width: int = 56) -> list[str]:
    lines = band_gauge(parse(reading, Kind.PRESSURE), BAND.low, BAND.high, BAND.edges(), width, UNICODE)
    return [_text(line) for line in lines]


@pytest.mark.parametrize("width", [20, 41, 56, 80])
@pytest.mark.parametrize("reading", ["0.1 bar", "4.1 bar", "4.45 bar", "4.8 bar", "40 bar", "64 psi"])
def test_every_line_has_exactly_the_width_and_shows_the_reading(reading: str, width: int) -> None:
    lines = band_gauge(parse(reading, Kind.PRESSURE), BAND.low, BAND.high, BAND.edges(), width, UNICODE)
    assert [width_of(line) for line in lines] == [width] * 3
    assert reading.split(maxsplit=1)[0] in _text(lines[0])


@pytest.mark.parametrize(
    ("reading", "zone"),
    [("3.9 bar", "·"), ("4.15 bar", "▒"), ("4.1 bar", "▒"), ("4.45 bar", "█"), ("4.8 bar", "▒"), ("4.9 bar", "·")],
)
def test_the_pointer_stands_over_the_zone_the_reading_is_in(reading: str, zone: str) -> None:
    above, bar, _ = _gauge(reading)
    assert bar[above.index("▼")] == zone


def test_the_bounds_are_shown_in_the_unit_that_was_read() -> None:
    # 4.1 and 4.8 bar / 6894.757 Pa per psi (pound-force 4.4482216152605 N, inch 25.4 mm) = 59.47 and 69.62 psi
    assert _gauge("64 psi")[2].split() == ["59.5", "psi", "69.6", "psi"]


def test_zones_differ_in_shape_not_only_in_colour() -> None:
    for charset in (UNICODE, ASCII):
        assert len({charset.outside, charset.edge, charset.inside}) == 3


@pytest.mark.parametrize("reading", ["5 m/s", "17.8 m/s", "20 m/s", "31 m/s"])
def test_a_limit_with_one_end_is_drawn_towards_that_end(reading: str) -> None:
    low = parse("17.8 m/s", Kind.AIR_SPEED)
    read = parse(reading, Kind.AIR_SPEED)
    above, bar, bounds = (_text(line) for line in band_gauge(read, low, None, (20.0, None), 50, UNICODE))
    assert "low 17.8 m/s" in bounds
    expected = "·" if read.value < low.value else "▒" if read.value < 20 else "█"
    assert bar[above.index("▼")] in (expected, "▒" if read.value == 20 else expected)


def test_a_limit_at_most_has_its_band_below() -> None:
    high = parse("0.5 mm", Kind.LENGTH)
    above, bar, bounds = (
        _text(line) for line in band_gauge(parse("0.2 mm", Kind.LENGTH), None, high, (None, None), 50, UNICODE)
    )
    assert bar[above.index("▼")] == "█"
    assert bar[-1] == "·"
    assert "high 0.5 mm" in bounds


def test_a_gauge_without_bounds_is_refused() -> None:
    with pytest.raises(ValueError, match="bound"):
        band_gauge(parse("4 bar", Kind.PRESSURE), None, None, (None, None), 40, UNICODE)
