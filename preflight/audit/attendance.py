"""Missed and late start-ups, and runs on held ones, by shift.

A run record says that the machine worked, a start-up that it was checked.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import attrgetter
from typing import TYPE_CHECKING

from preflight.audit.fisher import fisher_tail
from preflight.audit.held_runs import HELD
from preflight.audit.visit import Flag, Visit
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Mapping, Sequence

    from preflight.audit.held_runs import Start
    from preflight.audit.rules import AttendanceRules, Rules, Shift

SIGNED_AFTER = 24 * 3600
"""A run record is signed so many seconds after the run began at most."""
EARLY = timedelta(hours=1)
"""A start-up so long before its shift still belongs to it."""
OUTSIDE = "outside shifts"
"""Where runs on a held start-up are counted that began in no shift."""


@dataclass(frozen=True, slots=True)
class RunTime:
    """When a machine began to work, by a run record."""

    machine: str
    sequence: int
    began: datetime
    person: str = ""
    """Of the run record."""


@dataclass(frozen=True, slots=True)
class Case:
    """One start-up that was missed or late, or one run on a held start-up."""

    day: str
    """On which the shift began, ISO."""
    shift: str
    machine: str
    person: str
    """Who signed the run record."""
    sequence: int
    """Of the run record that shows it."""
    what: str
    """"missed", "late" or `HELD`."""
    minutes: int = 0
    """How late."""
    held: int = 0
    """Number of the held start-up."""


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
    held: int = 0
    """Runs that began on a held start-up."""
    cases: tuple[Case, ...] = ()
    """Each of these, by time."""

    @property
    def started(self) -> int:
        """Worked shifts with a start-up."""
        return self.worked - self.missed


def run_times(connection: sqlite3.Connection, since: int, until: int) -> list[RunTime]:
    """The runs that began in a period; those that state no beginning began their hours before they were signed."""
    sql = (
        "SELECT r.machine, r.sequence, r.person, r.local, u.content "
        "FROM runs u JOIN records r USING (machine, sequence) WHERE u.at >= ? AND u.at < ? ORDER BY u.at"
    )
    found = []
    for machine, sequence, person, local, content in connection.execute(sql, (since, until + SIGNED_AFTER)):
        table = json.loads(content)
        signed = datetime.fromisoformat(local)
        try:
            began = datetime.fromisoformat(str(table["began"]))
        except (KeyError, ValueError):
            try:
                began = signed - timedelta(seconds=parse(str(table["hours"]), Kind.HOURS).value)
            except (KeyError, QuantityError):
                continue
        began = began if began.tzinfo else began.replace(tzinfo=signed.tzinfo)
        if since <= began.timestamp() < until:
            found.append(RunTime(machine, sequence, began, person))
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


def shift_counts(
    starts: Sequence[Visit | Start],
    runs: Sequence[RunTime],
    rules: AttendanceRules,
    *,
    held: Mapping[tuple[str, int], int] | None = None,
) -> list[ShiftCount]:
    """Per shift, in the order of the rules.

    `starts`: those of the period and of the shift before it, from paper too; `held`: by run record the held start-up
    it stood on.
    """
    checked: dict[tuple[str, date, str], datetime] = {}
    for visit in starts:
        for at in (visit.local + EARLY, visit.local):  # a start-up shortly before the shift counts for it
            if (place := shift_of(at, rules)) is not None:
                key = (visit.machine, place[0], place[1].name)
                checked[key] = min(checked.get(key, visit.local), visit.local)
    began: dict[tuple[str, date, str], RunTime] = {}
    cases: dict[str, list[tuple[datetime, Case]]] = {shift.name: [] for shift in rules.shifts}
    for run in runs:
        place = shift_of(run.began, rules)
        day, name = (place[0], place[1].name) if place is not None else (run.began.date(), OUTSIDE)
        if held and (stood := held.get((run.machine, run.sequence))) is not None:
            case = Case(day.isoformat(), name, run.machine, run.person, run.sequence, HELD, held=stood)
            cases.setdefault(name, []).append((run.began, case))
        if place is not None:
            key = (run.machine, day, name)
            began[key] = min(began.get(key, run), run, key=attrgetter("began"))
    slack = timedelta(minutes=rules.late_minutes)
    for key, first in began.items():
        _, day, name = key
        start = checked.get(key)
        if start is None or start > first.began + slack:
            what, minutes = "missed", 0
            if start is not None:
                what, minutes = "late", round((start - first.began).total_seconds() / 60)
            case = Case(day.isoformat(), name, first.machine, first.person, first.sequence, what, minutes)
            cases[name].append((first.began, case))
    made = []
    for name, found in cases.items():
        listed = tuple(case for _, case in sorted(found, key=lambda one: one[0]))
        worked = sum(key[2] == name for key in began)
        missed, late, stood_on = (sum(case.what == what for case in listed) for what in ("missed", "late", HELD))
        made.append(ShiftCount(name, worked, missed, late, stood_on, listed))
    return made


def flags(counts: Sequence[ShiftCount], rules: Rules) -> Iterator[Flag]:
    """A shift that misses or delays more start-ups than the other shifts together."""
    for word, take, of in (
        ("missed", attrgetter("missed"), attrgetter("worked")),
        ("late", attrgetter("late"), attrgetter("started")),  # what was missed cannot be late
    ):
        for count in counts:
            others = [other for other in counts if other is not count]
            worked, found = sum(of(other) for other in others), sum(take(other) for other in others)
            if not worked or not of(count):
                continue
            chance = fisher_tail(take(count), of(count), found, worked)
            of_what = "worked shifts" if word == "missed" else "start-ups"
            if chance < rules.alarm:
                yield Flag(
                    f"{word} start-ups",
                    f"{count.shift} shift",
                    "",
                    f"{take(count)} of {of(count)} {of_what} {word}; the other shifts {found} of {worked}.",
                    "Fisher's exact test: the same share as in the other shifts",
                    of(count),
                    chance,
                    f"at most {rules.alarm:.2%} of shifts that are as careful as the others",
                    tuple((case.machine, case.sequence) for case in count.cases if case.what == word),
                )
