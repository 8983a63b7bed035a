"""A clock that stands: the moment at which every test takes place that asks the terminal's clock."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo

NOW = datetime(2026, 12, 1, 7, 10, tzinfo=UTC)
"""A Tuesday morning at work, ten past eight there."""


class StandingClock(datetime):
    """A `datetime` whose now is always the same."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]  # a record takes no subclass
        """The moment of the tests; local time, as of the real one, where no zone is named."""
        return datetime.fromtimestamp(NOW.timestamp(), tz)
