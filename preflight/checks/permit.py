"""Going on past a stop: which stop a lead's permission covers, and until when; never one that takes no override."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.quantities import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from preflight.checks.finding import Finding
    from preflight.checks.route import Assessment


@dataclass(frozen=True, slots=True)
class Permit:
    """What a lead signed for one stop."""

    check: str
    subject: str
    statement: str
    """The stop as it read then."""
    measured: float | str | None
    """Its reading, in SI, or its word."""
    beyond: float | None
    """How far that reading was outside its limit, in SI; None for a word."""
    since: datetime
    until: datetime
    by: str
    reason: str
    record: int
    """Number of the override's record."""

    def in_force(self, at: datetime) -> bool:
        """Whether it counts at that time."""
        return self.since <= at <= self.until

    def covers(self, check: str, finding: Finding) -> bool:
        """Whether it lets go on past this finding.

        A stop of the same thing, at the same end of its limit and no worse than when it was signed.
        """
        if (check, finding.subject) != (self.check, self.subject):
            return False
        if finding.verdict is not Verdict.STOP or not finding.takes_override:
            return False
        measured, outside = finding.measured, beyond(finding)
        if isinstance(measured, Quantity) and outside is not None and self.beyond is not None:
            if not isinstance(self.measured, float) or _end(self.measured, finding) != _end(measured.value, finding):
                return False
            return outside <= self.beyond + 1e-12 * abs(self.beyond)
        return measured == self.measured if isinstance(measured, str) else finding.statement == self.statement


def _end(value: float, finding: Finding) -> str:
    """The end of a finding's limit that a value (SI) is outside of: "high", "low", or neither."""
    if finding.high is not None and value > finding.high.value:
        return "high"
    return "low" if finding.low is not None and value < finding.low.value else ""


def beyond(finding: Finding) -> float | None:
    """How far a reading is outside its limits, in SI; None when it is no number or inside."""
    measured = finding.measured
    if not isinstance(measured, Quantity):
        return None
    limit = {"high": finding.high, "low": finding.low}.get(_end(measured.value, finding))
    return abs(measured.value - limit.value) if limit is not None else None


def permit_for(permits: Iterable[Permit], check: str, finding: Finding) -> Permit | None:
    """The permission that covers this finding, the one that lasts longest; None when there is none."""
    fitting = (permit for permit in permits if permit.covers(check, finding))
    return max(fitting, key=lambda permit: permit.until, default=None)


@dataclass(frozen=True, slots=True)
class Release:
    """Whether a start-up may be released, and on what."""

    permits: tuple[Permit, ...]
    """Used: one for each stop."""
    blocked: tuple[tuple[str, Finding], ...]
    """Check and finding of what is open, or stopped without a permission."""

    @property
    def allowed(self) -> bool:
        """Nothing is open and each stop is covered."""
        return not self.blocked

    @property
    def until(self) -> datetime | None:
        """When the first of its permissions ends; None when it rests on none."""
        return min((permit.until for permit in self.permits), default=None)


def release(assessment: Assessment, permits: Sequence[Permit], at: datetime) -> Release:
    """What stands between these findings and a release at that time."""
    valid = [permit for permit in permits if permit.in_force(at)]
    used: list[Permit] = []
    blocked: list[tuple[str, Finding]] = []
    for result in assessment.checks:
        for finding in result.findings:
            if finding.verdict <= Verdict.CAUTION:
                continue
            permit = permit_for(valid, result.check, finding)
            if permit is None:
                blocked.append((result.check, finding))
            elif permit not in used:
                used.append(permit)
    return Release(tuple(used), tuple(blocked))
