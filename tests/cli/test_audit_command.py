"""`preflight audit` on an invented shop: lines, JSON, CSV and pages, and what it says when something is missing."""

from __future__ import annotations

import csv
import io
import json
import sys
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from preflight.audit.history_maker import make_history
from preflight.cli.init import make_shop

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture(scope="module")
def audited(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., list[str]]:
    """The arguments of an audit command on a shop with eight days of records."""
    folder = tmp_path_factory.mktemp("audited")
    make_shop(folder / "shop", empty=False)
    make_history(folder / "shop", datetime.now(UTC), 8, sheets=("ok-two-heads",))
    return lambda *words: ["audit", *words, "--shop", str(folder / "shop"), "--cache", str(folder / "cache")]


def call(argv: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    from preflight.__main__ import main

    status = main(argv)
    said = capsys.readouterr()
    return status, said.out, said.err


def test_every_part_prints_lines(audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str]) -> None:
    for words in (
        ["today"],
        ["list"],
        ["show", "hall-two/1"],
        ["patterns"],
        ["trends"],
        ["report"],
        ["report", "--machine", "hall-two"],
        ["form", "--machine", "hall-two"],
        ["rebuild", "--processes", "1"],
    ):
        status, out, err = call(audited(*words), capsys)
        assert status == 0, err
        assert out.strip()


def test_the_list_as_json_csv_and_pages_agree(
    audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = call(audited("list", "--json", "--rows", "4"), capsys)
    first = json.loads(out)
    _, out, _ = call(audited("list", "--csv", "--rows", "4"), capsys)
    rows = list(csv.reader(io.StringIO(out)))[1:]
    assert [int(row[2]) for row in rows] == [one["sequence"] for one in first["records"]]
    last = first["records"][-1]
    _, out, _ = call(audited("list", "--json", "--after", f"{last['machine']}/{last['sequence']}"), capsys)
    rest = json.loads(out)["records"]
    assert len(rest) == min(50, first["total"] - 4)
    assert last["sequence"] not in [one["sequence"] for one in rest]


def test_a_page_is_written_where_asked(
    audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    status, out, _ = call(audited("report", "--html", str(tmp_path / "page.html")), capsys)
    assert status == 0
    assert "written" in out
    assert (tmp_path / "page.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["show", "hall-two"], "names no record"),
        (["show", "hall-two/99999"], "There is no record 99999"),
        (["list", "--since", "yesterday"], "is no date"),
        (["list", "--machine", "hall-too"], "hall-two"),
    ],
)
def test_what_cannot_be_found_is_said(
    audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    status, _, err = call(audited(*words), capsys)
    assert status == 3
    assert said in err


def test_the_audit_imports_no_textual() -> None:
    import subprocess

    code = "import sys, preflight.cli.audit; print([n for n in sys.modules if n.split('.')[0] == 'textual'])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
