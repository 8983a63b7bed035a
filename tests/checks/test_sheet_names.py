"""A sheet from a file names only heads, gates and places that are there, and each once; and only possible readings."""

from __future__ import annotations

import copy
import tomllib
from typing import TYPE_CHECKING, Any

import pytest
import tomli_w

from preflight.__main__ import main
from preflight.sheet import SetupSheet
from preflight.shop.bundled import bundled
from preflight.shop.files import validate
from preflight.shop.problems import FileProblemsError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SHEET = tomllib.loads((bundled() / "sheets" / "ok-two-heads.toml").read_text("utf-8"))
Table = dict[str, Any]


def changed(change: Callable[[Table], object]) -> Table:
    sheet = copy.deepcopy(SHEET)
    change(sheet)
    return sheet


@pytest.fixture(autouse=True)
def the_demo_s_files(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PREFLIGHT_SHOP", str(bundled()))


def second(sheet: Table, **more: str) -> None:
    sheet["belts"].append({**sheet["belts"][0], **more})


NAMES: list[tuple[str, Callable[[Table], object]]] = [
    ("belts: head '1' is given 2 times", lambda s: second(s, card="H-211")),
    ("belts.3.head: Hall, two heads has no head '9'; its heads: 1, 2", lambda s: second(s, head="9")),
    ("tension.9: ", lambda s: s["tension"].update({"9": "4 bar"})),
    ("tension.running.9: ", lambda s: s["tension"].update(running={"9": "4 bar"})),
    ("removal.share.9: ", lambda s: s["removal"].update(share={"9": "0.1 mm"})),
    ("running.stop.seconds.9: ", lambda s: s["running"]["stop"]["seconds"].update({"9": 6})),
    ("running.stop.also: ", lambda s: s["running"]["stop"].update(also=["moon"])),
    ("running.tracking.9: ", lambda s: s["running"]["tracking"].update({"9": "even"})),
    ("running.idle_current.9: ", lambda s: s["running"]["idle_current"].update({"9": "9 A"})),
    ("running.swing.9: ", lambda s: s["running"].update(swing={"9": {"out": "3 s", "back": "3 s"}})),
    ("extraction.open: Hall duct has no gate 'nope'", lambda s: s["extraction"]["open"].append("nope")),
    ("extraction.open: gate 'two-1' is given 2 times", lambda s: s["extraction"]["open"].append("two-1")),
    ("extraction.shut: gate 'two-1' is in open too", lambda s: s["extraction"].update(shut=["two-1"])),
    ("extraction.in_use: ", lambda s: s["extraction"].update(in_use=["nope"])),
    ("extraction.readings.1.gate: ", lambda s: s["extraction"]["readings"][0].update(gate="nope")),
    (
        "extraction.readings: gate 'two-1' is given 2 times",
        lambda s: s["extraction"]["readings"][1].update(gate="two-1"),
    ),
    ("feed.boards.1.place: there is no place 99", lambda s: s.update(feed={"boards": [{"part": 1, "place": 99}]})),
    (
        "feed.boards.1.part: Ash stair treads has no part 9",
        lambda s: s.update(feed={"boards": [{"part": 9, "place": 1}]}),
    ),
    ("feed.fed.1.part: ", lambda s: s.update(feed={"fed": [{"part": 9, "place": 1}]})),
    ("condition.done: ", lambda s: s["condition"].update(done=["moon"])),
    ("actions.moon: there is no station 'moon'", lambda s: s.update(actions={"moon": {"x": "y"}})),
    (
        "repairs.1.check: ",
        lambda s: s.update(repairs=[{"check": "x", "subject": "y", "what": "mended", "who": "T. V."}]),
    ),
]


@pytest.mark.parametrize(("said", "change"), NAMES, ids=[said for said, _ in NAMES])
def test_a_name_that_stands_for_nothing_or_for_two_entries_is_refused_by_key(
    said: str, change: Callable[[Table], object], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "sheet.toml"
    path.write_text(tomli_w.dumps(changed(change)), "utf-8")
    assert main(["assess", str(path)]) == 3
    assert f"{path}: {said}" in capsys.readouterr().err


def test_readings_of_two_kinds_at_one_gate_may_stand_side_by_side(tmp_path: Path) -> None:
    path = tmp_path / "sheet.toml"
    change = changed(lambda s: s["extraction"]["readings"].append({"gate": "two-1", "velocity": "24 m/s"}))
    path.write_text(tomli_w.dumps(change), "utf-8")
    assert main(["assess", str(path)]) in (0, 1, 2)


READINGS: list[tuple[str, str, Callable[[Table, Any], object], list[Any]]] = [
    ("a stopwatch", "s", lambda s, v: s["running"]["stop"]["seconds"].update({"1": v}), ["0 s", 0, "1000 h"]),
    ("an ammeter", "A", lambda s, v: s["running"]["idle_current"].update({"1": v}), ["0 A", "0.01 A"]),
    ("a manometer", "Pa", lambda s, v: s["extraction"].update(filter_drop=v), ["0 Pa", "0.2 Pa", "-0 Pa"]),
    ("a manometer", "Pa", lambda s, v: s["extraction"]["readings"][0].update(hood_static=v), ["0 Pa", "3 bar"]),
    ("a caliper", "mm", lambda s, v: s["stock"].update(thickness=[v, v]), ["0 mm", "0 in", "2 m"]),
    ("a caliper", "mm", lambda s, v: s["test_board"]["readings"][0].update(after=v), ["0 mm"]),
    ("a tape measure", "mm", lambda s, v: s["stock"].update(shortest=v), ["0 mm"]),
    (
        "the finest division of a caliper",
        "mm",
        lambda s, v: s["stock"].update(instrument={"resolution": v}),
        ["10 mm", "0 mm"],
    ),
    ("a compressed-air gauge", "bar", lambda s, v: s["tension"].update({"1": v}), ["400 bar"]),
]


@pytest.mark.parametrize(("instrument", "unit", "put", "values"), READINGS)
def test_what_no_instrument_shows_is_refused_in_one_sentence(
    instrument: str, unit: str, put: Callable[[Table, Any], object], values: list[Any]
) -> None:
    for value in (*values, f"{'9' * 31} {unit}"):
        sheet = changed(lambda s, value=value: put(s, value))  # type: ignore[misc]
        with pytest.raises(FileProblemsError) as refused:
            validate(sheet, SetupSheet, "the sheet")
        assert len({problem.message for problem in refused.value.problems}) == 1
        assert f"is not what {instrument}" in refused.value.problems[0].message


@pytest.mark.parametrize("hours", [float("inf"), float("nan"), 1e30, -1])
def test_hours_without_end_are_refused(hours: float) -> None:
    with pytest.raises(FileProblemsError, match=r"glue\.hours_since_clamps"):
        validate(changed(lambda s: s["glue"].update(hours_since_clamps=hours)), SetupSheet, "the sheet")


def test_a_saved_record_is_read_as_it_was_whatever_its_readings_are() -> None:
    """The spans are for files of today: what was signed before they were there stays readable."""
    sheet = SetupSheet.model_validate(changed(lambda s: s["running"]["idle_current"].update({"1": "0 A"})))
    assert sheet.running.idle_current["1"].value == 0
