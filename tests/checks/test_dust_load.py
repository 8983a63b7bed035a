"""The bin and the dust in the air: mass balance against hand figures, and words that claim no safety."""

from __future__ import annotations

from typing import Any

import pytest
from builders import sheet, view

from preflight.checks.extraction.air_evidence import evidence
from preflight.checks.extraction.dust_load import dust_findings
from preflight.checks.finding import Finding, Verdict


def found(changes: dict[str, Any] | None = None, **shop: Any) -> dict[str, Finding]:
    answers, seen = sheet(changes), view(**shop)
    findings = {f.subject: f for f in dust_findings(answers, seen, evidence(answers, seen))}
    for one in findings.values():
        assert len(one.statement) <= 150, one.statement
        assert len(one.remedy) <= 200, one.remedy
    return findings


def grams(finding: Finding) -> float:
    assert finding.measured is not None
    assert not isinstance(finding.measured, str)
    return finding.measured.value * 1000


def test_a_bin_that_nobody_looked_at_is_open() -> None:
    finding = found({"extraction.bin_full": None})["bin"]
    assert finding.verdict is Verdict.OPEN
    assert finding.asks == "extraction.bin_full"
    assert "never open it" in finding.remedy


def test_a_full_bin_stops_and_raising_the_alarm_comes_first() -> None:
    finding = found({"extraction.bin_full": 0.97})["bin"]
    assert finding.verdict is Verdict.STOP
    assert finding.remedy.index("raise the alarm first") < finding.remedy.index("empty it")


def test_a_bin_that_fills_before_the_job_is_done_is_a_caution_with_the_minutes() -> None:
    finding = found({"extraction.bin_full": 0.9}, ducts={"bin.volume": "30 L"})["bin"]
    assert finding.verdict is Verdict.CAUTION
    assert "full after about" in finding.statement
    assert "the job takes" in finding.statement
    assert len(finding.actions) == 2


def test_a_bin_with_room_says_when_it_is_full() -> None:
    finding = found()["bin"]
    assert finding.verdict is Verdict.OK
    assert "40% full, full after about" in finding.statement


def test_dust_per_air_is_the_mass_balance_over_the_flow_at_this_machines_gates() -> None:
    readings = [{"gate": gate, "flow": "1500 m3/h"} for gate in ("bay-two-1", "bay-two-2")]
    once = found({"extraction.readings": readings})["dust per air"]
    twice = found({"extraction.readings": [{**r, "flow": "750 m3/h"} for r in readings]})["dust per air"]
    assert grams(twice) == pytest.approx(2 * grams(once))
    assert "ρ·W·a·v" in once.workings


def thick(**ducts: Any) -> dict[str, Finding]:
    return found(ducts={"explosive_limit": "2 g/m3", **ducts})


def test_above_the_assumed_limit_it_stops_unless_protection_is_stated() -> None:
    stopped = thick()["dust per air"]
    assert stopped.verdict is Verdict.STOP
    assert "no approved protection is stated" in stopped.remedy
    guard = {"what": "relief panels", "by": "P. Quill", "date": sheet().at.date()}
    stated = thick(protection=guard)["dust per air"]
    assert stated.verdict is Verdict.OK
    assert ", over the assumed explosive limit" in stated.statement
    assert "relief panels, P. Quill" in stated.remedy


def test_between_a_quarter_and_the_whole_it_is_one_note_and_below_nothing_to_do() -> None:
    value = grams(found()["dust per air"])
    noted = found(ducts={"explosive_limit": f"{value * 2:.2f} g/m3"})["dust per air"]
    quiet = found(ducts={"explosive_limit": f"{value * 5:.2f} g/m3"})["dust per air"]
    assert noted.verdict is quiet.verdict is Verdict.OK
    assert "more than 25% of" in noted.statement
    assert quiet.remedy == ""


def test_an_assumed_limit_nobody_confirmed_says_default_and_no_word_calls_anything_safe() -> None:
    finding = found()["dust per air"]
    assert finding.source.startswith("default")
    for one in (finding, thick()["dust per air"]):
        text = f"{one.statement} {one.remedy}".replace("This is no safety assessment.", "")
        assert "safe" not in text


def test_without_a_known_flow_or_plan_no_dust_per_air_is_given() -> None:
    assert "dust per air" not in found({"extraction.open": None})
    assert "dust per air" not in found({"stock.thickness": None, "removal": {}})


def test_a_part_of_a_per_cent_of_the_bin_is_said_as_typed() -> None:
    assert "The bin is 6.5% full" in found({"extraction.bin_full": 0.065})["bin"].statement
    assert "The bin is 29% full" in found({"extraction.bin_full": 0.29})["bin"].statement
