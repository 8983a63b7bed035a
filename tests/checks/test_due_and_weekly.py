"""What is due: maintenance by hours, area and calendar from records, and what is proven weekly, one a day."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from builders import AT, SHEET, changed, machine, sheet, view
from why_panel import by_subject

from preflight.checks.belts.belt_change import other_belts
from preflight.checks.condition import check as condition
from preflight.checks.condition.due_items import items_due
from preflight.checks.finding import Finding, Verdict
from preflight.checks.removal import check as removal
from preflight.checks.running import check as running
from preflight.checks.running.stop_rotation import station_of_the_day
from preflight.checks.running.weekly import asked_today
from preflight.checks.tension import check as tension
from preflight.checks.test_board import check as test_board
from preflight.history import History, RunLog

DAY = timedelta(days=1)
HOUR = 3600.0
PLAIN = changed(SHEET, {"at": None})
CHECKS = {"condition": condition, "running": running, "tension": tension, "removal": removal, "board": test_board}
DUE = {"due": [{"item": "cover", "every": "40 h"}, {"item": "joint look", "every": "300 m2"}]}


def past(*days_ago: float, runs: tuple[RunLog, ...] = (), **changes: Any) -> History:
    """One start-up so many days ago each, oldest first; changes by "d7" for the one of seven days ago."""
    sheets = tuple(changed(PLAIN, changes.get(f"d{days:g}", {})) for days in days_ago)
    return History(sheets=sheets, times=tuple(AT - days * DAY for days in days_ago), runs=runs)


def share(item: str, history: History, profile: dict[str, Any] | None = None) -> float:
    return {one.item: one.used for one in items_due(sheet(), machine(profile or DUE), history)}[item]


def found(check: str, history: History | None, changes: dict[str, Any] | None = None) -> dict[str, Finding]:
    return by_subject(CHECKS[check].check(sheet(changes), view({"emergency_stops": ["in", "out", "panel"]}), history))


def test_hours_come_from_run_records() -> None:
    runs = tuple(RunLog(AT - days * DAY + timedelta(hours=7), 5 * HOUR) for days in (3, 2, 1))
    assert share("cover", past(3, 2, 1, runs=runs)) == pytest.approx(15 / 40)


def test_a_start_up_without_a_run_record_counts_up_to_the_next_one_at_most_a_shift() -> None:
    """A shift of 8 h: common practice, no source."""
    assert share("cover", past(3, 2, 1.9)) == pytest.approx((8 + 2.4 + 8) / 40)


def test_done_starts_the_count_anew() -> None:
    history = past(3, 2, 1, d2={"condition.done": ["cover"]})
    assert share("cover", history) == pytest.approx(16 / 40)


def test_area_is_counted_in_square_metres_or_feet() -> None:
    runs = (RunLog(AT - DAY, HOUR, area=150.0),)
    assert share("joint look", past(2, runs=runs)) == pytest.approx(0.5)
    feet = {"due": [{"item": "joint look", "every": "3000 ft2"}]}
    assert share("joint look", past(2, runs=runs), feet) == pytest.approx(150 / (3000 * 0.3048**2))


def test_days_are_counted_by_the_calendar() -> None:
    profile = {"due": [{"item": "alignment", "every": "10 d"}]}
    assert share("alignment", past(9, 1), profile) == pytest.approx(0.9)


def test_every_machine_is_cleaned_out_weekly_and_served_monthly_at_the_least() -> None:
    """Common practice, no source."""
    assert share("weekly clean-out", past(7)) == pytest.approx(1)
    assert share("general service", past(30)) == pytest.approx(1)
    own = {"due": [{"item": "general service", "every": "15 d"}]}
    assert share("general service", past(30), own) == pytest.approx(2)


def test_without_records_nothing_is_counted() -> None:
    assert items_due(sheet(), machine(DUE), None) == ()
    assert items_due(sheet(), machine(DUE), History()) == ()


def test_one_ordinary_item_a_day_and_its_finding_says_how_it_was_counted() -> None:
    findings = found("condition", past(40, 1))
    due = [f for f in findings.values() if f.subject.startswith("due ") and f.verdict is Verdict.CAUTION]
    assert {f.subject for f in due} == {"due weekly clean-out", "due general service"}
    assert "d since" in due[0].workings
    first = past(29, 3, 1, d3={"condition.done": ["weekly clean-out"]})
    cautions = [s for s, f in found("condition", first).items() if s.startswith("due") and f.verdict]
    assert cautions == ["due general service"]


def test_yesterdays_records_ask_nothing_weekly() -> None:
    assert asked_today(sheet(), machine(), past(1)) == frozenset()
    assert asked_today(sheet(), machine(), None) == frozenset()


def test_after_a_week_the_interlock_and_one_other_thing_are_asked() -> None:
    assert asked_today(sheet(), machine(), past(7, 1)) == {"interlock", "leak test"}


def test_the_next_day_asks_the_next_thing_and_all_come_round() -> None:
    order: list[frozenset[str]] = []
    records: dict[str, dict[str, Any]] = {"d30": {}}
    for ago in range(20, 0, -1):
        history = past(*(float(key[1:]) for key in records), runs=(), **records)
        day = sheet({"at": AT - ago * DAY})
        asked = asked_today(day, machine(), history)
        changes: dict[str, dict[str, Any]] = {
            "interlock": {"running.interlock": "start refused"},
            "leak test": {"tension.leak_fall": "0.1 bar"},
            "air supply": {"tension.supply": "6.4 bar"},
            "swing": {"running.swing": {"1": {"out": 2.0, "back": 2.0}}},
            "feed by stopwatch": {"running.feed_timed": {"distance": "1 m", "seconds": 10}},
            "removal test": {"removal.test": {"before": "27.9 mm", "after": ["27.5 mm", "27.4 mm"]}},
            "second pass": {"test_board.readings.1.second": "27.44 mm"},
        }
        records[f"d{ago}"] = {k: v for name in asked for k, v in changes[name].items()}
        assert "air supply" not in asked or "leak test" in asked
        order.append(asked - {"interlock", "air supply"})
    assert all(len(one) <= 1 for one in order)
    assert set().union(*order) == {"leak test", "swing", "feed by stopwatch", "removal test", "second pass"}


@pytest.mark.parametrize(
    ("check", "subject", "answer"),
    [
        ("running", "interlock", {"running.interlock": "start refused"}),
        ("tension", "leak", {"tension.leak_fall": "0.1 bar"}),
    ],
)
def test_a_weekly_item_is_open_when_due_and_ok_when_read(check: str, subject: str, answer: dict[str, Any]) -> None:
    assert found(check, past(7, 1))[subject].verdict is Verdict.OPEN
    assert found(check, past(7, 1), answer)[subject].verdict is Verdict.OK


def test_an_adjustment_asks_for_the_removal_test_of_each_head() -> None:
    finding = found("removal", past(1), {"happened": "broke down"})["removal test"]
    assert finding.verdict is Verdict.OPEN
    assert "removal test" not in found("removal", past(1))


def test_another_belt_asks_a_second_gauge_reading_a_second_pass_and_the_ends() -> None:
    history = past(1, d1={"belts.1.card": "B-0400"})
    assert other_belts(sheet(), history) == ("1",)
    assert found("tension", history)["head 1 running"].verdict is Verdict.OPEN
    assert "head 2 running" not in found("tension", history)
    again = found("tension", history, {"tension.running.1": "4.3 bar"})
    assert again["head 1 running"].verdict is Verdict.OK
    board = found("board", history)
    assert (board["second pass"].verdict, board["snipe"].verdict) == (Verdict.OPEN, Verdict.OPEN)


def test_the_stop_station_that_waited_longest_is_todays() -> None:
    profile = machine({"emergency_stops": ["in", "out", "panel"]})
    stop = "running.stop.station"
    history = past(3, 2, 1, d3={stop: "out"}, d2={stop: "panel"}, d1={stop: "in"})
    assert station_of_the_day(profile, AT.date(), history) == "out"
    assert station_of_the_day(profile, AT.date()) in profile.emergency_stops


def test_stations_not_proven_for_a_week_are_open_until_they_are_tried_too() -> None:
    stop = "running.stop.station"
    history = past(9, 2, 1, d9={stop: "out"}, d2={stop: "panel"}, d1={stop: "panel"})
    finding = found("running", history, {stop: "in"})["stop rotation"]
    assert finding.verdict is Verdict.OPEN
    assert "emergency stop at out" in finding.statement
    tried = {stop: "in", "running.stop.also": ["out"]}
    assert "stop rotation" not in found("running", history, tried)


@pytest.mark.parametrize(
    ("out", "back", "verdict"),
    [(2.5, 2.0, Verdict.OK), (2.0, 2.5, Verdict.OK), (2.6, 2.0, Verdict.CAUTION), (3.1, 2.0, Verdict.STOP)],
)
def test_a_timed_swing_is_judged_by_time_out_over_time_back(out: float, back: float, verdict: Verdict) -> None:
    """0.8 to 1.25 good, outside 0.67 to 1.5 a stop: common practice, no source."""
    finding = found("running", None, {"running.swing": {"1": {"out": out, "back": back}}})["head 1 swing"]
    assert finding.verdict is verdict
    assert f"{out / back:.2f}" in finding.statement
    assert (verdict is Verdict.OK) == (finding.remedy == "")


@pytest.mark.parametrize(
    ("seconds", "verdict", "off"),
    [
        (10, Verdict.OK, "+0.0%"),
        (9.6, Verdict.OK, "+4.2%"),
        (10.7, Verdict.CAUTION, "-6.5%"),
        (11.5, Verdict.STOP, "-13"),
    ],
)
def test_the_feed_by_stopwatch_is_held_against_the_feed_set(seconds: float, verdict: Verdict, off: str) -> None:
    """One metre at 6 m/min takes 10 s. Within 5 % good, over 10 % a stop: common practice, no source."""
    timed = {"running.feed_timed": {"distance": "1 m", "seconds": seconds}}
    finding = found("running", None, timed)["feed by stopwatch"]
    assert finding.verdict is verdict
    assert off in finding.statement


def test_the_air_supply_is_asked_weekly_with_the_leak_test_and_after_the_air_was_off() -> None:
    silent = {"tension.supply": None}
    history = past(7, 1, d1=silent, d7=silent)
    assert asked_today(sheet(silent), machine(), history) == {"interlock", "leak test", "air supply"}
    assert asked_today(sheet({"happened": "power or air off"}), machine(), past(1)) == {"air supply"}
    assert asked_today(sheet({"happened": "power or air off"}), machine({"air.supply": None}), past(1)) == frozenset()
    finding = found("tension", past(1), {**silent, "happened": "power or air off"})["supply"]
    assert (finding.verdict, finding.asks) == (Verdict.OPEN, "tension.supply")
    assert "supply" not in found("tension", past(1), silent)
