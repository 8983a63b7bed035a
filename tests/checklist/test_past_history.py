"""What saved records tell the checks: hours of run records, and stops that a later record has or has not cleared."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from preflight.checklist.past import Past

DAWN = datetime(2026, 11, 20, 6, 0, tzinfo=UTC)


def record(day: int, kind: str = "startup", *findings: dict[str, Any], **tables: Any) -> dict[str, Any]:
    utc = (DAWN + timedelta(days=day)).isoformat()
    return {"record": {"kind": kind, "utc": utc}, "findings": list(findings), **tables}


def stop(subject: str, check: str = "running", *, override: bool = False) -> dict[str, Any]:
    return {
        "check": check, "subject": subject, "verdict": "stop", "statement": "Too slow.", "takes_override": override,
    }  # fmt: skip


def cleared(subject: str) -> dict[str, Any]:
    return {"check": "running", "subject": f"repair {subject}", "verdict": "ok", "takes_override": False}


def open_stops(*oldest_first: dict[str, Any]) -> list[tuple[str, datetime]]:
    return [(s.subject, s.since) for s in Past(tuple(reversed(oldest_first))).history().open_stops]


def test_a_stop_without_override_stays_until_a_record_clears_it() -> None:
    held = record(0, "held", stop("head 1 stop"))
    assert open_stops(held, record(1)) == [("head 1 stop", DAWN)]
    assert open_stops(held, record(1, "held", stop("repair head 1 stop"))) == [("head 1 stop", DAWN)]
    assert open_stops(held, record(1, "startup", cleared("head 1 stop"))) == []


def test_a_repair_record_gives_the_entry_and_only_a_good_reading_is_still_wanted() -> None:
    held = record(0, "held", stop("head 1 stop"))
    about = {"check": "running", "subject": "head 1 stop", "what": "lining changed", "who": "F. Aldous"}
    mended = record(1, "repair", repair=about)
    (left,) = Past((held,), repairs=(mended,)).history().open_stops
    assert (left.done, left.by) == ("lining changed", "F. Aldous")
    slow_again = record(2, "held", stop("head 1 stop"))
    (left,) = Past((slow_again, held), repairs=(mended,)).history().open_stops
    assert (left.done, left.since) == ("", DAWN)


def test_it_can_come_back_after_it_was_cleared() -> None:
    held, good = record(0, "held", stop("limit bar")), record(1, "startup", cleared("limit bar"))
    again = record(2, "held", stop("limit bar"))
    assert open_stops(held, good, again) == [("limit bar", DAWN + timedelta(days=2))]


def test_stops_that_take_an_override_and_stops_of_other_stations_leave_nothing_behind() -> None:
    assert open_stops(record(0, "held", stop("head 1 stop", override=True), stop("metal", "stock"))) == []


def test_run_records_give_hours_and_area_and_one_that_states_none_is_passed_over() -> None:
    runs = (
        record(2, "run", run={"hours": "6.5 h", "area": "310 m2"}),
        record(1, "run", run={"hours": "7 h"}),
        record(0, "run", run={"note": "no hours"}),
    )
    logs = Past((), (), runs).history().runs
    assert [(log.seconds / 3600, log.area) for log in logs] == [(7.0, 0.0), (6.5, 310.0)]
