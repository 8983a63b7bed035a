"""What a trainee's judgements are worth: a missed fault costs most, a safety one above all, a false alarm least.

Weights (trainer's practice, no source): a missed fault costs 3, a missed safety fault 10, a false alarm 1. Of a fault's
weight the verdict earns 0.75, the cause 0.15, the remedy 0.1. Time earns nothing. What is left
without a verdict is missed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.training.drill import SAFETY_STATIONS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from preflight.checks.route import Assessment
    from preflight.training.drill import Drill

FAULT, SAFETY_FAULT, IN_ORDER = 3.0, 10.0, 0.5
VERDICT_SHARE, CAUSE_SHARE, REMEDY_SHARE = 0.75, 0.15, 0.1
OVERCALLED = 0.6
"""Of the verdict's share, when a fault was seen and called worse than it is."""
FALSE_ALARM = 0.5
"""Taken off for a station in order that was called anything else, besides what it would have earned."""
SECONDS_A_STATION = 3.0
"""Faster than this for each station nobody can have read it; a drill so fast is not passed for the gate."""


class Outcome(Enum):
    """How a judgement turned out."""

    FOUND = "found"
    OVERCALLED = "found, called worse than it is"
    UNDERCALLED = "seen, called better than it is"
    MISSED = "missed"
    LEFT_ALONE = "in order, left alone"
    NOT_JUDGED = "not judged"
    FALSE_ALARM = "false alarm"


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the trainee said of one station."""

    check: str
    verdict: Verdict
    cause: str = ""
    remedy: str = ""
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class StationMark:
    """One judgement against the truth."""

    check: str
    truth: Verdict
    said: Verdict
    outcome: Outcome
    safety: bool
    kinds: tuple[str, ...]
    """Kinds of fault that were planted here; empty where the station is in order."""
    cause: bool | None
    """Whether the right cause was named; None where there is none."""
    remedy: bool | None
    seconds: float

    @property
    def missed(self) -> bool:
        """A fault passed over: called ok, or better than it is, or the drill was left before it."""
        if self.outcome is Outcome.NOT_JUDGED:
            return self.truth is not Verdict.OK
        return self.outcome in (Outcome.MISSED, Outcome.UNDERCALLED)

    @property
    def weight(self) -> float:
        """The most that it can earn."""
        if self.truth is Verdict.OK:
            return IN_ORDER
        return SAFETY_FAULT if self.safety else FAULT

    @property
    def earned(self) -> float:
        """What it earned; below zero for a false alarm."""
        if self.outcome is Outcome.LEFT_ALONE:
            return IN_ORDER
        if self.outcome is Outcome.FALSE_ALARM:
            return -FALSE_ALARM
        if self.missed or self.outcome is Outcome.NOT_JUDGED:
            return 0.0
        verdict = VERDICT_SHARE * (OVERCALLED if self.outcome is Outcome.OVERCALLED else 1.0)
        return self.weight * (verdict + CAUSE_SHARE * bool(self.cause) + REMEDY_SHARE * bool(self.remedy))


@dataclass(frozen=True, slots=True)
class DrillMark:
    """All judgements of one drill."""

    marks: tuple[StationMark, ...]

    @property
    def score(self) -> int:
        """0 to 100, the share of what could be earned."""
        return share(self.marks)

    @property
    def misses(self) -> tuple[StationMark, ...]:
        """Faults passed over."""
        return tuple(mark for mark in self.marks if mark.missed)

    @property
    def safety_missed(self) -> bool:
        """Whether a safety fault was passed over."""
        return any(mark.safety for mark in self.misses)

    @property
    def stop_missed(self) -> bool:
        """Whether a stop was passed over."""
        return any(mark.truth is Verdict.STOP for mark in self.misses)

    @property
    def passed(self) -> bool:
        """Judged to the end, nothing missed and no false alarm."""
        against = (Outcome.FALSE_ALARM, Outcome.NOT_JUDGED)
        return not self.misses and not any(mark.outcome in against for mark in self.marks)

    @property
    def given_up(self) -> bool:
        """Whether it was left before the last station was judged."""
        return any(mark.outcome is Outcome.NOT_JUDGED for mark in self.marks)

    @property
    def too_fast(self) -> bool:
        """Too fast for the stations that were judged to have been read."""
        judged = [mark for mark in self.marks if mark.outcome is not Outcome.NOT_JUDGED]
        return sum(mark.seconds for mark in judged) < SECONDS_A_STATION * len(judged)


def score(drill: Drill, answer: Assessment, judgements: Iterable[Judgement]) -> DrillMark:
    """Mark the judgements of a drill against the answer of `assess`.

    A station asked and not judged earns nothing, and a fault there counts as missed: to leave a drill in doubt is never
    worth more than to judge it.

    ValueError for a judgement of a station that the drill does not ask.
    """
    given = {one.check: one for one in judgements}
    if strange := given.keys() - set(drill.asked):
        raise ValueError(f"not asked in this drill: {', '.join(sorted(strange))}")
    truth = {result.check: result.verdict for result in answer.checks}
    return DrillMark(
        tuple(
            mark(drill, truth[check], given[check]) if check in given else passed_over(drill, truth[check], check)
            for check in drill.asked
        )
    )


def mark(drill: Drill, truth: Verdict, said: Judgement) -> StationMark:
    """One judgement against the true verdict of its station."""
    faults = drill.faults_at(said.check)
    wrong = truth is not Verdict.OK
    return StationMark(
        check=said.check,
        truth=truth,
        said=said.verdict,
        outcome=outcome(truth, said.verdict),
        safety=wrong and (said.check in SAFETY_STATIONS or any(fault.safety for fault in faults)),
        kinds=tuple(dict.fromkeys(fault.kind for fault in faults)) if wrong else (),
        cause=said.cause in {fault.cause for fault in faults} if wrong and faults else None,
        remedy=said.remedy in {fault.remedy for fault in faults} if wrong and faults else None,
        seconds=said.seconds,
    )


def passed_over(drill: Drill, truth: Verdict, check: str) -> StationMark:
    """The mark of a station that was never judged, because the drill was left before it."""
    unsaid = mark(drill, truth, Judgement(check, Verdict.OPEN))
    return replace(unsaid, outcome=Outcome.NOT_JUDGED, cause=None, remedy=None)


def outcome(truth: Verdict, said: Verdict) -> Outcome:
    """How a verdict turned out; "open" and "caution" differ in kind, and the worse of two still counts as worse.

    >>> outcome(Verdict.STOP, Verdict.CAUTION).value
    'seen, called better than it is'
    """
    if truth is Verdict.OK:
        return Outcome.LEFT_ALONE if said is Verdict.OK else Outcome.FALSE_ALARM
    if said is truth:
        return Outcome.FOUND
    if said is Verdict.OK:
        return Outcome.MISSED
    return Outcome.OVERCALLED if said > truth else Outcome.UNDERCALLED


def share(marks: Sequence[StationMark]) -> int:
    """0 to 100: what was earned of what could be; 100 for nothing."""
    most = sum(mark.weight for mark in marks)
    return round(100 * max(0.0, sum(mark.earned for mark in marks)) / most) if most else 100


def false_alarms(marks: Iterable[StationMark]) -> float:
    """Share of the stations in order and judged that were called anything else."""
    in_order = [mark for mark in marks if mark.truth is Verdict.OK and mark.outcome is not Outcome.NOT_JUDGED]
    return sum(mark.outcome is Outcome.FALSE_ALARM for mark in in_order) / len(in_order) if in_order else 0.0


def by_station(marks: Iterable[StationMark]) -> Mapping[str, int]:
    """Share earned per station."""
    return _grouped((mark.check, mark) for mark in marks)


def by_kind(marks: Iterable[StationMark]) -> Mapping[str, int]:
    """Share earned per kind of fault."""
    return _grouped((kind, mark) for mark in marks for kind in mark.kinds)


def _grouped(pairs: Iterable[tuple[str, StationMark]]) -> dict[str, int]:
    groups: dict[str, list[StationMark]] = {}
    for name, one in pairs:
        groups.setdefault(name, []).append(one)
    return {name: share(group) for name, group in groups.items()}
