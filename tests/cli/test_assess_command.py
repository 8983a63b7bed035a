"""`preflight assess`: the contract of its lines, its JSON and its exit statuses, on the bundled samples."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from preflight.__main__ import main
from preflight.checks.route import ROUTE
from preflight.shop.bundled import bundled

if TYPE_CHECKING:
    from pathlib import Path

SHEETS = sorted((bundled() / "sheets").glob("*.toml"))
STATUS = {"ok": 0, "caution": 1, "open": 2, "stop": 2}
VERDICTS = tuple(STATUS)


def document(sheet: str, capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, dict[str, Any]]:
    status = main(["assess", sheet, "--json", *more])
    return status, json.loads(capsys.readouterr().out)


def test_the_samples_show_every_verdict() -> None:
    assert {sheet.stem.partition("-")[0] for sheet in SHEETS} == set(VERDICTS)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.stem)
def test_a_sample_gives_the_verdict_it_is_named_after(sheet: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wanted = sheet.stem.partition("-")[0]
    status, found = document(sheet.stem, capsys)
    worse = [
        f"{check['check']}: {finding['statement']}"
        for check in found["checks"]
        for finding in check["findings"]
        if VERDICTS.index(finding["verdict"]) > VERDICTS.index(wanted)
    ]
    assert worse == []
    assert found["verdict"] == wanted
    assert status == STATUS[wanted]


def test_an_ok_sample_leaves_no_check_without_a_finding(capsys: pytest.CaptureFixture[str]) -> None:
    for sheet in SHEETS:
        if sheet.stem.startswith("ok-"):
            _, found = document(str(sheet), capsys)
            assert [check["check"] for check in found["checks"] if not check["findings"]] == []


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.stem)
def test_the_json_document_keeps_its_keys(sheet: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, found = document(str(sheet), capsys)
    assert set(found) >= {"verdict", "machine", "profile_sha256", "extraction_sha256", "checks"}
    assert [check["check"] for check in found["checks"]] == [name for name, _ in ROUTE]
    for check in found["checks"]:
        assert set(check) >= {"check", "verdict", "findings"}
        for finding in check["findings"]:
            keys = "subject verdict statement measured low high allowed basis source remedy"
            assert set(finding) >= set(keys.split())
            assert finding["verdict"] in VERDICTS
            assert finding["statement"]
            assert isinstance(finding["allowed"], list)
            for quantity in (finding["measured"], finding["low"], finding["high"]):
                if quantity is None:
                    continue
                if isinstance(quantity["value"], str):
                    assert quantity["unit"] is None
                else:
                    assert set(quantity) == {"value", "unit", "text"}


def test_a_measured_quantity_is_si_beside_the_text_as_typed(capsys: pytest.CaptureFixture[str]) -> None:
    _, found = document("ok-one-head", capsys)
    tension = next(check for check in found["checks"] if check["check"] == "tension")
    gauge = next(finding for finding in tension["findings"] if (finding["measured"] or {}).get("text") == "50 psi")
    # 1 lbf/in2 = 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)^2, definitions of pound, standard gravity and inch
    assert gauge["measured"]["value"] == pytest.approx(50 * 0.45359237 * 9.80665 / 0.0254**2, rel=1e-12)
    assert gauge["measured"]["unit"] == "Pa"


def test_the_lines_give_each_check_then_counts_and_the_exit_status(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", "stop-starved-air"]) == 2
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("hall-two: Hall, two heads, 2026-11-25")
    assert "X extraction: stop" in said
    assert any(line.startswith("      do: ") for line in said)
    assert said[-2].startswith("Stations: ")
    assert said[-1].startswith("Verdict: stop (exit status 2): do not start")


def test_findings_that_are_ok_are_shown_only_when_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", "ok-two-heads"]) == 0
    short = capsys.readouterr().out.splitlines()
    assert main(["assess", "ok-two-heads", "--all"]) == 0
    full = capsys.readouterr().out.splitlines()
    assert len(short) == len(ROUTE) + 3
    assert set(short) < set(full)
    assert any(line.startswith("    + ok, ") for line in full)


def test_another_machine_may_stand_in_for_the_sheets(capsys: pytest.CaptureFixture[str]) -> None:
    profile = bundled() / "machines" / "hall-two.toml"
    _, by_id = document("ok-two-heads", capsys, "--machine", "hall-two")
    _, by_path = document("ok-two-heads", capsys, "--machine", str(profile))
    assert by_id == by_path
    status, found = document("ok-two-heads", capsys, "--machine", "hall-three")
    assert found["machine"] == "hall-three"
    assert status == 2


def test_a_shops_own_profile_hides_the_bundled_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = tmp_path / "shop"
    assert main(["init", str(shop)]) == 0
    capsys.readouterr()
    profile = shop / "machines" / "hall-two.toml"
    profile.write_text(profile.read_text(encoding="utf-8").replace('low = "5.5 bar"', 'low = "7 bar"'), "utf-8")
    assert document("ok-two-heads", capsys)[0] == 0
    status, found = document("ok-two-heads", capsys, "--shop", str(shop))
    assert status == 2
    assert {check["check"] for check in found["checks"] if check["verdict"] == "stop"} == {"tension"}


def test_demo_without_a_terminal_prints_a_finished_assessment(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo"]) == 0
    assert "Verdict: ok (exit status 0)" in capsys.readouterr().out
