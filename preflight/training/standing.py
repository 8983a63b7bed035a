"""Where each trainee stands: what was shown, what is due again, and whether the shop's gate for working alone is met.

The gate is counted; letting somebody work alone is a trainer's decision, put down as a signed mark.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from preflight.quantities import Kind, show
from preflight.training.records import MAY_WORK, NEAR_MISS, OBSERVED
from preflight.training.score import by_kind, by_station, false_alarms, share
from preflight.training.spacing import Shelf, due, shelves

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from preflight.training.gate import Gate
    from preflight.training.records import PracticeRecord

TRAINERS = ("trainer", "lead")
"""Roles whose marks count."""


@dataclass(frozen=True, slots=True)
class GatePart:
    """One thing that the gate asks."""

    name: str
    met: bool
    statement: str


@dataclass(frozen=True, slots=True)
class Standing:
    """One person."""

    name: str
    drills: int
    """Ended, those given up among them."""
    given_up: int
    not_ended: int
    """Begun on record, and no end of them was saved: under way, or the program was stopped."""
    last: datetime
    score: int
    """Share earned over the last drills that the gate looks at."""
    stations: Mapping[str, int]
    kinds: Mapping[str, int]
    shelves: Mapping[str, Shelf]
    due: Sequence[Shelf]
    """Kinds of fault that are due again."""
    gate: tuple[GatePart, ...]
    marked: str
    """What the newest trainer's mark for working alone says, and whether it still holds; empty without one."""
    holds: bool
    """Whether a trainer's mark for working alone stands today."""

    @property
    def gate_met(self) -> bool:
        """Whether everything counted is there; a trainer decides."""
        return all(part.met for part in self.gate)


def standings(records: Iterable[PracticeRecord], gate: Gate, now: datetime) -> list[Standing]:
    """Everybody who practised, by name; records oldest first, those that do not count left out."""
    people: dict[str, list[PracticeRecord]] = {}
    for record in records:
        if record.counts:
            people.setdefault(record.trainee, []).append(record)
    return [standing(name, people[name], gate, now) for name in sorted(people)]


def standing(name: str, records: Sequence[PracticeRecord], gate: Gate, now: datetime) -> Standing:
    """One person's standing; `records` are hers or his, oldest first, at least one."""
    drills = [one for one in records if one.what == "drill"]
    left = not_ended(records)
    counted = {one.reference for one in (*drills, *left)}
    begun = [one for one in records if one.reference in counted]
    recent = [mark for one in drills[-gate.out_of :] for mark in one.marks]
    known = shelves((one.at, mark) for one in drills for mark in one.marks)
    marked, holds = _mark(records, gate, now)
    return Standing(
        name=name,
        drills=len(drills),
        given_up=sum(one.drill.given_up for one in drills),
        not_ended=len(left),
        last=records[-1].at,
        score=share(recent),
        stations=by_station(recent),
        kinds=by_kind(recent),
        shelves=known,
        due=due(known, now),
        gate=tuple(_parts(records, begun, gate)),
        marked=marked,
        holds=holds,
    )


def not_ended(records: Sequence[PracticeRecord]) -> list[PracticeRecord]:
    """The beginnings among one person's records that no drill ended."""
    ended = {one.begun for one in records if one.what == "drill"}
    return [one for one in records if one.what == "begun" and one.reference not in ended]


def _passed(record: PracticeRecord) -> bool:
    return record.what == "drill" and record.drill.passed and not record.drill.too_fast


def _parts(records: Sequence[PracticeRecord], begun: Sequence[PracticeRecord], gate: Gate) -> Iterable[GatePart]:
    """What is begun counts: a drill given up, hurried through or never ended is one of the last and is not passed."""
    drills = [one for one in begun if one.what == "drill"]
    drawn = [one for one in begun if one.table.get("random")][-gate.out_of :]
    passed = sum(map(_passed, drawn))
    few = f", of {gate.out_of} to be run" if len(drawn) < gate.out_of else ""
    yield GatePart(
        "drills",
        passed >= gate.passed,
        f"{passed} passed of the last {len(drawn)} drawn, {gate.passed} asked{few}.",
    )
    safety = sum(one.drill.safety_missed for one in drawn)
    statement = f"{safety} of these missed a safety fault; none may." if drawn else "No drill was drawn yet."
    yield GatePart("safety", bool(drawn) and not safety, statement)
    last = drills[-gate.no_stop_missed_in :] if gate.no_stop_missed_in else []
    stops = sum(one.drill.stop_missed for one in last)
    yield GatePart(
        "stops", bool(drills) and not stops, f"{stops} of the last {len(last)} drills missed a stop; none may."
    )
    alarms = false_alarms([mark for one in drawn for mark in one.marks])
    yield GatePart(
        "false alarms",
        bool(drawn) and alarms < gate.false_alarms,
        f"{alarms:.0%} of the stations in order were called wrong; fewer than {gate.false_alarms:.0%} may be.",
    )
    starts = sum(one.table["mark"] == OBSERVED for one in _marks(records))
    yield GatePart(
        "observed starts",
        starts >= gate.observed_starts,
        f"{starts} observed start{'' if starts == 1 else 's'}, {gate.observed_starts} are asked.",
    )
    if gate.strips:
        made = [one for one in records if one.what == "strips"]
        yield _strips([one for one in made if one.table["differences"] and one.table["repeats"]], gate)


def _strips(tests: Sequence[PracticeRecord], gate: Gate) -> GatePart:
    if not tests:
        return GatePart("measuring", False, f"The measuring test of {gate.strips} strips was not made yet.")
    differences, repeats = tests[-1].table["differences"], tests[-1].table["repeats"]
    furthest, deviation = max(map(abs, differences)), repeat_deviation(repeats)
    enough = min(len(differences), len(repeats)) >= gate.strips
    met = enough and furthest <= gate.strips_within.value and deviation < gate.strips_repeat.value
    far, own = (show(value, Kind.LENGTH, unit="mm", more=1) for value in (furthest, deviation))
    return GatePart(
        "measuring",
        met,
        f"{len(differences)} strips: furthest {far} from the reference (at most {gate.strips_within}), "
        f"own repeat {own} (under {gate.strips_repeat}).",
    )


def repeat_deviation(differences: Sequence[float]) -> float:
    """Standard deviation of one reading from pairs of readings: √(Σ d² / 2n), in the unit of the differences.

    d: second minus first reading of each of n things, at least one. Raises ValueError for none.
    Source: duplicate measurements after Dahlberg (1940), from memory.

    >>> round(repeat_deviation([0.02, -0.02]), 6)
    0.014142
    """
    if not differences:
        raise ValueError("no repeated reading")
    return math.sqrt(math.fsum(one * one for one in differences) / (2 * len(differences)))


def _marks(records: Sequence[PracticeRecord]) -> list[PracticeRecord]:
    """Marks by trainers and leads; nobody marks oneself."""
    return [one for one in records if one.what == "mark" and one.role in TRAINERS and one.by != one.trainee]


def _mark(records: Sequence[PracticeRecord], gate: Gate, now: datetime) -> tuple[str, bool]:
    """The newest mark for working alone in words, and whether it holds."""
    marks = _marks(records)
    given = next((one for one in reversed(marks) if one.table["mark"] == MAY_WORK), None)
    if given is None:
        return "", False
    said = f"may work alone, by {given.by} on {given.at:%Y-%m-%d}"
    until = given.at + timedelta(days=gate.lasts_days)
    if any(one.table["mark"] == NEAR_MISS and one.at > given.at for one in marks):
        return f"{said}; a near miss since: to be shown again", False
    if now > until:
        return f"{said}; ended {until:%Y-%m-%d}", False
    if now - records[-1].at > timedelta(days=gate.away_days):
        return f"{said}; nothing for {(now - records[-1].at).days} days: to be shown again", False
    return f"{said}, until {until:%Y-%m-%d}", True
