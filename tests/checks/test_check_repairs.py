"""A stop that nobody may override clears by a repair entry and a good new reading, and by nothing less."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import AT, sheet, view
from why_panel import by_subject

from preflight.checks.finding import Finding, Verdict
from preflight.checks.running import check as running
from preflight.history import History, OpenStop

LEFT = History(open_stops=(OpenStop("running", "head 1 stop", "Stop of head 1 12.5 s is over the limit.", AT),))
ENTRY = {"check": "running", "subject": "head 1 stop", "what": "brake lining changed", "who": "F. Aldous"}


def found(changes: dict[str, Any], history: History | None = LEFT) -> Finding:
    return by_subject(running.check(sheet(changes), view(), history))["repair head 1 stop"]


def test_a_good_reading_alone_does_not_clear_it() -> None:
    finding = found({})
    assert finding.verdict is Verdict.STOP
    assert not finding.takes_override
    assert "no repair is entered" in finding.statement


@pytest.mark.parametrize("seconds", [12.5, None])
def test_an_entry_without_a_good_new_reading_does_not_clear_it(seconds: float | None) -> None:
    finding = found({"repairs": [ENTRY], "running.stop.seconds.1": seconds})
    assert finding.verdict is Verdict.STOP
    assert "new reading is missing" in finding.statement


def test_entry_and_good_reading_clear_it_and_both_are_named() -> None:
    finding = found({"repairs": [ENTRY]})
    assert finding.verdict is Verdict.OK
    assert "F. Aldous" in finding.statement
    assert "6.4 s" in finding.statement
    assert "brake lining changed" in finding.workings


def test_an_entry_for_something_else_clears_nothing() -> None:
    assert found({"repairs": [{**ENTRY, "subject": "head 2 stop"}]}).verdict is Verdict.STOP


def test_a_bad_reading_typed_over_in_the_same_start_up_wants_an_entry_too() -> None:
    failed = {"running.failed": [{"subject": "head 1 stop", "reading": "12.5 s"}]}
    assert found(failed, None).verdict is Verdict.STOP
    assert found({**failed, "repairs": [{**ENTRY, "what": "mistyped, timed again"}]}, None).verdict is Verdict.OK


def test_without_a_stop_left_behind_no_entry_is_asked() -> None:
    assert not [f for f in running.check(sheet(), view(), None) if f.subject.startswith("repair")]


def test_a_repair_record_stands_for_the_entry_and_the_reading_is_still_wanted() -> None:
    mended = History(open_stops=(replace(LEFT.open_stops[0], done="lining changed", by="F. Aldous"),))
    assert found({}, mended).verdict is Verdict.OK
    assert found({"running.stop.seconds.1": 12.5}, mended).verdict is Verdict.STOP
    failed = {"running.failed": [{"subject": "head 1 stop", "reading": "12.5 s"}]}
    assert found(failed, mended).verdict is Verdict.STOP


def test_an_unsaved_reading_of_this_run_is_told_from_a_record() -> None:
    failed = {"running.failed": [{"subject": "head 1 stop", "reading": "28 s"}]}
    finding = found(failed, None)
    assert "was 28 s earlier in this run" in finding.statement
    assert "record" not in finding.source
    assert found({}).source.startswith("record of ")


def test_a_mistyped_reading_is_called_a_slip_and_not_a_repair() -> None:
    failed = {"running.failed": [{"subject": "head 1 stop", "reading": "28 s"}]}
    finding = found({**failed, "repairs": [{**ENTRY, "what": "mistyped"}]}, None)
    assert finding.verdict is Verdict.OK
    assert finding.statement == "Head 1 stop: 28 s was a typing slip, by F. Aldous; 6.4 s read again."
    unread = {"running.stop.seconds.1": None, "repairs": [{**ENTRY, "what": "mistyped"}]}
    assert found({**failed, **unread}, None).verdict is Verdict.STOP
