"""`preflight feed` and `preflight run-record`: the plan as lines and JSON, refusals, and the record after a job."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from preflight.__main__ import main
from preflight.checklist.past import past
from preflight.checklist.register import Register
from preflight.engine.lane_bounds import least_peak_of_identical

if TYPE_CHECKING:
    from pathlib import Path

FEED = ["feed", "--machine", "hall-two"]
PART = ["--part", "180 mm x 700 mm x 19 mm, 60"]
KEYS = {
    "placements", "peak", "mean_over_peak", "lowest_over_peak", "bound", "share_of_best", "feeds", "time",
    "unused_width",
}  # fmt: skip


def document(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    assert main([*FEED, *arguments, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_json_has_its_stable_keys_in_si_and_no_board_leaves_the_margins(capsys: pytest.CaptureFixture[str]) -> None:
    """Least peak of identical parts: l ceil(N / floor(U / w)), closed form."""
    found = document(capsys, *PART)
    assert set(found) >= KEYS
    assert found["peak"] == pytest.approx(least_peak_of_identical(60, 0.180, 0.700, 0.910)) == found["bound"]
    assert len(found["placements"]) == 60
    assert set(found["placements"][0]) == {"part", "left_edge", "row"}
    assert all(0.015 - 1e-9 <= p["left_edge"] <= 0.745 + 1e-9 for p in found["placements"])
    assert {p["row"] for p in found["placements"]} == set(range(1, found["feeds"] + 1))
    assert found["time"] == pytest.approx(found["feeds"] * 0.8 / 0.1)
    assert found["centre"]["share_of_best"] == pytest.approx(0.2)


def test_lines_give_pattern_figures_and_the_middle(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*FEED, "--part", "600 mm x 900 mm x 22 mm, 30"]) == 0
    text = capsys.readouterr().out
    assert "  A  left edge\n  B  right edge\nIn turn: A B, 15 times." in text
    assert "Share of best 100.0%" in text
    assert "Mean over peak 0.66, lowest over peak 0.50, 0 mm of 910 mm unused." in text
    assert "All down the middle: share of best 100.0%" in text
    assert "one more pass costs" in text


def test_trades_go_from_fewest_over_some_extra_to_evenest(capsys: pytest.CaptureFixture[str]) -> None:
    fewest, some, evenest = (document(capsys, *PART, "--trade", how) for how in ("fewest", "3", "evenest"))
    assert fewest["feeds"] == 15 < some["feeds"] <= 18 < evenest["feeds"]
    assert fewest["share_of_best"] <= some["share_of_best"] <= evenest["share_of_best"] == pytest.approx(1.0)


def test_worn_strips_of_a_file_move_the_plan_and_never_lower_its_peak(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "wear.toml"
    file.write_text('strips = [{ left = "15 mm", right = "300 mm", passed = "40 m" }]\n', encoding="utf-8")
    plain, worn = document(capsys, *PART), document(capsys, *PART, "--wear", str(file))
    assert worn["peak"] >= plain["peak"]
    assert min(p["left_edge"] for p in worn["placements"]) >= 0.28


def test_skew_widens_what_a_board_takes(capsys: pytest.CaptureFixture[str]) -> None:
    """600 x 900 mm at 15 degrees: w cos t + l sin t = 812 mm; geometry."""
    found = document(capsys, "--part", "600 mm x 900 mm x 22 mm, 4", "--skew", "15")
    assert max(p["left_edge"] for p in found["placements"]) == pytest.approx(0.925 - 0.8125, abs=5e-4)


def test_parts_may_be_in_inches(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["feed", "--machine", "annex-one", "--part", "6 in x 20 in x 3/4 in, 24"]) == 0
    assert "0 in of 24 in unused" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--part", "180 mm x 300 mm x 19 mm, 60"], ["Part 1 is 70 mm too short for the hold-down", "370 mm long"]),
        (["--part", "950 mm x 1 m x 19 mm, 2"], ["40 mm too wide for the usable 910 mm"]),
        (["--part", "600 mm x 900 mm x 19 mm, 2", "--skew", "30"], ["59.62 mm too wide", "At most 23° fits"]),
        (["--part", "180 mm x 700 mm x 2 mm, 2"], ["1 mm too thin", "stop strip"]),
        (["--part", "300 mm x 700 mm x 170 mm, 2"], ["10 mm too thick"]),
        ([*PART, "--part", "20 mm x 700 mm x 19 mm, 2"], ["Part 2 is 30 mm too narrow", "tips over"]),
    ],
)
def test_parts_that_cannot_go_are_exit_2_with_the_amount(
    arguments: list[str], words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*FEED, *arguments]) == 2
    said = capsys.readouterr().err
    assert [word for word in words if word not in said] == []


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--part", "180 x 700 x 19, 60"], "which unit"),
        (["--part", "180 mm x 700 mm, 60"], "three lengths and a count"),
        (["--part", "180 mm x 700 mm x 19 mm"], "three lengths and a count"),
        (["--part", "180 mm x 700 mm x 19 mm, many"], "three lengths and a count"),
        (["--part", "0 mm x 700 mm x 19 mm, 60"], "above zero"),
        ([*PART, "--trade", "best"], "evenest, fewest"),
        ([*PART, "--skew", "steep"], "degrees"),
        ([*PART, "--feed", "30 m/min"], "3 to 15 m/min"),
        ([*PART, "--wear", "nowhere.toml"], "nowhere.toml"),
    ],
)
def test_what_cannot_be_read_is_exit_3_and_names_what_is_expected(
    arguments: list[str], word: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*FEED, *arguments]) == 3
    said = capsys.readouterr().err
    assert word in said
    if "--part" in said:
        assert '--part "180 mm x 700 mm x 19 mm, 60"' in said


def test_a_strip_that_ends_before_it_begins_names_its_key(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "wear.toml"
    file.write_text('strips = [{ left = "300 mm", right = "200 mm", passed = "4 m" }]\n', encoding="utf-8")
    assert main([*FEED, *PART, "--wear", str(file)]) == 3
    assert "strips.1: 'right' 200 mm is not right of 'left' 300 mm" in capsys.readouterr().err


RUN = """\
schema = 1
machine = "hall-two"
at = 2026-11-26T15:10:00+01:00
job = "ash-stair-treads"
belts = [{ head = "1", card = "H-204" }, { head = "2", card = "H-211" }]
[feed]
fed = [{ feeds = 3 }, { part = 1, place = 4, count = 2 }]
[run]
hours = "2.5 h"
off = [{ head = "2", why = "worn out" }]
readings = [{ thickness = ["27.2 mm", "27.2 mm", "27.1 mm"], current = { "1" = "14 A" } }]
"""


def test_a_run_is_saved_from_a_file_and_wears_the_belt(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop, file = tmp_path / "shop", tmp_path / "run.toml"
    assert main(["init", str(shop)]) == 0
    file.write_text(RUN, encoding="utf-8")
    assert main(["run-record", str(file), "--by", "D. Marrow", "--shop", str(shop)]) == 0
    assert "Record 1 saved, unsigned" in capsys.readouterr().out
    machine = next(path.name for path in (shop / "checklists").iterdir() if path.is_dir())
    known = past(shop, machine, Register()).history()
    assert known.runs[0].seconds == 9000.0
    assert set(known.belt_wear) == {"H-204"}
    assert set(known.drum_wear) == {"1", "2"}
    assert main(["record", "show", "hall-two", "1", "--shop", str(shop)]) == 0
    said = capsys.readouterr().out
    assert "Run: what was fed" in said
    assert "belt off head 2: H-211 worn out" in said
    assert main(["verify", str(shop)]) == 1  # intact, but unsigned: the shop has no people


def test_a_run_that_fed_more_than_the_job_has_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop, file = tmp_path / "shop", tmp_path / "run.toml"
    assert main(["init", str(shop)]) == 0
    file.write_text(RUN.replace("feeds = 3", "feeds = 300"), encoding="utf-8")
    assert main(["run-record", str(file), "--by", "D. Marrow", "--shop", str(shop)]) == 3
    assert "300 feeds were counted, 24 are left" in capsys.readouterr().err
