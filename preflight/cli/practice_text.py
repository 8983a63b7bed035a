"""Practice as plain lines: every line that belongs to a drill says so at its head, and nothing is drawn by colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.cli.assessment_text import finding_lines
from preflight.training.explain import help_lines, reasons, words_for
from preflight.training.reading import readings
from preflight.training.report import result_lines
from preflight.training.session import told

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.training.session import Session

PRACTICE = "PRACTICE"


def opening(session: Session) -> Iterator[str]:
    """What the trainee is told before the first station."""
    drill = session.drill
    yield f"{PRACTICE}, no start-up: {drill.title} ({drill.machine}, level {session.level})"
    yield drill.situation
    stations = ", ".join(check.replace("_", " ") for check in drill.asked)
    yield f"To judge: {stations}. Answers are final; the reason comes after each."


def station(session: Session, check: str) -> Iterator[str]:
    """Readings of a station, and the help of the level."""
    yield ""
    number = session.drill.asked.index(check) + 1
    yield f"{PRACTICE} station {number} of {len(session.drill.asked)}: {check.replace('_', ' ')}"
    yield from (f"  {one.label}: {one.text}" for one in readings(session.drill.scene, check))
    yield from (f"  help: {line}" for line in help_lines(session.answer, check, session.level))


def explained(session: Session, check: str) -> Iterator[str]:
    """The finding, its numbers and the words in it, after a judgement."""
    yield f"  {told(session.mark(check))}"
    found = reasons(session.result(check))
    for finding in found:
        yield from finding_lines(finding)
        if finding.workings:
            yield f"      workings: {finding.workings}"
    for fault in session.drill.faults_at(check):
        yield f"      planted: {fault.cause}. First: {fault.remedy}." + (f" {fault.why}" if fault.why else "")
    wrong = [finding for finding in found if finding.verdict is not Verdict.OK]
    for word, meaning in words_for(session.drill, wrong) if wrong else ():
        yield f"      word: {word} = {meaning}"


def closing(session: Session) -> Iterator[str]:
    """The result of a drill and why it matters."""
    yield ""
    yield f"{PRACTICE} result: {session.drill.title}"
    yield from result_lines(session.marked)
    yield f"  why it matters: {session.drill.why}"
