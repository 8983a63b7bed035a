"""Running: the timed stop, restart, limit bar, interlock, tracking and idle current."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from builders import AT, SHEET, changed, machine, sheet, view
from why_panel import by_subject

from preflight.checks.finding import Finding, Verdict
from preflight.checks.running import check as running
from preflight.history import History

NO_BRAKE = {"heads.1.brake": "none", "heads.1.run_down": None}


def found(changes: dict[str, Any] | None = None, profile: dict[str, Any] | None = None) -> dict[str, Finding]:
    return by_subject(running.check(sheet(changes), view(profile), None))


def test_a_sheet_in_order_has_only_ok_findings() -> None:
    findings = found()
    assert {f.verdict for f in findings.values()} == {Verdict.OK}
    assert {"head 1 stop", "head 2 stop", "restart", "limit bar", "head 1 tracking"} <= set(findings)


def test_a_stop_beyond_its_limit_says_by_how_much_and_takes_no_override() -> None:
    finding = found({"running.stop.seconds.1": 12.5})["head 1 stop"]
    assert finding.verdict is Verdict.STOP
    assert "12.5 s is 2.5 s over the limit (at most 10 s)" in finding.statement
    assert "Tag the machine out" in finding.remedy
    assert not finding.takes_override


@pytest.mark.parametrize(("seconds", "verdict"), [(8.0, Verdict.OK), (8.1, Verdict.CAUTION), (10, Verdict.CAUTION)])
def test_a_slow_stop_inside_its_limit_is_a_caution(seconds: float, verdict: Verdict) -> None:
    assert found({"running.stop.seconds.1": seconds})["head 1 stop"].verdict is verdict


def test_without_a_limit_of_its_own_a_braked_head_has_ten_seconds() -> None:
    """Ten seconds for a braked tool: WIS38 of the UK safety authority, as quoted."""
    profile = {"heads.1.run_down": None}
    finding = found({"running.stop.seconds.1": 10.1}, profile)["head 1 stop"]
    assert finding.verdict is Verdict.STOP
    assert finding.source.startswith("default")
    assert found({"running.stop.seconds.1": 7}, profile)["head 1 stop"].verdict is Verdict.OK


def test_an_unbraked_head_without_the_books_limit_is_open_and_its_doors_stay_shut() -> None:
    finding = found({"running.stop.seconds.1": 45}, NO_BRAKE)["head 1 stop"]
    assert finding.verdict is Verdict.OPEN
    assert "doors stay shut until it is still" in finding.statement
    assert "heads.1.run_down" in finding.remedy


def test_an_unbraked_head_is_judged_by_the_books_limit_and_its_doors_stay_shut() -> None:
    profile = {"heads.1.brake": "none", "heads.1.run_down": {"high": "60 s"}}
    good = found({"running.stop.seconds.1": 45}, profile)["head 1 stop"]
    assert good.verdict is Verdict.OK
    assert "doors stay shut until it is still" in good.statement
    bad = found({"running.stop.seconds.1": 75}, profile)["head 1 stop"]
    assert bad.verdict is Verdict.STOP
    assert "15 s over" in bad.statement


def test_a_stop_not_done_is_open_and_names_the_station_of_the_day() -> None:
    finding = found({"running.stop": None})["stop"]
    assert finding.verdict is Verdict.OPEN
    assert finding.asks == "running.stop"
    assert "outfeed" in finding.remedy


def test_every_head_that_runs_needs_its_seconds_and_a_lifted_one_none() -> None:
    one = {"running.stop.seconds": {"1": 6.4}}
    assert found(one)["head 2 stop"].asks == "running.stop.seconds.2"
    off = {**one, "belts.2.lifted": True, "running.tracking": {"1": "even"}, "running.idle_current": {"1": "9 A"}}
    assert "head 2 stop" not in found(off)


def test_the_station_of_the_day_takes_every_station_in_turn() -> None:
    profile = machine()
    days = [running.station_of_the_day(profile, date(2026, 11, 23) + timedelta(days=n)) for n in range(3)]
    assert sorted(day or "" for day in days) == ["infeed", "outfeed", "panel"]
    assert running.station_of_the_day(profile, date(2026, 11, 26)) == days[0]
    assert running.station_of_the_day(machine({"emergency_stops": []}), date(2026, 11, 26)) is None


def test_another_station_than_todays_is_fine_but_said() -> None:
    finding = found({"running.stop.station": "panel"})["stop station"]
    assert finding.verdict is Verdict.OK
    assert "today's in the rotation is outfeed" in finding.statement


def test_another_station_than_todays_is_not_enough_when_todays_has_waited_a_week() -> None:
    days = (8, 6, 4, 2)
    plain = changed(SHEET, {"at": None, "running.stop.station": "panel"})
    first = changed(plain, {"running.stop.also": ["infeed"]})
    recent = changed(plain, {"running.stop.also": ["outfeed"]})
    history = History(sheets=(first, plain, plain, recent), times=tuple(AT - timedelta(days=ago) for ago in days))

    def rotation(changes: dict[str, Any]) -> Finding | None:
        found = by_subject(running.check(sheet(changes), view(), history))
        assert found["stop station"].verdict is Verdict.OK
        return found.get("stop rotation")

    finding = rotation({"running.stop.station": "panel"})
    assert finding is not None
    assert finding.verdict is Verdict.OPEN
    assert "the emergency stop at infeed" in finding.statement
    assert rotation({"running.stop.station": "panel", "running.stop.also": ["infeed"]}) is None
    assert rotation({"running.stop.station": "infeed"}) is None


def test_a_station_that_the_profile_does_not_list_is_a_caution() -> None:
    finding = found({"running.stop.station": "yard"})["stop station"]
    assert finding.verdict is Verdict.CAUTION
    assert "not in the profile" in finding.statement


@pytest.mark.parametrize(
    ("key", "bad", "subject", "words"),
    [
        ("running.restarts_by_itself", True, "restart", "starts by itself"),
        ("running.limit_bar", "does not stop the feed", "limit bar", "does not stop the feed"),
        ("running.interlock", "starts with a door open", "interlock", "the machine starts"),
    ],
)
def test_a_safety_device_that_fails_is_a_stop_that_nobody_overrides(
    key: str, bad: object, subject: str, words: str
) -> None:
    finding = found({key: bad})[subject]
    assert finding.verdict is Verdict.STOP
    assert words in finding.statement
    assert "repair entry" in finding.remedy
    assert not finding.takes_override


@pytest.mark.parametrize(
    ("key", "subject", "how"),
    [
        ("running.restarts_by_itself", "restart", "nothing may start until start is pressed"),
        ("running.limit_bar", "limit bar", "a stick or a test piece, never a hand"),
    ],
)
def test_a_safety_device_not_tried_is_open_and_says_how_to_try_it(key: str, subject: str, how: str) -> None:
    finding = found({key: None})[subject]
    assert finding.verdict is Verdict.OPEN
    assert how in finding.remedy


def test_the_interlock_is_judged_only_when_answered() -> None:
    assert "interlock" not in found()
    finding = found({"running.interlock": "start refused"})["interlock"]
    assert finding.verdict is Verdict.OK
    assert "heads at rest" in finding.statement


@pytest.mark.parametrize(
    ("key", "bad", "good", "subject"),
    [
        ("running.restarts_by_itself", "starts by itself", False, "restart"),
        ("running.limit_bar", "does not stop the feed", "stops the feed", "limit bar"),
        ("running.interlock", "starts with a door open", "start refused", "interlock"),
    ],
)
def test_a_device_that_failed_and_was_retyped_as_fine_wants_a_repair_entry_and_a_good_answer(
    key: str, bad: str, good: object, subject: str
) -> None:
    failed: dict[str, Any] = {"running.failed": [{"subject": subject, "reading": bad}]}
    repair = {"check": "running", "subject": subject, "what": "switch changed", "who": "F. Aldous"}
    retyped = found({**failed, key: good})
    assert retyped[subject].verdict is Verdict.OK
    assert retyped[f"repair {subject}"].verdict is Verdict.STOP
    assert not retyped[f"repair {subject}"].takes_override
    assert f"was {bad} earlier in this run" in retyped[f"repair {subject}"].statement
    silent = found({**failed, key: None, "repairs": [repair]})
    assert silent[f"repair {subject}"].verdict is Verdict.STOP
    assert found({**failed, key: good, "repairs": [repair]})[f"repair {subject}"].verdict is Verdict.OK


def test_uneven_tracking_is_a_caution_with_the_order_of_suspicion() -> None:
    finding = found({"running.tracking.1": "uneven"})["head 1 tracking"]
    assert finding.verdict is Verdict.CAUTION
    assert "tension, dust on the eye, feed or cut, air, roller, belt last" in finding.remedy


@pytest.mark.parametrize("seen", ["touches the frame", "no oscillation"])
def test_a_belt_that_touches_or_stands_still_stops_the_start_up(seen: str) -> None:
    finding = found({"running.tracking.1": seen})["head 1 tracking"]
    assert finding.verdict is Verdict.STOP
    assert finding.remedy.startswith("Stop the head.")


def test_tracking_not_looked_at_is_open() -> None:
    assert found({"running.tracking.2": None})["head 2 tracking"].asks == "running.tracking.2"


# Common practice, no source: a quarter over the baseline.
@pytest.mark.parametrize(("read", "verdict"), [("11.25 A", Verdict.OK), ("11.3 A", Verdict.CAUTION)])
def test_idle_current_a_quarter_over_its_baseline_is_a_caution(read: str, verdict: Verdict) -> None:
    finding = found({"running.idle_current.1": read})["head 1 idle current"]
    assert finding.verdict is verdict
    assert "9 A" in finding.statement
    if verdict is Verdict.CAUTION:
        assert "+26%" in finding.statement
        assert "brake rub" in finding.remedy


def test_one_head_a_day_is_enough_and_none_is_open_for_the_head_of_the_day() -> None:
    assert all(f.verdict is Verdict.OK for f in found({"running.idle_current": {"2": "8.1 A"}}).values())
    finding = found({"running.idle_current": {}})["idle current"]
    assert finding.verdict is Verdict.OPEN
    today = running.head_of_the_day(machine().heads, date(2026, 11, 25))
    assert finding.asks == f"running.idle_current.{today}"
    assert today != running.head_of_the_day(machine().heads, date(2026, 11, 26))


def test_an_idle_current_without_a_baseline_is_shown() -> None:
    finding = found(profile={"heads.1.motor.idle_current": None})["head 1 idle current"]
    assert finding.verdict is Verdict.OK
    assert "no baseline" in finding.statement
