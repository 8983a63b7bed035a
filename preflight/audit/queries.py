"""Lists out of the index: pages by key, filters, one record's place, series, and the answers for the patterns.

A page begins behind the last row of the one before, so the 1,000th is as quick as the first.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.checklist.corrected import HIDDEN

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator

PAGE = 200
"""Rows of a page."""

_STORED = "at, machine, sequence, kind, person, role, verdict, local, job, about, refers, key_id"


def _shown(table: str) -> str:
    """The columns as lists show them: without what a correction hides."""
    hides = (
        "SELECT 1 FROM records AS c WHERE c.kind = 'correction' AND c.hides "
        f"AND c.machine = {table}.machine AND c.refers = {table}.machine || '/' || {table}.sequence"
    )
    return _STORED.replace("about", f"CASE WHEN EXISTS ({hides}) THEN '{HIDDEN}' ELSE about END")


_COLUMNS, _STRANGE = _shown("records"), f"{_shown('strangers')}, why"
_SHOWN = ((_COLUMNS, "records"), (_STRANGE, "strangers"))


@dataclass(frozen=True, slots=True)
class Listed:
    """One record as a list shows it."""

    at: int
    """Seconds since 1970, UTC."""
    machine: str
    sequence: int
    kind: str
    person: str
    role: str
    verdict: str
    local: str
    """ISO, with offset."""
    job: str
    about: str
    refers: str
    """"machine/number" of the record it is about."""
    key_id: str
    """Empty: unsigned."""
    why: str = ""
    """Why it counts for nothing; empty for one that counts."""

    @property
    def key(self) -> tuple[int, str, int]:
        """Its place in the order of lists."""
        return self.at, self.machine, self.sequence


@dataclass(frozen=True, slots=True)
class Filter:
    """What a list is narrowed to; empty: not narrowed."""

    machine: str = ""
    person: str = ""
    verdict: str = ""
    kind: str = ""
    since: int | None = None
    """Seconds since 1970, included."""
    until: int | None = None
    """Excluded."""
    strangers: bool = False
    """Those that count for nothing too: to be shown, never to be reckoned with."""

    def where(self) -> tuple[str, list[Any]]:
        """The condition in SQL, and its values."""
        parts, values = ["1"], []
        for name in ("machine", "person", "verdict", "kind"):
            if wanted := getattr(self, name):
                parts.append(f"{name} = ?")
                values.append(wanted)
        if self.since is not None:
            parts.append("at >= ?")
            values.append(self.since)
        if self.until is not None:
            parts.append("at < ?")
            values.append(self.until)
        return " AND ".join(parts), values


EVERYTHING = Filter()


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer of a start-up."""

    key: str
    text: str
    at: int
    earlier: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured figure of a series, with the limits of that day."""

    at: int
    sequence: int
    value: float
    low: float | None
    high: float | None
    unit: str
    text: str


@dataclass(frozen=True, slots=True)
class Belt:
    """A belt on a head, as a start-up states it."""

    head: str
    card: str
    backing: str
    grit: str


def page(
    connection: sqlite3.Connection,
    only: Filter = EVERYTHING,
    *,
    after: tuple[int, str, int] | None = None,
    before: tuple[int, str, int] | None = None,
    rows: int = PAGE,
) -> list[Listed]:
    """At most `rows` records, newest first: the first ones, those behind `after`, or those just before `before`.

    All of them with -1 rows.
    """
    where, values = only.where()
    key, order = after, "DESC"
    if key is not None:
        where += " AND (at, machine, sequence) < (?, ?, ?)"
    elif (key := before) is not None:
        where += " AND (at, machine, sequence) > (?, ?, ?)"
        order = "ASC"
    where += f" ORDER BY at {order}, machine {order}, sequence {order} LIMIT ?"
    values += [*(key or ()), rows]
    found = [Listed(*row) for row in connection.execute(f"SELECT {_COLUMNS} FROM records WHERE {where}", values)]
    if only.strangers:
        sql = f"SELECT {_STRANGE} FROM strangers WHERE {where}"
        found += [Listed(*row) for row in connection.execute(sql, values)]
        found.sort(key=lambda one: one.key, reverse=order == "DESC")
        found = found[:rows] if rows >= 0 else found
    return found[::-1] if order == "ASC" else found


def count(connection: sqlite3.Connection, only: Filter = EVERYTHING) -> int:
    """How many records the filter leaves."""
    where, values = only.where()
    tables = ("records", "strangers") if only.strangers else ("records",)
    return sum(connection.execute(f"SELECT COUNT(*) FROM {one} WHERE {where}", values).fetchone()[0] for one in tables)


def first_at(connection: sqlite3.Connection, machine: str = "") -> int | None:
    """When the first record was signed, of one machine or of all; None without one."""
    where, values = Filter(machine).where()
    found = connection.execute(f"SELECT MIN(at) FROM records WHERE {where}", values).fetchone()[0]
    return None if found is None else int(found)


def listed(connection: sqlite3.Connection, machine: str, sequence: int) -> Listed | None:
    """One record by its number; None when the index has none."""
    for columns, table in _SHOWN:
        sql = f"SELECT {columns} FROM {table} WHERE machine = ? AND sequence = ?"
        if row := connection.execute(sql, (machine, sequence)).fetchone():
            return Listed(*row)
    return None


def referring(connection: sqlite3.Connection, machine: str, sequence: int) -> list[Listed]:
    """The records of that machine that name this one: overrides, repairs, countersignatures, oldest first."""
    found: list[Listed] = []
    for columns, table in _SHOWN:
        sql = f"SELECT {columns} FROM {table} WHERE machine = ? AND refers = ?"
        found += [Listed(*row) for row in connection.execute(sql, (machine, f"{machine}/{sequence}"))]
    return sorted(found, key=lambda one: (one.at, one.sequence))


def strangers(connection: sqlite3.Connection, machine: str = "", since: int = 0) -> list[Listed]:
    """Records that count for nothing, of one machine or of all, newest first."""
    sql = f"SELECT {_STRANGE} FROM strangers WHERE at >= ? AND (? = '' OR machine = ?) ORDER BY at DESC"
    return [Listed(*row) for row in connection.execute(sql, (since, machine, machine))]


def distinct(connection: sqlite3.Connection, column: str) -> list[str]:
    """The values of "machine", "person", "verdict" or "kind" that occur, sorted. ValueError for another column."""
    if column not in ("machine", "person", "verdict", "kind"):
        raise ValueError(f"no list of {column}")
    # one look into the sorted index per value, where DISTINCT would read all rows
    sql = (
        f"WITH RECURSIVE v(x) AS (SELECT MIN({column}) FROM records UNION ALL "
        f"SELECT (SELECT MIN({column}) FROM records WHERE {column} > x) FROM v WHERE x IS NOT NULL) "
        "SELECT x FROM v WHERE x IS NOT NULL AND x <> ''"
    )
    return [value for (value,) in connection.execute(sql)]


def belts_on(connection: sqlite3.Connection, machine: str) -> list[Belt]:
    """The belts of the newest start-up of that machine that states any, by head; paper is as old as it says."""
    sql = (
        "SELECT head, card, backing, grit FROM belts WHERE machine = ? AND sequence = "
        "(SELECT sequence FROM belts WHERE machine = ? ORDER BY at DESC, sequence DESC LIMIT 1) ORDER BY head"
    )
    return [Belt(*row) for row in connection.execute(sql, (machine, machine))]


def series_names(connection: sqlite3.Connection, machine: str) -> list[str]:
    """The series of readings that a machine has."""
    sql = (
        "WITH RECURSIVE v(x) AS (SELECT MIN(series) FROM readings WHERE machine = :m UNION ALL SELECT "
        "(SELECT MIN(series) FROM readings WHERE machine = :m AND series > x) FROM v WHERE x IS NOT NULL) "
        "SELECT x FROM v WHERE x IS NOT NULL"
    )
    return [name for (name,) in connection.execute(sql, {"m": machine})]


def series(
    connection: sqlite3.Connection, machine: str, name: str, since: int = 0, until: int | None = None
) -> list[Reading]:
    """The readings of one series of a machine, oldest first."""
    sql = (
        "SELECT at, sequence, value, low, high, unit, text FROM readings "
        "WHERE machine = ? AND series = ? AND at >= ? AND at < ? ORDER BY at, sequence"
    )
    end = until if until is not None else 2**62
    return [Reading(*row) for row in connection.execute(sql, (machine, name, since, end))]


def answers(connection: sqlite3.Connection, machine: str, sequence: int) -> tuple[Answer, ...]:
    """The answers of one start-up, by time."""
    sql = "SELECT entries FROM answers WHERE machine = ? AND sequence = ?"
    row = connection.execute(sql, (machine, sequence)).fetchone()
    return as_answers(row[0]) if row else ()


def as_answers(entries: str) -> tuple[Answer, ...]:
    """The answers as the index keeps them."""
    return tuple(Answer(k, t, at, tuple((s, w) for s, w in earlier)) for k, t, at, earlier in json.loads(entries))


def start_ups(connection: sqlite3.Connection, since: int, until: int) -> Iterator[tuple[Listed, tuple[Answer, ...]]]:
    """Start-ups and held records of a period with their answers, oldest first; one at a time in memory."""
    columns = ", ".join(f"r.{name}" for name in _STORED.split(", "))
    sql = (
        f"SELECT {columns}, a.entries FROM records r JOIN answers a USING (machine, sequence) "
        "WHERE r.at >= ? AND r.at < ? AND r.kind IN ('startup', 'held') ORDER BY r.at, r.machine, r.sequence"
    )
    for *row, entries in connection.execute(sql, (since, until)):
        yield Listed(*row), as_answers(entries)


def unread(connection: sqlite3.Connection) -> list[tuple[str, int, str]]:
    """Machine, number and reason of each file that could not be read."""
    return list(connection.execute("SELECT machine, sequence, why FROM unread ORDER BY machine, sequence"))
