"""Days that a list is narrowed to, in the shop's own time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from preflight.errors import PreflightError

if TYPE_CHECKING:
    from datetime import tzinfo

LOOK_BACK = 400 * 86400
"""Seconds that patterns, trends and today's drifts look back."""


@dataclass(frozen=True, slots=True)
class Period:
    """From the first day to the last, both included; None: open at that end."""

    first: date | None = None
    last: date | None = None

    @property
    def label(self) -> str:
        """As the list says it: "2026-11-01 to 2026-11-25"; empty without either day."""
        if self.first is not None and self.first == self.last:
            return self.first.isoformat()
        if self.first is not None:
            return f"{self.first} to {self.last}" if self.last else f"since {self.first}"
        return f"to {self.last}" if self.last else ""

    def seconds(self, zone: tzinfo | None) -> tuple[int | None, int | None]:
        """Seconds since 1970 of its begin and, not included, its end. Without a zone: that of this terminal."""
        return _midnight(self.first, zone), _midnight(self.last + timedelta(days=1) if self.last else None, zone)


def periods(today: date) -> dict[str, Period]:
    """What is often asked for, by its name, in the order of the list."""
    return {
        "today": Period(today, today),
        "last 7 days": Period(today - timedelta(days=6), today),
        "last 31 days": Period(today - timedelta(days=30), today),
        "this month": Period(today.replace(day=1), today),
    }


def typed_period(first: str, last: str) -> Period:
    """The days typed, either of them empty. PreflightError for what is no day, and for an end before the begin."""
    period = Period(_day(first), _day(last))
    if period.first is not None and period.last is not None and period.last < period.first:
        raise PreflightError(
            f"The last day, {period.last}, is before the first, {period.first}.", "Change one of them."
        )
    return period


def _day(text: str) -> date | None:
    if not text.strip():
        return None
    try:
        return datetime.strptime(text.strip(), "%Y-%m-%d").date()  # noqa: DTZ007 (a day, no moment)
    except ValueError as error:
        raise PreflightError(f"{text.strip()!r} is no day.", "Write it as in 2026-11-01.") from error


def _midnight(day: date | None, zone: tzinfo | None) -> int | None:
    # without a zone each day gets the offset that this terminal had on that day, summer or winter
    return int(datetime.combine(day, time(), zone).timestamp()) if day is not None else None
