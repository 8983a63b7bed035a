"""Practice as plain lines: every line that belongs to a drill says so at its head, and nothing is drawn by colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.cli.assessment_text import finding_lines
from preflight.training.explain import reasons, words_for
from preflight.training.reading import readings
from preflight.training.report import result_lines
from preflight.training.sitting import told

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.training.sitting import Sitting

PRACTICE = "PRACTICE"


def opening(sitting: Sitting) -> Iterator[str]:
    """What the trainee is told before the first station."""
    drill = sitting.drill
    yield f"{PRACTICE}, no start-up: {drill.title} ({drill.machine}, level {sitting.level})"
    yield drill.situation
    stations = ", ".join(check.replace("_", " ") for check in drill.asked)
    yield f"To judge: {stations}. Answers are final; the reason comes after each."


def station(sitting: Sitting, check: str) -> Iterator[str]:
    """Readings of a station, and the help of the level."""
    yield ""
    number = sitting.drill.asked.index(check) + 1
    yield f"{PRACTICE} station {number} of {len(sitting.drill.asked)}: {check.replace('_', ' ')}"
    yield from (f"  {one.label}: {one.text}" for one in readings(sitting.drill.scene, check))
    yield from (f"  help: {line}" for line in sitting.helps(check))


def explained(sitting: Sitting, check: str) -> Iterator[str]:
    """The finding, its numbers and the words in it, after a judgement."""
    yield f"  {told(sitting.mark(check))}"
    found = reasons(sitting.result(check))
    for finding in found:
        yield from finding_lines(finding)
        if finding.workings:
            yield f"      workings: {finding.workings}"
    for fault in sitting.drill.faults_at(check):
        yield f"      planted: {fault.cause}. First: {fault.remedy}." + (f" {fault.why}" if fault.why else "")
    wrong = [finding for finding in found if finding.verdict is not Verdict.OK]
    for word, meaning in words_for(sitting.drill, wrong) if wrong else ():
        yield f"      word: {word} = {meaning}"


def closing(sitting: Sitting) -> Iterator[str]:
    """The result of a drill and why it matters."""
    yield ""
    yield f"{PRACTICE} result: {sitting.drill.title}"
    yield from result_lines(sitting.marked)
    yield f"  why it matters: {sitting.drill.why}"
