"""Days of a list: what is offered, what is typed, and the seconds that they are."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from preflight.audit.period import Period, periods, typed_period
from preflight.errors import PreflightError

TODAY = date(2026, 11, 25)


def test_the_offered_periods_end_today_and_hold_as_many_days_as_they_say() -> None:
    offered = periods(TODAY)
    assert all(period.last == TODAY for period in offered.values())
    days = {name: (TODAY - period.first).days + 1 for name, period in offered.items() if period.first}
    assert days == {"today": 1, "last 7 days": 7, "last 31 days": 31, "this month": 25}


def test_a_period_begins_and_ends_at_local_midnight() -> None:
    east = timezone(timedelta(hours=9))
    since, until = Period(TODAY, TODAY).seconds(east)
    assert since == int(datetime(2026, 11, 24, 15, tzinfo=UTC).timestamp())
    assert until is not None
    assert until - since == 86400


def test_a_day_on_which_the_clock_is_set_back_is_an_hour_longer() -> None:
    # Europe/Vienna, 25 October 2026, by the IANA time zone database
    zone = ZoneInfo("Europe/Vienna")
    since, until = Period(date(2026, 10, 25), date(2026, 10, 25)).seconds(zone)
    assert since is not None
    assert until is not None
    assert until - since == 25 * 3600


def test_typed_days_may_leave_an_end_open_and_print_as_they_were_meant() -> None:
    assert typed_period("2026-11-01", " 2026-11-07 ").label == "2026-11-01 to 2026-11-07"
    assert typed_period("2026-11-01", "").label == "since 2026-11-01"
    assert typed_period("", "2026-11-07").label == "to 2026-11-07"
    assert typed_period("2026-11-07", "2026-11-07").label == "2026-11-07"
    assert typed_period("", "") == Period()
    assert Period().label == ""
    assert Period().seconds(UTC) == (None, None)


@pytest.mark.parametrize(
    ("first", "last", "why"), [("1.11.2026", "", "no day"), ("2026-11-02", "2026-11-01", "before")]
)
def test_what_is_no_day_or_ends_before_it_begins_is_refused(first: str, last: str, why: str) -> None:
    with pytest.raises(PreflightError, match=why):
        typed_period(first, last)
