"""All patterns over one period. A flag starts a talk: it names its test, numbers, sample and honest rate."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.audit import attendance, digits, failures, held_runs, hugging, pace, repeats, rereads
from preflight.audit.visit import Flag, Visit, by_machine, by_person, visits

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    from preflight.audit.rules import Rules

REMARK = "Flags start a talk, never a verdict: look at sample, machine and shift, and ask before you judge."


def flags_of(given: Sequence[Visit], rules: Rules) -> list[Flag]:
    """The flags of people, the least likely first."""
    people, machines = by_person(given), by_machine(given)
    found = [
        *pace.together(pace.flags(people, rules), people),
        *repeats.flags(machines, rules),
        *digits.flags(machines, rules),
        *hugging.flags(machines, rules),
        *rereads.flags(people, rules),
        *failures.flags(people, rules),
    ]
    return sorted(found, key=lambda flag: (flag.chance or 0.0, flag.pattern, flag.person))


def patterns(
    connection: sqlite3.Connection, rules: Rules, since: int, until: int, machine: str = ""
) -> tuple[list[Flag], list[attendance.ShiftCount]]:
    """Flags of people and shifts in a period, and the count of each shift.

    With `machine`: the shifts and the flags of that machine, and those of people over the whole shop.
    """
    given = visits(connection, since, until)
    runs = [one for one in attendance.run_times(connection, since, until) if machine in ("", one.machine)]
    starts = held_runs.starts(connection, since, until)
    held = held_runs.ran_on_held(runs, starts, held_runs.covered_from(connection))
    counts = attendance.shift_counts(starts, runs, rules.attendance, held=held)
    facts = held_runs.flags([case for count in counts for case in count.cases])
    shifts = [replace(flag, machine=machine) for flag in attendance.flags(counts, rules)]
    people = [flag for flag in flags_of(given, rules) if not machine or flag.machine in ("", machine)]
    return [*facts, *people, *shifts], counts
