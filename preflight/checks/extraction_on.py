"""Whether extraction runs at all, its detector is sound and somebody read the air: what nobody may go on without."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.sheet import ExtractionReadings


def on_findings(answers: ExtractionReadings) -> Iterator[Finding]:
    """Fan, spark detection and the day's reading; none of their stops takes an override."""
    if answers.fan == "off":
        yield Finding(
            "fan",
            Verdict.STOP,
            "The extraction fan is off.",
            "Start extraction first, the machine second, feed last.",
            "off",
            allowed=("on",),
            takes_override=False,
        )
    elif answers.fan == "on":
        yield Finding("fan", Verdict.OK, "The extraction fan is on.", "", "on", allowed=("on",))
    healthy = ("healthy", "none fitted")
    if answers.spark_detection == "fault":
        yield Finding(
            "spark detection",
            Verdict.STOP,
            "The spark detection shows a fault.",
            "Do not sand. Call maintenance; it clears with a repair entry.",
            "fault",
            allowed=healthy,
            takes_override=False,
        )
    elif answers.spark_detection is not None:
        state = answers.spark_detection
        yield Finding("spark detection", Verdict.OK, f"Spark detection: {state}.", "", state, allowed=healthy)
    if not answers.readings:
        yield Finding(
            "reading",
            Verdict.OPEN,
            "No air reading was taken at this machine today.",
            "Read the hood static, or the velocity at the collar, with these gates open.",
            takes_override=False,
            asks="extraction.readings",
        )
