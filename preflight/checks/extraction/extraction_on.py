"""Whether extraction runs at all, its detector is sound and somebody read the air: what nobody may go on without."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from preflight.sheet import ExtractionReadings
    from preflight.shop.extraction import Extraction


def on_findings(answers: ExtractionReadings, ducts: Extraction | None, own: Collection[str]) -> Iterator[Finding]:
    """Fan, spark detection and the day's reading at one of this machine's `own` gates; none takes an override.

    A machine whose profile names no gate takes a reading at any: the check asks for the names elsewhere.
    """
    read = any(not own or reading.gate in own for reading in answers.readings)
    yield from _fan(answers.fan, read)
    yield from _spark_detection(answers.spark_detection, ducts)
    if not read:
        elsewhere = ", ".join(dict.fromkeys(reading.gate for reading in answers.readings))
        yield Finding(
            "reading",
            Verdict.OPEN,
            "No air reading was taken at this machine today" + (f", only at {elsewhere}." if elsewhere else "."),
            "Read the hood static, or the velocity at the collar, with these gates open.",
            takes_override=False,
            asks="extraction.readings",
        )


def _fan(answer: str | None, read: bool) -> Iterator[Finding]:
    """Asked unless the air was read: then it runs."""
    if answer == "off":
        yield Finding(
            "fan",
            Verdict.STOP,
            "The extraction fan is off.",
            "Start extraction first, the machine second, feed last.",
            "off",
            allowed=("on",),
            takes_override=False,
        )
    elif answer == "on":
        yield Finding("fan", Verdict.OK, "The extraction fan is on.", "", "on", allowed=("on",))
    elif not read:
        yield Finding(
            "fan",
            Verdict.OPEN,
            "Whether the extraction fan runs is not said.",
            "Start extraction and read the air at this machine: the reading proves it.",
            takes_override=False,
            asks="extraction.fan",
        )


def _spark_detection(answer: str | None, ducts: Extraction | None) -> Iterator[Finding]:
    """Asked where the profile states one: dust above the explosive limit rests on it."""
    stated = ducts.protection if ducts is not None and ducts.detects_sparks else None
    allowed = ("healthy",) if stated else ("healthy", "none fitted")
    basis, source = ("protection", stated.by) if stated else ("", "")
    if answer is None:
        if stated:
            yield Finding(
                "spark detection",
                Verdict.OPEN,
                "The lamp of the spark detection is not looked at.",
                "Look at its lamp: healthy, or a fault?",
                allowed=allowed,
                basis=basis,
                source=source,
                takes_override=False,
                asks="extraction.spark_detection",
            )
        return
    statement, remedy = f"Spark detection: {answer}.", ""
    if answer == "fault":
        statement = "The spark detection shows a fault."
        remedy = "Do not sand. Call maintenance; it clears with a repair entry."
    elif answer not in allowed and stated:
        statement = f"No spark detection is fitted, but the profile states {stated.what} ({stated.by})."
        remedy = "Do not sand. Look again; if there is none, the lead corrects the extraction profile."
    yield Finding(
        "spark detection",
        Verdict.STOP if remedy else Verdict.OK,
        statement,
        remedy,
        answer,
        allowed=allowed,
        basis=basis,
        source=source,
        takes_override=not remedy,
    )
