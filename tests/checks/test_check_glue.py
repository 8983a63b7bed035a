"""Glue squeeze-out. All of it common practice, no source."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from builders import sheet, view

from preflight.checks.finding import Verdict
from preflight.checks.glue import check as glue

if TYPE_CHECKING:
    from builders import Changes

    from preflight.checks.finding import Finding


def findings(answers: Changes | None = None, machine: Changes | None = None) -> dict[str, Finding]:
    return {f.subject: f for f in glue.check(sheet(answers), view(machine), None)}


def test_scraped_by_a_named_person_is_ok() -> None:
    found = findings()["glue"]
    assert found.verdict is Verdict.OK
    assert "assembly" in found.statement


def test_scraped_by_nobody_is_open() -> None:
    found = findings({"glue.by": ""})["glue"]
    assert found.verdict is Verdict.OPEN
    assert found.asks == "glue.by"


def test_no_squeeze_out_needs_no_name() -> None:
    assert findings({"glue": {"state": "none"}})["glue"].verdict is Verdict.OK


def test_not_looked_at_is_open() -> None:
    assert findings({"glue": {}})["glue"].verdict is Verdict.OPEN


def test_standing_beads_stop_the_lot_with_the_scraper_as_remedy() -> None:
    found = findings({"glue.state": "beads standing"})["glue"]
    assert found.verdict is Verdict.STOP
    assert "let beads stand and snap them off hard with a scraper" in found.remedy.casefold()
    assert "before it reaches the machine" in found.remedy


def test_a_smear_is_a_caution_by_default_and_says_why_it_is_the_worse_case() -> None:
    found = findings({"glue.state": "smeared"})["glue"]
    assert found.verdict is Verdict.CAUTION
    assert "worse than a standing bead" in found.statement
    assert "wider strip" in found.statement
    assert "cannot be snapped off" in found.statement
    assert 2 <= len(found.actions) <= 4
    assert found.source.startswith("default")


def test_a_smear_stops_where_the_profile_says_so() -> None:
    found = findings({"glue.state": "smeared"}, {"glue.smear": "stop"})["glue"]
    assert found.verdict is Verdict.STOP
    assert found.source == "machine book, rev. C"
    assert found.basis == "glue.smear"


@pytest.mark.parametrize("state", ["beads standing", "smeared"])
def test_glue_still_on_carries_the_money(state: str) -> None:
    found = findings({"glue.state": state})["glue"]
    text = f"{found.statement} {found.remedy}"
    assert "seconds a joint with a scraper, against a belt, its change and a stopped machine" in text


@pytest.mark.parametrize(("height", "verdict"), [("0 mm", "ok"), ("0.2 mm", "caution"), ("0.45 mm", "stop")])
def test_the_highest_bead_is_judged_by_its_height(height: str, verdict: str) -> None:
    found = findings({"glue.bead_height": height})["bead height"]
    assert found.verdict.word == verdict
    if verdict == "stop":
        assert "0.15 mm over" in found.statement
        assert "scraper" in found.remedy


def test_a_bead_counts_on_top_of_the_removal() -> None:
    # head 1 takes 0.38 mm of its 0.508 mm; 0.25 mm of glue on top is 0.122 mm over
    found = findings({"glue.bead_height": "0.25 mm"})["bite"]
    assert found.verdict is Verdict.STOP
    assert "bite 0.63 mm, 0.122 mm over" in found.statement


def test_hard_glue_counts_twice_as_a_caution() -> None:
    found = findings({"glue.bead_height": "0.1 mm"})["bite"]
    assert found.verdict is Verdict.CAUTION
    assert "counts twice" in found.statement


def test_a_low_bead_within_the_cap_is_ok() -> None:
    assert findings({"glue.bead_height": "0.05 mm"})["bite"].verdict is Verdict.OK


def test_young_glue_is_a_caution_with_the_waiting_time() -> None:
    found = findings({"glue.hours_since_clamps": 6})["glue age"]
    assert found.verdict is Verdict.CAUTION
    assert "18 h short of 24 h" in found.statement
    assert "Wait 18 h more" in found.remedy


def test_a_shop_may_set_its_own_wait() -> None:
    found = findings({"glue.hours_since_clamps": 30}, {"glue.wait": "48 h"})["glue age"]
    assert found.verdict is Verdict.CAUTION
    assert "18 h short of 48 h" in found.statement
    assert found.source == "machine book, rev. C"


def test_exactly_the_waiting_time_is_enough() -> None:
    assert findings({"glue.hours_since_clamps": 24})["glue age"].verdict is Verdict.OK


def test_hours_are_asked_only_where_glue_is_still_on() -> None:
    assert "glue age" not in findings({"glue.hours_since_clamps": None})
    assert findings({"glue": {"state": "smeared"}})["glue age"].verdict is Verdict.OPEN


@pytest.mark.parametrize("state", ["rubbery", "wet"])
def test_soft_glue_is_a_caution_that_says_how_long_to_wait(state: str) -> None:
    found = findings({"glue.glue": state})["glue under the nail"]
    assert found.verdict is Verdict.CAUTION
    assert "24 h from clamps off" in found.remedy


def test_one_finding_does_not_hide_another() -> None:
    found = findings(
        {"glue": {"state": "beads standing", "bead_height": "5 mm", "hours_since_clamps": 1, "glue": "wet"}}
    )
    assert {key for key, f in found.items() if f.verdict is not Verdict.OK} == {
        "glue",
        "bead height",
        "bite",
        "glue age",
        "glue under the nail",
    }


def test_a_bead_ten_times_too_high_can_be_and_is_taken_at_its_word() -> None:
    found = findings({"glue.bead_height": "2.5 mm"})
    assert found["bead height"].verdict is Verdict.STOP
    assert "bead height unit" not in found
