"""One judged fact, and the order of verdicts. Every screen, report and script shows these and nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.quantities import Quantity


class Verdict(IntEnum):
    """Worst last; the worst of its findings is a station's verdict, the worst station the run's."""

    OK = 0
    CAUTION = 1
    OPEN = 2
    STOP = 3

    @property
    def word(self) -> str:
        """As written in files and shown on screens."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Finding:
    """One judged fact."""

    subject: str
    """What was judged, "head 1", "gate bay-two-1"; with the check's name the key of a chosen action."""
    verdict: Verdict
    statement: str
    """What is so, and by how much; one sentence."""
    remedy: str = ""
    """What to do; empty when ok."""
    measured: Quantity | str | None = None
    low: Quantity | None = None
    high: Quantity | None = None
    allowed: tuple[str, ...] = ()
    """Words that would have been right, where the answer is a word."""
    basis: str = ""
    """The profile or card field that decided."""
    source: str = ""
    """Where that field's value comes from: machine book, standard, common practice, default."""
    workings: str = ""
    """Formula and inputs of a computed figure, for "why"."""
    takes_override: bool = True
    """False: nobody may go on past this stop; it clears by repair and a new reading."""
    actions: tuple[str, ...] = field(default=())
    """For a caution: the short list of actions to choose one from."""
    asks: str = ""
    """For an open finding: the sheet key that would answer it."""
    meant: str = ""
    """For the question whether a unit slipped: the reading that was likely meant, to be typed in its place."""


@dataclass(frozen=True, slots=True)
class CheckResult:
    """The findings of one station."""

    check: str
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of its findings; without any, ok."""
        return worst(finding.verdict for finding in self.findings)


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst verdict; ok for none."""
    return max(verdicts, default=Verdict.OK)


def as_json(finding: Finding) -> dict[str, Any]:
    """The stable document of one finding; quantities as SI value, SI unit and text as typed."""
    return {
        "subject": finding.subject,
        "verdict": finding.verdict.word,
        "statement": finding.statement,
        "measured": _value(finding.measured),
        "low": _value(finding.low),
        "high": _value(finding.high),
        "allowed": list(finding.allowed),
        "basis": finding.basis,
        "source": finding.source,
        "remedy": finding.remedy,
        "workings": finding.workings,
        "takes_override": finding.takes_override,
    }


def _value(measured: Quantity | str | None) -> dict[str, Any] | None:
    if measured is None:
        return None
    if isinstance(measured, str):
        return {"value": measured, "unit": None}
    return {"value": measured.value, "unit": measured.kind.si, "text": measured.text}
