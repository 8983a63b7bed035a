"""The audit's thresholds: `audit.toml` in the shop folder, every key with a default. Common practice, no source."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from preflight.disk import entries
from preflight.shop.fields import Strict
from preflight.shop.files import load

if TYPE_CHECKING:
    from pathlib import Path

FILE = "audit.toml"

Part = Annotated[float, Field(gt=0, lt=1, strict=False)]
Some = Annotated[int, Field(ge=1)]
Price = Annotated[float, Field(ge=0, le=1e6, strict=False)]


class PaceRules(Strict):
    """Too fast for what was asked."""

    share: Part = 0.6
    """A start-up faster than this share of its floor counts."""
    honest: Part = 0.02
    """At most this share of honest start-ups is that fast: figures typed in from a note."""
    entries: Some = 3
    """So many readings ..."""
    seconds: Some = 5
    """... within so many seconds in as many places are a burst."""
    honest_bursts: Part = 0.03


class RepeatRules(Strict):
    """The same reading again and again."""

    pairs: Some = 30
    """Fewer consecutive readings of others make no match rate."""


class DigitRules(Strict):
    """Round numbers."""

    readings: Annotated[int, Field(ge=50)] = 50
    spread: Annotated[float, Field(ge=4.5, strict=False)] = 5.0
    """Standard deviation in last-digit steps from which digits are even: 16 steps from the 5th to the 95th per cent."""


class HuggingRules(Strict):
    """Readings crowded just inside a limit."""

    readings: Some = 12
    steps: Some = 2
    """Width of each of the two windows, in steps of the gauge."""


class RereadRules(Strict):
    """Read again until it passes."""

    values: Annotated[int, Field(ge=2)] = 3
    seconds: Some = 60
    honest: Part = 0.02


class FailureRules(Strict):
    """Never a caution or a stop."""

    records: Some = 60
    share: Part = 0.03
    """Taken when there are too few records of others."""


class Shift(Strict):
    """One shift, by local time; `until` before `since` ends on the next day."""

    name: Annotated[str, Field(min_length=1, max_length=40)]
    since: time
    until: time


class AttendanceRules(Strict):
    """Missed and late start-ups."""

    shifts: Annotated[tuple[Shift, ...], Field(strict=False)] = (
        Shift(name="early", since=time(5), until=time(13)),
        Shift(name="late", since=time(13), until=time(21)),
        Shift(name="night", since=time(21), until=time(5)),
    )
    late_minutes: Some = 10
    """After the first part."""


class DriftRules(Strict):
    """The cumulative-sum alarm over means of blocks, in their standard deviations."""

    days: Annotated[int, Field(ge=1, le=31)] = 7
    """Of a block. Readings of one week go together, means of weeks hardly do."""
    learn: Annotated[int, Field(ge=5, le=100)] = 8
    """Blocks before the first one that is judged."""
    slack: Annotated[float, Field(gt=0, le=1, strict=False)] = 0.5
    """Half the shift that is to be found soonest."""
    false_alarms: Annotated[float, Field(gt=0, le=50, strict=False)] = 0.5
    """A year, that honest readings of one machine may raise over all its series: the decision value follows."""


class Prices(Strict):
    """What the shop reckons with; without a price that share of the glue account is left out, and said so."""

    currency: Annotated[str, Field(max_length=12)] = ""
    belt: Price | None = None
    minute: Price | None = None
    """Of a machine that stands still."""
    lot: Price | None = None
    """Sent back to assembly."""


class Rules(Strict):
    """The whole file."""

    alarm: Part = 0.01
    """Honest data of one person may raise one pattern's flag with at most this chance."""
    pace: PaceRules = PaceRules()
    repeats: RepeatRules = RepeatRules()
    digits: DigitRules = DigitRules()
    hugging: HuggingRules = HuggingRules()
    rereads: RereadRules = RereadRules()
    failures: FailureRules = FailureRules()
    attendance: AttendanceRules = AttendanceRules()
    drift: DriftRules = DriftRules()
    prices: Prices = Prices()


def rules_of(shop: Path) -> Rules:
    """The shop's thresholds, or the defaults. Raises `FileProblemsError` for a file that cannot be used."""
    if not any(entry.name == FILE for entry in entries(shop)):
        return Rules()
    return load(shop / FILE, Rules, shop).value
