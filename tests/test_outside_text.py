"""The one door for text from outside: what it lets through, what it shows as an escape, what it refuses."""

from __future__ import annotations

import ast
import csv
import doctest
import io
import subprocess
import sys
from pathlib import Path
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight import outside_text
from preflight.__main__ import main
from preflight.audit.report import as_csv
from preflight.errors import PreflightError
from preflight.outside_text import ShownStream, as_html, csv_cell, overwrite, shown, shown_in, unfit, unfit_in
from preflight.tui.charset import ASCII, UNICODE

ANY = st.text(st.characters(exclude_categories=()))
UNSEEN = [
    ("\x1b]0;owned\x07", r"\x1b]0;owned\x07"),
    ("\x9b2J", r"\x9b2J"),
    ("\x7f", r"\x7f"),
    ("a\rb\nc\td", r"a\rb\nc\td"),
    ("\u202egnp.exe", r"\u202egnp.exe"),
    ("\u2066x\u2069", r"\u2066x\u2069"),
    ("T.\u200bVarga\ufeff", r"T.\u200bVarga\ufeff"),
    ("\u2028\u2029\u00ad\u2060", r"\u2028\u2029\xad\u2060"),
    ("\u3164\u115f\u034f\ufe0f", r"\u3164\u115f\u034f\ufe0f"),
    ("\U000e0041\udcff", r"\U000e0041\udcff"),
    ("\u0334x", r"\u0334x"),
    ('x "\u0334', r'x "\u0334'),
    ("a" + "\u0301" * 5, "a\u0301\u0301" + r"\u0301\u0301\u0301"),
]


@pytest.mark.parametrize(("text", "as_read"), UNSEEN)
def test_what_cannot_be_seen_is_shown_as_an_escape_and_refused_where_it_is_typed(text: str, as_read: str) -> None:
    assert shown(text) == as_read
    assert unfit(text).startswith("holds a character that cannot be seen: U+")


@pytest.mark.parametrize(
    "text", ["R. Onslow", "J. Brønsted-Müller", "Ящик 4", "刨花", "27.6\u00a0mm", "½ × ≥ ⌀ µ °C", "T. V\u0301arga", ""]
)
def test_letters_of_any_script_signs_and_wide_blanks_stay(text: str) -> None:
    assert shown(text) == text
    assert unfit(text) == ""


@given(ANY)
def test_whatever_comes_in_what_comes_out_is_seen_and_a_second_time_changes_nothing(text: str) -> None:
    out = shown(text)
    assert unfit(out) == ""
    assert shown(out) == out
    assert (out == text) is (unfit(text) == "")


@given(ANY)
def test_a_page_and_a_cell_hold_neither_markup_nor_a_formula(text: str) -> None:
    page = as_html(text)
    assert not set("<>\"'") & set(page)
    assert unfit(page) == ""
    cell = csv_cell(text)
    assert cell[:1] not in set("=+-@\t\r\n＝＋－＠\x1b")
    (row,) = csv.reader(io.StringIO(as_csv(("a", "b"), [(text, "x")]).split("\r\n", 1)[1], newline=""))
    assert row == [cell, "x"]


@pytest.mark.parametrize("text", ['=HYPERLINK("x")', "+1+1|cmd", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "＝1+1"])
def test_a_formula_is_a_text_in_a_spreadsheet(text: str) -> None:
    assert csv_cell(text).startswith("'")


def test_tables_are_shown_whole_and_the_place_of_what_is_refused_is_named() -> None:
    table = {"name": "Bay\x1b[2J", "heads": [{"id": "1", "no\u200bte": 4}, "x\u202e"], "n": 3}
    assert shown_in(table) == {"name": "Bay\\x1b[2J", "heads": [{"id": "1", "no\\u200bte": 4}, "x\\u202e"], "n": 3}
    places = dict(unfit_in(table))
    assert set(places) == {"name", "heads.1.no\\u200bte", "heads.2"}
    assert places["heads.1.no\\u200bte"].startswith("its name holds")
    assert places["heads.2"].endswith("U+202E, right-to-left override, at place 2")


def test_a_stream_lets_lines_through_and_progress_over_the_line_and_nothing_else() -> None:
    plain = io.StringIO()
    door = ShownStream(plain)
    print("one\x1b[2J\ntwo\rthree", file=cast("io.StringIO", door))
    door.write("a,b\r\nc\r")
    overwrite(cast("io.StringIO", door), "half\x1b way")
    assert plain.getvalue() == "one\\x1b[2J\ntwo\\rthree\na,b\r\nc\\r\rhalf\\x1b way"


def test_messages_of_every_error_go_through_the_door() -> None:
    error = PreflightError("No \x1b[31mjob\n'a\u202eb' here.", "Known: x\x07.")
    assert str(error) == "No \\x1b[31mjob\n'a\\u202eb' here. Known: x\\x07."


def test_screens_paint_through_the_door_in_both_charsets() -> None:
    assert UNICODE.plain("Bay\x1b[2J\u200b") == "Bay\\x1b[2J\\u200b"
    assert ASCII.plain("Bay ½\x1b") == "Bay h\\x1b"


@pytest.mark.parametrize("argument", ["hall\u202e-two", "x\x1b]0;y\x07", "a\nb"])
def test_no_argument_holds_what_cannot_be_seen(argument: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", argument]) == 3
    said = capsys.readouterr().err
    assert "holds a character that cannot be seen" in said
    assert unfit(said.replace("\n", "")) == ""


def test_a_text_of_heads_may_have_lines(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "checklists").mkdir()
    assert main(["verify", str(tmp_path), "--head", "preflight heads 1\nmade"]) == 3
    assert "was copied wrongly" in capsys.readouterr().err


def test_nothing_but_the_door_escapes_for_a_page_or_writes_a_carriage_return() -> None:
    """Whoever needs another escape adds it to the door, so that there is one to look through."""
    root = Path(outside_text.__file__).parent
    for path in root.rglob("*.py"):
        if path == Path(outside_text.__file__):
            continue
        text = path.read_text(encoding="utf-8")
        assert "import html" not in text, path
        assert "csv.DictWriter" not in text, path
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print":
                assert r"\r" not in ast.unparse(node), path


def test_no_code_of_ours_writes_a_sequence_that_steers_a_terminal() -> None:
    """The screens' library draws; nothing else sets a title, a colour or the cursor."""
    for path in Path(outside_text.__file__).parent.rglob("*.py"):
        texts = [
            node.value
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        ]
        assert not any("\x1b" in text or "\x9b" in text for text in texts), path


def test_a_command_in_a_process_of_its_own_prints_escapes(tmp_path: Path) -> None:
    odd = tmp_path / "sh\x1bop"
    done = subprocess.run(
        [sys.executable, "-m", "preflight", "where"],
        capture_output=True,
        check=False,
        env={"PREFLIGHT_SHOP": str(odd), "PATH": "", "HOME": str(tmp_path), "PYTHONPATH": str(Path.cwd())},
    )
    assert done.returncode == 0
    assert b"\x1b" not in done.stdout + done.stderr
    assert rb"sh\x1bop" in done.stdout


def test_the_worked_examples_hold() -> None:
    done = doctest.testmod(outside_text)
    assert done.attempted >= 4
    assert done.failed == 0
