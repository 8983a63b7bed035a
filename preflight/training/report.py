"""Results of practice in words: one drill's and how its score came about, and one person's for the trainer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.training.score import IN_ORDER, SECONDS_A_STATION, Outcome

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.training.score import DrillMark, StationMark
    from preflight.training.standing import Standing


def result_lines(marked: DrillMark) -> Iterator[str]:
    """Score of a drill, how it came about line by line, and what to practise next."""
    counts = [(outcome, sum(mark.outcome is outcome for mark in marked.marks)) for outcome in Outcome]
    yield "  " + ", ".join(f"{count} {outcome.value}" for outcome, count in counts if count) + "."
    yield f"  Score {marked.score} of 100" + (", passed." if marked.passed else ", not passed.")
    yield from (f"    {line}" for line in _account(marked))
    if marked.safety_missed:
        yield "  A safety fault was missed: run drills of that kind again before anything else."
    if marked.too_fast:
        stations, least = len(marked.marks), SECONDS_A_STATION * len(marked.marks)
        yield (
            f"  Too fast: {sum(mark.seconds for mark in marked.marks):.0f} s for {_stations(stations)}; under "
            f"{least:.0f} s nobody can have read them, and this drill is not passed for the gate."
        )
    yield f"  Next: {next_to_practise(marked)}"


def _account(marked: DrillMark) -> Iterator[str]:
    """What each station earned of what it could; the score is their sum over the most there was."""
    alone = [mark for mark in marked.marks if mark.outcome is Outcome.LEFT_ALONE]
    yield from (_earned(mark) for mark in marked.marks if mark not in alone)
    if alone:
        yield f"{_stations(len(alone))} in order, left alone: {_points(alone)} of {_points(alone)}"
    most, got = sum(mark.weight for mark in marked.marks), sum(mark.earned for mark in marked.marks)
    floor = "; less than nothing counts as 0" if got < 0 else ""
    yield f"together {got:.4g} of {most:.4g}, as a share of 100: {marked.score}{floor}"


def _earned(mark: StationMark) -> str:
    station = mark.check.replace("_", " ")
    if mark.outcome is Outcome.FALSE_ALARM:
        return f"{station}: false alarm, {-mark.earned:g} taken off; left alone it earns {IN_ORDER:g}"
    wrong = [name for name, right in (("cause", mark.cause), ("remedy", mark.remedy)) if right is False]
    reason = f", {' and '.join(wrong)} not right" if wrong and not mark.missed else ""
    safety = "; a safety fault weighs most" if mark.safety else ""
    return f"{station}: {mark.outcome.value}{reason}, {mark.earned:.3g} of {mark.weight:g}{safety}"


def _points(marks: list[StationMark]) -> str:
    return f"{sum(mark.earned for mark in marks):g}"


def _stations(count: int) -> str:
    return f"{count} station" if count == 1 else f"{count} stations"


def next_to_practise(marked: DrillMark) -> str:
    """One thing: a safety fault that was missed before any other miss, then a wrong reason, then a false alarm."""
    ranks = (
        [mark for mark in marked.misses if mark.safety],
        list(marked.misses),
        [mark for mark in marked.marks if mark.cause is False or mark.outcome is Outcome.OVERCALLED],
        [mark for mark in marked.marks if mark.remedy is False],
        [mark for mark in marked.marks if mark.outcome is Outcome.FALSE_ALARM],
    )
    first = next((rank[0] for rank in ranks if rank), None)
    if first is None:
        return "nothing was missed; the same level again, or one with less help."
    station = first.check.replace("_", " ")
    if first.outcome is Outcome.FALSE_ALARM:
        return f"{station}, when it is in order: hold each reading against its limit before you call it."
    kinds = " and ".join(first.kinds) or "faults"
    return f"{kinds}, at {station}. Under your name the next drawn drill leans to what was missed."


def standing_lines(one: Standing) -> Iterator[str]:
    """One person, for the trainer."""
    drills = "1 drill" if one.drills == 1 else f"{one.drills} drills"
    drills += f", {one.given_up} of them given up" if one.given_up else ""
    drills += f", {one.not_ended} begun and not ended" if one.not_ended else ""
    yield f"{one.name}: {drills}, the last on {one.last:%Y-%m-%d}, score {one.score} of 100"
    for name, groups in (("stations", one.stations), ("kinds of fault", one.kinds)):
        if groups:
            weakest = sorted(groups.items(), key=lambda item: item[1])
            yield f"  {name}: " + ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in weakest)
    yield "  due again: " + (", ".join(shelf.kind for shelf in one.due) or "nothing")
    for part in one.gate:
        yield f"  gate, {part.name}: {'met' if part.met else 'not met'}. {part.statement}"
    state = "met" if one.gate_met else "not met"
    yield f"  gate to work alone: {state}. Trainer's mark: {one.marked or 'none'}."
