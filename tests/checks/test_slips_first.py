"""A reading that a slip of the unit explains is asked about first, and nothing is advised on the strength of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from builders import sheet, view

from preflight.checks.finding import Verdict
from preflight.checks.slips import READ_FIRST
from preflight.checks.stock import check as stock
from preflight.checks.tension import check as tension
from preflight.checks.test_board import check as test_board

if TYPE_CHECKING:
    from collections.abc import Callable

    from preflight.checks.finding import Finding


def found(check: Callable[..., list[Finding]], changes: dict[str, Any]) -> dict[str, Finding]:
    return {one.subject: one for one in check(sheet(changes), view(), None)}


# head 2 has paper on, 3.2 to 3.9 bar; its other band is 3.9 to 4.7 bar
@pytest.mark.parametrize(("text", "meant"), [("42 bar", "4.2 bar"), ("60 bar", "60 psi"), ("34 bar", "3.4 bar")])
def test_a_gauge_that_would_fit_any_backing_is_asked_about_before_the_regulator_is_turned(
    text: str, meant: str
) -> None:
    findings = found(tension.check, {"tension.2": text})
    assert findings["head 2 unit"].verdict is Verdict.OPEN
    assert f"was {meant} meant?" in findings["head 2 unit"].statement
    assert findings["head 2"].verdict is Verdict.STOP
    assert findings["head 2"].remedy == READ_FIRST


def test_a_slack_belt_is_no_slip() -> None:
    findings = found(tension.check, {"tension.2": "0.42 bar"})
    assert "head 2 unit" not in findings
    assert findings["head 2"].remedy.startswith("Turn the regulator up")


def test_a_gauge_in_the_band_of_another_backing_is_no_slip() -> None:
    findings = found(tension.check, {"tension.2": "4.3 bar"})
    assert "head 2 unit" not in findings
    assert findings["head 2"].remedy.startswith("Let it down to")


@pytest.mark.parametrize("gauge", ["3.0 bar", "3.25 bar", "4.3 bar"])
def test_what_to_do_about_tension_is_short_and_the_why_stands_apart(gauge: str) -> None:
    finding = found(tension.check, {"tension.2": gauge})["head 2"]
    assert finding.remedy
    assert len(finding.remedy) <= 110
    assert "dust on the eye" in finding.workings


@pytest.mark.parametrize(("text", "meant"), [("274.5 mm", "27.45 mm"), ("1.081 mm", "1.081 in")])
def test_a_board_reading_far_from_its_others_moves_no_adjuster(text: str, meant: str) -> None:
    findings = found(test_board.check, {"test_board.readings.1.after": text})
    asked = findings["board at 60 mm unit"]
    assert asked.verdict is Verdict.OPEN
    assert f"was {meant} meant?" in asked.statement
    assert findings["taper"].verdict is Verdict.STOP
    assert all("adjuster" not in one.remedy for one in findings.values())
    assert "board at 470 mm unit" not in findings


def test_a_board_that_is_really_tapered_still_gets_its_adjuster() -> None:
    findings = found(test_board.check, {"test_board.readings.1.after": "26.9 mm"})
    assert "board at 60 mm unit" not in findings
    assert "adjuster" in findings["taper"].remedy


@pytest.mark.parametrize("text", ["278 mm", "2.78 mm", "1.095 mm"])
def test_stock_far_from_the_jobs_target_is_asked_about(text: str) -> None:
    findings = found(stock.check, {"stock.thickness": [text, text]})
    assert findings["thickness unit"].verdict is Verdict.OPEN
    assert findings["thinnest unit"].verdict is Verdict.OPEN
    assert findings["opening"].verdict is Verdict.OK or findings["opening"].remedy == READ_FIRST


def test_stock_near_the_target_is_not_asked_about() -> None:
    assert not [name for name in found(stock.check, {"stock.thickness": ["35 mm", "34.8 mm"]}) if "unit" in name]
