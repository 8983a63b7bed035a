"""The pure parts of table, list, top line, footer and charset."""

from __future__ import annotations

import pytest
from fake_stations import STATIONS, FakeRun
from hypothesis import given
from hypothesis import strategies as st

from preflight.checks.finding import Verdict
from preflight.outside_text import shown
from preflight.quantities import Kind
from preflight.tui.charset import ASCII, UNICODE, charset
from preflight.tui.commands import COMMANDS
from preflight.tui.painting import fit, width_of, wrap
from preflight.tui.rows import Choice, Row
from preflight.tui.run import Station
from preflight.tui.widgets.entry_lines import table_lines, understood, window
from preflight.tui.widgets.footer import Now, footer_labels, footer_line
from preflight.tui.widgets.station_list import list_lines
from preflight.tui.widgets.top_line import top_line


@given(st.integers(1, 60), st.integers(0, 59), st.integers(9, 40))
def test_the_current_row_is_always_on_the_screen(count: int, at: int, height: int) -> None:
    at = min(at, count - 1)
    seen = window(count, at, height)
    assert 0 <= seen.start <= at < seen.stop <= count
    assert seen.line <= max(2, height - 7)


def test_only_a_reading_that_is_not_plain_is_echoed() -> None:
    row = Row("x", "gauge, bar", kind=Kind.PRESSURE, unit="bar")
    # 62 psi x 6894.757 Pa = 427475 Pa
    echoes = {typed: understood(row, typed) for typed in ("4.2", "4.2 bar", "4,2", "62 psi", "quux", "")}
    assert echoes == {"4.2": "", "4.2 bar": "", "4,2": "= 4.2 bar", "62 psi": "= 4.27 bar", "quux": "", "": ""}


@pytest.mark.parametrize("typed", ["1.095", "1.095 mm", "27.125", "0.0005"])
def test_an_echo_in_the_unit_typed_never_looks_rounded(typed: str) -> None:
    row = Row("x", "joint step, mm", kind=Kind.LENGTH, unit="mm")
    assert understood(row, typed) == ""


def test_many_choices_show_the_chosen_one_and_count_the_rest() -> None:
    choices = tuple(Choice(f"choice number {n:02}") for n in range(20))
    station = Station("stock", "stock", "Which.", lambda _: (Row("pick", "which", choices=choices),))
    for n in range(20):
        run = FakeRun((station,)).resumed({"pick": f"choice number {n:02}"}, {}, {})
        lines = table_lines(run, "stock", "pick", 60, 9, UNICODE, picture=False)
        text = ["".join(span for span, _ in line) for line in lines]
        assert any(f"‹choice number {n:02}›" in line for line in text)
        assert any(" more" in line for line in text)
        assert all(width_of(line) <= 60 for line in lines)
        roomy = table_lines(run, "stock", "pick", 60, 16, UNICODE, picture=False)
        shown = "".join(span for line in roomy for span, _ in line)
        assert all(choice.label in shown for choice in choices), "free lines show every choice"


def test_the_footer_never_overflows_and_has_at_most_six_labels_four_when_narrow() -> None:
    for now in (Now(), Now(("act", "job"), {"accept": "again looks on, no release", "act": "takes 930 Pa"})):
        for width in range(10, 200):
            assert width_of(footer_line(width, now)) == width
            assert len(footer_labels(width, now)) <= (4 if width < 80 else 6)
    assert len(footer_labels(80, Now())) == 6
    assert len(footer_labels(60, Now())) == 4


@pytest.mark.parametrize("needed", [("act",), ("job",), ("act", "job"), ("happened", "done")])
@pytest.mark.parametrize("width", [60, 80])
def test_what_the_row_needs_stands_in_the_footer_and_the_least_wanted_gives_way(
    needed: tuple[str, ...], width: int
) -> None:
    shown = [command.id for command, _, _ in footer_labels(width, Now(needed, {"accept": "again goes on"}))]
    assert shown[0] == "accept"
    assert set(needed) <= set(shown)
    assert "again goes on" in "".join(text for text, _ in footer_line(width, Now(needed, {"accept": "again goes on"})))


def test_no_key_is_declared_twice() -> None:
    keys = [key for command in COMMANDS for key in command.keys]
    assert len(keys) == len(set(keys))


def test_the_list_has_mark_title_and_word_of_every_station_in_20_columns() -> None:
    run = FakeRun(STATIONS).resumed({"glue.state": "smeared"}, {}, {})
    lines = list_lines(run, "stock", 20, UNICODE)
    text = ["".join(span for span, _ in line) for line in lines]
    assert {width_of(line) for line in lines} == {20}
    assert len(lines) <= 16
    assert text[1] == "▲ glue       caution"
    assert all(any(f" {station.title} " in line for line in text) for station in STATIONS)


def test_a_long_machine_name_gives_way_to_time_and_verdict() -> None:
    names = ("the machine with the longest name in the hall " * 3, "J-1182", "Ada")
    line = top_line(names, "07:12", Verdict.CAUTION, 80, UNICODE)
    text = "".join(span for span, _ in line)
    assert width_of(line) == 80
    assert text.endswith("07:12  start-up  ▲ caution ")
    assert "J-1182" in text
    assert "Ada" in text


def test_four_marks_differ_in_either_set() -> None:
    assert len(set(UNICODE.marks)) == len(set(ASCII.marks)) == 4


@given(st.text(max_size=40))
def test_ascii_keeps_every_character_in_its_place(text: str) -> None:
    assert ASCII.plain(text).isascii()
    assert len(ASCII.plain(text)) == len(shown(text))


def test_the_set_follows_the_option_then_the_encoding() -> None:
    assert charset("auto", "utf-8") is charset("unicode", "cp437") is UNICODE
    assert charset("auto", "cp437") is charset("ascii", "utf-8") is ASCII


@given(st.text(st.characters(codec="ascii", exclude_categories=["C"])), st.integers(1, 40))
def test_wrapping_loses_no_word_and_keeps_the_width(text: str, width: int) -> None:
    lines = wrap(text, width)
    assert all(0 < len(line) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert len(fit(text, width)) == width
