"""One drill: a situation, a set-up with planted faults, and what has to be found. The answer comes from `assess`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.route import ROUTE, Assessment, assess

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.training.setup import Scene

STATIONS = tuple(name for name, _ in ROUTE)
"""The stations in working order; each is one check."""

SAFETY_STATIONS = ("running",)
"""Stations where a miss is always a safety miss; elsewhere the planted fault says so."""


@dataclass(frozen=True, slots=True)
class Expected:
    """One finding that must be made, as nothing but check, subject and verdict: its words may change."""

    check: str
    subject: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Planted:
    """One fault put into a sound set-up."""

    fault: str
    """Id in the library of faults, or of the drill itself."""
    kind: str
    """Kind of fault that results are counted by: "measuring", "glue", "air"."""
    cause: str
    """What is wrong, as one short line to choose among others."""
    remedy: str
    """What to do first, likewise."""
    found: tuple[Expected, ...]
    """Every finding that is not ok, this fault's own first."""
    safety: bool = False
    """Whether a miss of it can hurt somebody or set fire."""
    why: str = ""
    """What it costs, in a sentence."""

    @property
    def check(self) -> str:
        """The station at which it is to be seen."""
        return self.found[0].check


@dataclass(frozen=True, slots=True)
class Drill:
    """One practice run."""

    id: str
    title: str
    situation: str
    """What the trainee is told."""
    scene: Scene
    planted: tuple[Planted, ...] = ()
    why: str = ""
    """Why it matters; told after the last answer."""
    asked: tuple[str, ...] = STATIONS
    """Stations to be judged, every faulty one among them."""
    words: tuple[str, ...] = field(default=())
    """Words of the glossary that belong to it, besides those in the findings."""

    @property
    def safety(self) -> bool:
        """Whether a planted fault can hurt somebody or set fire."""
        return any(one.safety for one in self.planted)

    @property
    def machine(self) -> str:
        """Name of the machine."""
        return self.scene.view.machine.name

    def answer(self) -> Assessment:
        """The verdicts of the very call that the start-up run makes."""
        return assess(self.scene.sheet, self.scene.view, self.scene.history)

    def faults_at(self, check: str) -> tuple[Planted, ...]:
        """Planted faults that are to be seen at a station."""
        return tuple(one for one in self.planted if one.check == check)


def expected(drill: Drill) -> frozenset[Expected]:
    """Every finding that the planted faults must bring about."""
    return frozenset(one for fault in drill.planted for one in fault.found)


def not_ok(answer: Assessment) -> frozenset[Expected]:
    """Every finding of an assessment that is not ok, in the same form."""
    return frozenset(
        Expected(result.check, finding.subject, finding.verdict)
        for result in answer.checks
        for finding in result.findings
        if finding.verdict is not Verdict.OK
    )


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """Findings, the worst first, in their order otherwise."""
    return sorted(findings, key=lambda finding: -finding.verdict)
