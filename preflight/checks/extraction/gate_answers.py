"""What was said of the gates: which are open, which shut, which a neighbour needs, and what does not fit together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from preflight.sheet import ExtractionReadings
    from preflight.shop.extraction import Extraction

MOST_NAMED = 4
"""Gates named in one sentence; more are counted."""


def answer_findings(answers: ExtractionReadings, ducts: Extraction) -> Iterator[Finding]:
    """Which gates are open, what is not said yet, and answers that fit neither the profile nor one another."""
    if answers.open is None:
        yield missing(
            "gates",
            "Nobody has said which gates are open now.",
            "Walk the gates and mark each one open or shut.",
            "extraction.open",
        )
        return
    opened, shut, used = set(answers.open), set(answers.shut or ()), set(answers.in_use)
    known = {gate.id for gate in ducts.gates}
    for gate in sorted((opened | shut | used) - known):
        yield missing(
            f"gate {gate}",
            f"Gate {gate} is not in the extraction profile {ducts.name}.",
            "Correct the gate's name, or have it added to the profile.",
            "extraction.open",
            basis="gates",
        )
    if answers.shut is not None and (silent := known - opened - shut):
        yield missing(
            "gates",
            f"Not said yet, open or shut: {named(g.id for g in ducts.gates if g.id in silent)}.",
            "Look at them and mark each one; until then they count as shut.",
            "extraction.open",
            basis="gates",
        )
    else:
        names = named(g.id for g in ducts.gates if g.id in opened) or "none"
        yield Finding("gates", Verdict.OK, f"Gates open now: {names}.", "", names, basis="gates", source=ducts.name)
    for gate in sorted((opened & shut) | (used & known - opened)):
        said = "in use" if gate in used else "open"
        yield missing(
            f"gate {gate} answer",
            f"Gate {gate} is said to be {said} and shut.",
            "Look at it again and mark what is so.",
            "extraction.open",
            basis="gates",
        )
    for one in ducts.gates:
        if one.stays_open and one.id not in opened and (answers.shut is None or one.id in shut):
            yield Finding(
                f"gate {one.id} stays open",
                Verdict.CAUTION,
                f"Gate {one.id} is shut, and the profile has it stay open.",
                "Open it, then read the air again.",
                "shut",
                allowed=("open",),
                basis=f"gates.{one.id}.stays_open",
                source=ducts.name,
                actions=("lead told", "designer to be asked"),
            )


def named(gates: Iterable[str]) -> str:
    """The first few names, the others counted."""
    names = list(gates)
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more
