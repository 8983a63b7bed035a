"""The audit's top and bottom line: whole sentences at any width, and as many keys as there is room for."""

from __future__ import annotations

import pytest

from preflight.tui.audit_bars import KEYS, SIGN, foot_line, top_lines
from preflight.tui.painting import Line, width_of

LONG = "The records here are signed, and the register of people is gone. Is the shop folder whole? Nothing was saved."


def text(line: Line) -> str:
    return "".join(part for part, _ in line)


@pytest.mark.parametrize("width", [30, 60, 80, 140])
def test_a_sentence_in_the_top_line_is_never_cut(width: int) -> None:
    lines = top_lines("record 12", "Hall, two heads, last 7 days", LONG, width)
    assert all(width_of(line) == width for line in lines)
    assert LONG in " ".join(" ".join(text(line).split()) for line in lines)


def test_what_fits_stands_beside_the_view() -> None:
    (line,) = top_lines("list", "stop", "3008 records ", 60)
    assert text(line).startswith(" records: list stop")
    assert text(line).endswith("3008 records ")


@pytest.mark.parametrize("record", [True, False])
@pytest.mark.parametrize("width", [45, 60, 66, 80])
def test_no_key_of_the_foot_is_cut_and_the_way_back_and_signing_stay(width: int, record: bool) -> None:
    line = text(foot_line(width, record=record))
    labels = {label for _, _, label in (*KEYS, SIGN)}
    shown = [word for word in line.split() if word in labels]
    assert set(line.split()) <= labels | {"Esc", "F2", "F3", "F4", "F7", "F8"}
    assert shown[-1] == "back"
    assert shown[-2] == ("countersign" if record else "narrow")


def test_a_terminal_of_eighty_columns_shows_every_key() -> None:
    assert all(label in text(foot_line(80, record=False)) for _, _, label in KEYS)
