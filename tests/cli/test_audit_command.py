"""`preflight audit` on an invented shop: lines, JSON, CSV and pages, and what it says when something is missing."""

from __future__ import annotations

import csv
import io
import json
import sys
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from audit.audit_samples import add_record
from standing_clock import NOW

from preflight.audit.history_maker import make_history
from preflight.audit.period import LOOK_BACK
from preflight.audit.sections import flag_sections
from preflight.audit.visit import Flag
from preflight.cli.init import make_shop

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture(scope="module")
def audited(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., list[str]]:
    """The arguments of an audit command on a shop with eight days of records."""
    folder = tmp_path_factory.mktemp("audited")
    make_shop(folder / "shop", empty=False)
    make_history(folder / "shop", NOW, 8, sheets=("ok-two-heads",))
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
    assert len(rest) == first["total"] - 4
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
        (["list", "--machine", "hall-too"], "Did you mean 'hall-two'?"),
        (["list", "--machine", "Hal, two heads"], "Did you mean 'Hall, two heads'?"),
        (["list", "--person", "P. Hasker"], "Did you mean 'P. Hask'?"),
        (["report", "--since", "2026-02-02", "--until", "2026-02-01"], "is after --until"),
        (["list", "--rows", "0"], "lists nothing"),
    ],
)
def test_what_cannot_be_found_is_said(
    audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    status, _, err = call(audited(*words), capsys)
    assert status == 3
    assert said in err


def test_without_rows_text_lists_fifty_and_csv_and_json_list_all(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    for number in range(60):
        add_record(tmp_path, number)
    where = ["--shop", str(tmp_path), "--cache", str(tmp_path / "cache")]
    _, out, _ = call(["audit", "list", *where], capsys)
    assert "50 of 60 records" in out
    _, out, _ = call(["audit", "list", "--csv", *where], capsys)
    assert len(list(csv.reader(io.StringIO(out)))) == 61
    _, out, _ = call(["audit", "list", "--json", *where], capsys)
    assert len(json.loads(out)["records"]) == 60


def test_a_printed_name_says_which_machine_and_which_record(
    audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    _, by_id, _ = call(audited("show", "hall-two/1"), capsys)
    status, by_name, _ = call(audited("show", "hall, two heads/1"), capsys)
    assert (status, by_name) == (0, by_id)
    status, out, _ = call(audited("list", "--machine", "Hall, two heads"), capsys)
    assert status == 0
    assert "records, newest first" in out


def test_the_report_says_its_default_period_and_begins_at_the_first_record(
    audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = call(audited("list", "--json"), capsys)
    first = min(one["at"] for one in json.loads(out)["records"])
    _, out, _ = call(audited("report"), capsys)
    title = out.splitlines()[0]
    assert title.startswith(f"Start-up checks {datetime.fromtimestamp(first, UTC):%Y-%m-%d} to ")
    assert f"(from the first record; default: {LOOK_BACK // 86400} days back)" in title
    _, out, _ = call(["audit", "report", "--help"], capsys)
    assert f"default: {LOOK_BACK // 86400} days back" in " ".join(out.split())


def test_cases_as_csv_and_json_are_the_same(
    audited: Callable[..., list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = call(audited("patterns", "--json"), capsys)
    cases = [case for shift in json.loads(out)["shifts"] for case in shift["cases"]]
    _, out, _ = call(audited("patterns", "--csv"), capsys)
    rows = list(csv.reader(io.StringIO(out)))[1:]
    assert sorted(int(row[4]) for row in rows) == sorted(case["sequence"] for case in cases)


def test_a_report_of_one_machine_keeps_flags_of_the_whole_shop_apart() -> None:
    flag = Flag("too fast", "P. Hask", "", "seen", "test", 9, 0.001, "some", ())
    own, *whole = flag_sections([flag], "m-1", {}, {})
    assert own.rows == ()
    assert [one.title for one in whole] == ["Worth a talk: whole shop, all machines"]
    assert len(flag_sections([flag], "", {}, {})) == 1


def test_the_audit_imports_no_textual() -> None:
    import subprocess

    code = "import sys, preflight.cli.audit; print([n for n in sys.modules if n.split('.')[0] == 'textual'])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
