"""Runs on a held start-up: the machine worked although its newest start-up said that it must not."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from operator import attrgetter
from typing import TYPE_CHECKING

from preflight.audit.visit import Flag

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Mapping, Sequence

    from preflight.audit.attendance import Case, RunTime

    Number = tuple[str, int]

STANDS = timedelta(hours=16)
"""A held start-up so long before a run is not what that run went on: two shifts (common practice, no source)."""
HELD = "on a held start-up"
"""What happened, as lists say it."""


@dataclass(frozen=True, slots=True)
class Start:
    """One start-up: released, held, or from paper."""

    machine: str
    sequence: int
    kind: str
    """"startup", "held" or "late"."""
    local: datetime
    """When it was signed; from paper, when it was done."""


def starts(connection: sqlite3.Connection, since: int, until: int) -> list[Start]:
    """The start-ups of a period and of the hours before it that its first runs may stand on, oldest first."""
    sql = (
        "SELECT machine, sequence, kind, local FROM records WHERE at >= ? AND at < ? "
        "AND kind IN ('startup', 'held', 'late') ORDER BY at, sequence"
    )
    found = connection.execute(sql, (since - int(STANDS.total_seconds()), until))
    return [Start(machine, sequence, kind, datetime.fromisoformat(local)) for machine, sequence, kind, local in found]


def covered_from(connection: sqlite3.Connection) -> dict[Number, datetime]:
    """Held records all of whose stops have an override, and since when. The override's own end is not looked at."""
    given: dict[Number, list[tuple[datetime, str]]] = defaultdict(list)
    for refers, local, about in connection.execute(
        "SELECT refers, local, about FROM records WHERE kind = 'override' ORDER BY at"
    ):
        machine, _, number = str(refers).rpartition("/")
        if number.isdecimal():
            given[machine, int(number)].append((datetime.fromisoformat(local), about))
    made = {}
    for held, overrides in given.items():
        stops = connection.execute(
            "SELECT station, subject FROM faults WHERE machine = ? AND sequence = ? AND verdict = 'stop'", held
        ).fetchall()
        # an index line of an override begins with station and subject of its one stop
        first = [
            next((at for at, about in overrides if about.startswith(f"{station}; {subject.rstrip('.')};")), None)
            for station, subject in stops
        ]
        known = [at for at in first if at is not None]
        if known and len(known) == len(stops):
            made[held] = max(known)
    return made


def ran_on_held(
    runs: Sequence[RunTime], given: Sequence[Start], covered: Mapping[Number, datetime]
) -> dict[Number, int]:
    """By machine and number of a run record: the number of the held start-up that the run stood on."""
    of_machine: dict[str, list[Start]] = defaultdict(list)
    for start in sorted(given, key=attrgetter("local")):
        of_machine[start.machine].append(start)
    found = {}
    for run in runs:
        known = of_machine[run.machine]
        place = bisect_right(known, run.began, key=attrgetter("local"))
        newest = known[place - 1] if place else None
        if newest is None or newest.kind != "held" or run.began - newest.local > STANDS:
            continue
        permitted = covered.get((newest.machine, newest.sequence))
        if permitted is None or permitted > run.began:
            found[run.machine, run.sequence] = newest.sequence
    return found


def flags(cases: Sequence[Case]) -> Iterator[Flag]:
    """One flag a machine that did it more than once. A fact of the records: nothing is estimated."""
    machines: dict[str, list[Case]] = defaultdict(list)
    for case in cases:
        if case.what == HELD:
            machines[case.machine].append(case)
    for machine, own in machines.items():
        if len(own) > 1:
            who = ", ".join(f"{person} {times}" for person, times in Counter(one.person for one in own).most_common())
            yield Flag(
                "worked on a held start-up",
                "",
                machine,
                f"{len(own)} runs began while the newest start-up was a held one, by {who}.",
                "counted, not estimated: no released start-up, late entry or override stands between",
                len(own),
                None,
                "",
                tuple((one.machine, one.sequence) for one in own),
            )
