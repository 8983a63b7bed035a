"""`preflight airflow`: its lines, its JSON and its exit statuses, with a machine and without."""

from __future__ import annotations

import json
from typing import Any

import pytest

from preflight.__main__ import main
from preflight.engine.airflow import solve
from preflight.shop.bundled import bundled
from preflight.shop.duct_network import network
from preflight.shop.extraction import Extraction
from preflight.shop.files import load

HALL = load(bundled() / "extraction" / "hall-duct.toml", Extraction).value
EVERY = ",".join(gate.id for gate in HALL.gates)
RIGHT = "two-1,two-2,make-up"


def document(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, Any]]:
    status = main(["airflow", "--json", *arguments])
    return status, json.loads(capsys.readouterr().out)


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    status = main(["airflow", *arguments])
    return status, capsys.readouterr().out


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["airflow", *arguments]) == 3
    captured = capsys.readouterr()
    assert captured.out == ""
    return captured.err


def test_the_json_document_gives_the_engines_figures_in_si(capsys: pytest.CaptureFixture[str]) -> None:
    status, found = document(capsys, "--machine", "hall-two", "--open", RIGHT)
    result = solve(network(HALL), RIGHT.split(","))
    assert status == 0
    assert found["verdict"] == "ok"
    assert found["fan"]["flow"] == result.fan.flow
    assert found["fan"]["pressure"] == result.fan.pressure
    assert found["fan"]["on_curve"] is True
    assert [gate["id"] for gate in found["gates"]] == [gate.id for gate in HALL.gates]
    for gate in found["gates"]:
        at = result.gates[gate["id"]]
        assert (gate["open"], gate["flow"], gate["velocity"], gate["static_pressure"]) == (
            at.open,
            at.flow,
            at.velocity,
            at.static_pressure,
        )
    for run in found["runs"]:
        assert (run["flow"], run["velocity"]) == (result.runs[run["id"]].flow, result.runs[run["id"]].velocity)
    verdicts = {run["id"]: run["verdict"] for run in found["runs"]}
    assert verdicts["main"] == "ok"
    assert verdicts["west"] is None
    assert found["advice"]["options"] == [{"close": [], "open": []}]


def test_all_gates_open_stop_and_every_smallest_set_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    status, found = document(capsys, "--machine", "hall-two", "--open", EVERY)
    assert status == 2
    assert found["verdict"] == "stop"
    assert found["advice"]["search"] == "complete"
    options = found["advice"]["options"]
    assert len({len(o["close"]) + len(o["open"]) for o in options}) == 1
    for option in options:
        opened = (set(EVERY.split(",")) - set(option["close"])) | set(option["open"])
        status, after = document(capsys, "--machine", "hall-two", "--open", ",".join(sorted(opened)))
        assert (status, after["verdict"]) == (0, "ok")


def test_a_gate_in_use_is_never_closed(capsys: pytest.CaptureFixture[str]) -> None:
    _, found = document(capsys, "--machine", "hall-two", "--open", EVERY, "--in-use", "make-up,three-1")
    assert all(not {"make-up", "three-1"} & set(option["close"]) for option in found["advice"]["options"])


def test_without_a_machine_velocities_and_design_flows_are_judged_and_no_open_gate_is_shut(
    capsys: pytest.CaptureFixture[str],
) -> None:
    status, found = document(capsys, "--extraction", "hall-duct", "--open", EVERY)
    gates = {gate["id"]: gate["verdict"] for gate in found["gates"]}
    assert status == 2
    assert found["machine"] is None
    assert gates["saw"] == "caution"
    short = next(one for one in found["findings"] if one["subject"] == "gate saw")
    assert "below its design flow (1000 m3/h)" in short["statement"]
    assert all(not option["close"] for option in found["advice"]["options"])


def test_the_lines_name_the_stop_the_advice_and_the_exit_status(capsys: pytest.CaptureFixture[str]) -> None:
    status, text = printed(capsys, "--machine", "hall-two", "--open", "saw")
    assert status == 2
    assert "run main (the main)" in text
    assert "Gate two-1 of this machine is shut." in text
    assert "Advice: Open two-1 + two-2" in text
    assert "Verdict: stop (exit status 2)." in text
    assert "designer" in text


def test_a_caution_exits_with_1(capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(capsys, "--machine", "hall-two", "--open", "two-1,two-2")[0] == 1


def test_todays_filter_drop_and_damp_stock_change_the_verdict(capsys: pytest.CaptureFixture[str]) -> None:
    _, clean = document(capsys, "--machine", "hall-two", "--open", RIGHT)
    _, dirty = document(capsys, "--machine", "hall-two", "--open", RIGHT, "--filter-drop", "900 Pa")
    assert dirty["filter"]["drop"] == pytest.approx(900, rel=1e-6)
    assert all(b["flow"] < a["flow"] for a, b in zip(clean["gates"], dirty["gates"], strict=True))
    _, damp = document(capsys, "--machine", "hall-two", "--open", RIGHT, "--damp")
    assert damp["findings"] != clean["findings"]


def test_an_inch_profile_is_shown_in_inch_units(capsys: pytest.CaptureFixture[str]) -> None:
    _, text = printed(capsys, "--extraction", "annex-duct", "--open", "annex-sander")
    assert " cfm at " in text
    assert " in wg" in text


def test_no_gate_open_is_no_air_and_no_fault_of_the_tool(capsys: pytest.CaptureFixture[str]) -> None:
    status, found = document(capsys, "--machine", "hall-two", "--open", "")
    assert status == 2
    assert found["open"] == []


def test_input_that_makes_no_sense_says_what_would(capsys: pytest.CaptureFixture[str]) -> None:
    assert "Did you mean 'shaper'?" in refused(capsys, "--machine", "hall-two", "--open", "shapr")
    assert "Name it with --extraction" in refused(capsys, "--open", "saw")
    assert "hall-tow" in refused(capsys, "--machine", "hall-tow", "--open", "saw")
    assert "pressure" in refused(capsys, "--machine", "hall-two", "--open", RIGHT, "--filter-drop", "520 mm")
    assert "cannot be used" in refused(capsys, "--machine", "hall-two", "--open", RIGHT, "--filter-drop", "9000 Pa")
    assert "--open" in refused(capsys, "--machine", "hall-two")
