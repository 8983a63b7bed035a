"""Results of practice in words: one drill's, and one person's for the trainer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.training.score import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.training.score import DrillMark
    from preflight.training.standing import Standing


def result_lines(marked: DrillMark) -> Iterator[str]:
    """Score and counts of a drill."""
    counts = [(outcome, sum(mark.outcome is outcome for mark in marked.marks)) for outcome in Outcome]
    yield "  " + ", ".join(f"{count} {outcome.value}" for outcome, count in counts if count) + "."
    yield f"  Score {marked.score} of 100" + (", passed." if marked.passed else ", not passed.")
    if marked.safety_missed:
        yield "  A safety fault was missed: run drills of that kind again before anything else."
    if marked.too_fast:
        yield "  Too fast for the stations to have been read: this drill does not count for the gate."


def standing_lines(one: Standing) -> Iterator[str]:
    """One person, for the trainer."""
    yield f"{one.name}: {one.drills} drills, the last on {one.last:%Y-%m-%d}, score {one.score} of 100"
    for name, groups in (("stations", one.stations), ("kinds of fault", one.kinds)):
        if groups:
            weakest = sorted(groups.items(), key=lambda item: item[1])
            yield f"  {name}: " + ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in weakest)
    yield "  due again: " + (", ".join(shelf.kind for shelf in one.due) or "nothing")
    for part in one.gate:
        yield f"  gate, {part.name}: {'met' if part.met else 'not met'}. {part.statement}"
    state = "met" if one.gate_met else "not met"
    yield f"  gate to work alone: {state}. Trainer's mark: {one.marked or 'none'}."
