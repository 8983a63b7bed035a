"""All patterns over one period. A flag starts a talk: it names its test, numbers, sample and honest rate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit import attendance, digits, failures, hugging, pace, repeats, rereads
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
        *pace.flags(people, rules),
        *repeats.flags(machines, rules),
        *digits.flags(machines, rules),
        *hugging.flags(machines, rules),
        *rereads.flags(people, rules),
        *failures.flags(people, rules),
    ]
    return sorted(found, key=lambda flag: (flag.chance, flag.pattern, flag.person))


def patterns(
    connection: sqlite3.Connection, rules: Rules, since: int, until: int
) -> tuple[list[Flag], list[attendance.ShiftCount]]:
    """Flags of people and shifts in a period, and the count of each shift."""
    given = visits(connection, since, until)
    counts = attendance.shift_counts(given, attendance.run_times(connection, since, until), rules.attendance)
    return [*flags_of(given, rules), *attendance.flags(counts, rules)], counts
