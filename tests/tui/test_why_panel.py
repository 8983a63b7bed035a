"""The why-panel as lines: what gives way to what when a text is long."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.checks.finding import Finding, Verdict
from preflight.quantities import Kind, parse
from preflight.tui.charset import UNICODE
from preflight.tui.painting import width_of
from preflight.tui.widgets.why_panel import limit_text, why_lines

STATEMENT = (
    "Head 2 (steel drum): the belt measures 1907.5 mm left and 1914.0 mm right; "
    "it is 6.5 mm conical and 4.0 mm over its window."
)
REMEDY = (
    "Do not mount it: cut and join a belt of 1900 mm, or give it back; a belt that is too long runs off before the "
    "tensioner has taken it up."
)
CAUTION = ("DANGER", "Lock the machine off and release stored air before hands go in.")
LOW, HIGH = parse("1890 mm", Kind.LENGTH), parse("1910 mm", Kind.LENGTH)
LONG = Finding("head 2", Verdict.STOP, STATEMENT, REMEDY, None, LOW, HIGH, (), "heads.2.belt.length", "machine book")


def _text(lines: list[list[tuple[str, str]]]) -> str:
    return " ".join(" ".join("".join(text for text, _ in line) for line in lines).split())


def _shown(
    finding: Finding, caution: tuple[str, str] | None, width: int = 80, height: int = 6, chosen: str = ""
) -> str:
    lines = [list(line) for line in why_lines(finding, caution, width, height, UNICODE, chosen)]
    assert len(lines) <= height
    assert all(width_of(line) <= width for line in lines)
    return _text(lines)


def test_sentence_remedy_limit_and_caution_stand_together_at_80_by_6() -> None:
    text = _shown(LONG, CAUTION)
    for part in (STATEMENT, REMEDY, "limit 1890 to 1910 mm · heads.2.belt.length", CAUTION[1], "DANGER", "stop"):
        assert part in text, part


def test_the_longest_texts_that_a_finding_may_have_are_whole_beside_the_caution() -> None:
    statement, remedy = ("ten chars " * 15)[:149] + ".", ("ten chars " * 20)[:199] + "."
    text = _shown(Finding("x", Verdict.CAUTION, statement, remedy, basis="a.b"), CAUTION)
    assert statement in text
    assert remedy in text
    assert CAUTION[1] in text


def test_when_even_that_is_too_long_the_sentence_is_cut_and_the_remedy_is_not() -> None:
    text = _shown(Finding("x", Verdict.STOP, "very long " * 60, REMEDY), CAUTION)
    assert "…" in text
    assert REMEDY in text
    assert CAUTION[1] in text


def test_a_short_finding_stands_in_columns() -> None:
    finding = Finding("head 1", Verdict.CAUTION, "Near the end.", "Set 4.4 bar.", actions=("set to 4.4 bar",))
    lines = ["".join(text for text, _ in line) for line in why_lines(finding, None, 80, 6, UNICODE)]
    assert [line.split()[0] for line in lines] == ["▲", "do", "F4"]
    assert all(line[11] != " " and line[10] == " " for line in lines)


def test_the_chosen_action_takes_the_place_of_the_request() -> None:
    finding = Finding("head 1", Verdict.CAUTION, "Near the end.", "Set 4.4 bar.", actions=("set to 4.4 bar",))
    text = _shown(finding, None, chosen="set to 4.4 bar")
    assert "done set to 4.4 bar" in text
    assert "F4" not in text


def test_without_a_finding_the_caution_still_stands() -> None:
    lines = [list(line) for line in why_lines(None, CAUTION, 80, 6, UNICODE)]
    assert "DANGER" in _text(lines)
    assert len(lines) == 6


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        ("4.1 bar", "4.8 bar", "4.1 to 4.8 bar"),
        ("75 in", "1910 mm", "75 in to 1910 mm"),
        ("20 m/s", None, "at least 20 m/s"),
        (None, "30 A", "at most 30 A"),
    ],
)
def test_a_limit_names_its_unit_once(low: str | None, high: str | None, expected: str) -> None:
    kinds = {"bar": Kind.PRESSURE, "in": Kind.LENGTH, "mm": Kind.LENGTH, "m/s": Kind.AIR_SPEED, "A": Kind.CURRENT}
    bounds = [parse(text, kinds[text.split()[1]]) if text else None for text in (low, high)]
    assert limit_text(Finding("x", Verdict.OK, "x", low=bounds[0], high=bounds[1])) == expected


WORDS = st.lists(
    st.text(st.characters(codec="ascii", categories=["L", "N", "P"]), min_size=1, max_size=30), max_size=60
)


@settings(max_examples=60, deadline=None)
@given(WORDS, WORDS, st.integers(60, 160), st.integers(5, 9), st.sampled_from(Verdict))
def test_whatever_the_length_the_caution_is_whole_and_nothing_leaves_the_box(
    statement: list[str], remedy: list[str], width: int, height: int, verdict: Verdict
) -> None:
    finding = Finding("x", verdict, " ".join(statement), " ".join(remedy), basis="a.b", actions=("one",))
    text = _shown(finding, CAUTION, width, height)
    assert CAUTION[1] in text
    assert verdict.word in text
