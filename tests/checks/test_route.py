"""The run's order, its two gates, and that nothing is ok by being left out."""

from __future__ import annotations

import json

import builders

from preflight.checks.finding import Verdict
from preflight.checks.route import ROUTE, assess
from preflight.sheet import SetupSheet


def bare() -> SetupSheet:
    return SetupSheet.model_validate({"schema": 1, "machine": "bay-two", "at": builders.AT})


def test_stations_come_in_working_order() -> None:
    bench, locked_off, running = ["stock", "glue"], ["belts", "backing", "condition"], ["running", "test_board"]
    doors_shut = ["tension", "extraction", "removal", "feed"]
    assert [name for name, _ in ROUTE] == [*bench, *locked_off, *doors_shut, *running]


def test_a_sheet_without_answers_is_open_and_never_ok() -> None:
    found = assess(bare(), builders.view())
    assert found.verdict is Verdict.OPEN
    assert not found.ready_for_test_board
    assert {r.check: r.verdict.word for r in found.checks if r.verdict is Verdict.OK} == {}


def test_every_open_finding_says_what_to_do() -> None:
    for result in assess(bare(), builders.view()).checks:
        for finding in result.findings:
            if finding.verdict is not Verdict.OK:
                assert finding.remedy, f"{result.check} {finding.subject}"


def test_the_first_gate_does_not_wait_for_the_test_board() -> None:
    found = assess(builders.sheet({"test_board": None}), builders.view())
    assert found.ready_for_test_board
    assert not found.releasable


def test_the_document_is_stable_json_with_si_values_and_text_as_typed() -> None:
    document = json.loads(json.dumps(assess(builders.sheet({"tension.1": "62 psi"}), builders.view()).as_json()))
    assert set(document) == {"verdict", "machine", "profile_sha256", "extraction_sha256", "checks"}
    tension = next(one for one in document["checks"] if one["check"] == "tension")
    gauge = next(f["measured"] for f in tension["findings"] if f["measured"] and f["measured"]["unit"] == "Pa")
    assert gauge["text"] == "62 psi"
    assert abs(gauge["value"] - 62 * 6894.757293168) < 1e-6


def test_assessing_twice_gives_the_same_findings() -> None:
    one, other = (assess(builders.sheet(), builders.view()) for _ in range(2))
    assert one == other
