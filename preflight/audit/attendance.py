"""Missed and late start-ups by shift: a run record says that the machine worked, a start-up that it was checked."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import attrgetter
from typing import TYPE_CHECKING

from preflight.audit.fisher import fisher_tail
from preflight.audit.visit import Flag, Visit
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Sequence

    from preflight.audit.rules import AttendanceRules, Rules, Shift

EARLY = timedelta(hours=1)
"""A start-up so long before its shift still belongs to it."""


@dataclass(frozen=True, slots=True)
class RunTime:
    """When a machine began to work, by a run record."""

    machine: str
    sequence: int
    began: datetime


@dataclass(frozen=True, slots=True)
class ShiftCount:
    """What one shift of the period shows."""

    shift: str
    worked: int
    """Machine shifts with a run record."""
    missed: int
    """Of these, without any start-up."""
    late: int
    """Of these, first start-up later than the first part."""


def run_times(connection: sqlite3.Connection, since: int, until: int) -> list[RunTime]:
    """The run records of a period; those that state no beginning begin their hours before they were signed."""
    sql = (
        "SELECT r.machine, r.sequence, r.local, u.content FROM runs u JOIN records r USING (machine, sequence) "
        "WHERE u.at >= ? AND u.at < ? ORDER BY u.at"
    )
    found = []
    for machine, sequence, local, content in connection.execute(sql, (since, until)):
        table = json.loads(content)
        signed = datetime.fromisoformat(local)
        try:
            began = datetime.fromisoformat(str(table["began"]))
        except (KeyError, ValueError):
            try:
                began = signed - timedelta(seconds=parse(str(table["hours"]), Kind.HOURS).value)
            except (KeyError, QuantityError):
                continue
        found.append(RunTime(machine, sequence, began if began.tzinfo else began.replace(tzinfo=signed.tzinfo)))
    return found


def shift_of(when: datetime, rules: AttendanceRules) -> tuple[date, Shift] | None:
    """The day a shift began on, and the shift, for a local time; None outside all shifts."""
    at = when.time().replace(tzinfo=None)
    for shift in rules.shifts:
        if shift.since < shift.until:
            if shift.since <= at < shift.until:
                return when.date(), shift
        elif at >= shift.since:
            return when.date(), shift
        elif at < shift.until:
            return when.date() - timedelta(days=1), shift
    return None


def shift_counts(visits: Sequence[Visit], runs: Sequence[RunTime], rules: AttendanceRules) -> list[ShiftCount]:
    """Per shift, in the order of the rules."""
    checked: dict[tuple[str, date, str], datetime] = {}
    for visit in visits:
        for at in (visit.local + EARLY, visit.local):  # a start-up shortly before the shift counts for it
            if (place := shift_of(at, rules)) is not None:
                key = (visit.machine, place[0], place[1].name)
                checked[key] = min(checked.get(key, visit.local), visit.local)
    began: dict[tuple[str, date, str], datetime] = {}
    for run in runs:
        if (place := shift_of(run.began, rules)) is not None:
            key = (run.machine, place[0], place[1].name)
            began[key] = min(began.get(key, run.began), run.began)
    slack = timedelta(minutes=rules.late_minutes)
    made = []
    for shift in rules.shifts:
        of_it = {key: first for key, first in began.items() if key[2] == shift.name}
        missed = sum(key not in checked for key in of_it)
        late = sum(key in checked and checked[key] > first + slack for key, first in of_it.items())
        made.append(ShiftCount(shift.name, len(of_it), missed, late))
    return made


def flags(counts: Sequence[ShiftCount], rules: Rules) -> Iterator[Flag]:
    """A shift that misses or delays more start-ups than the other shifts together."""
    for word, take in (("missed", attrgetter("missed")), ("late", attrgetter("late"))):
        for count in counts:
            others = [other for other in counts if other is not count]
            worked, found = sum(other.worked for other in others), sum(take(other) for other in others)
            if not worked or not count.worked:
                continue
            chance = fisher_tail(take(count), count.worked, found, worked)
            if chance < rules.alarm:
                yield Flag(
                    f"{word} start-ups",
                    f"{count.shift} shift",
                    "",
                    f"{take(count)} of {count.worked} worked shifts {word}; the other shifts {found} of {worked}.",
                    "Fisher's exact test: the same share as in the other shifts",
                    count.worked,
                    chance,
                    f"at most {rules.alarm:.2%} of shifts that are as careful as the others",
                )
