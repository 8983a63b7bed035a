"""What belts and glue cost, as far as run records state it: belt life, reasons off, wear over the width, glue lots.

A run record's `[run]` table: `hours`, `area`, `started`, `belts_off` (head, card, reason), `glue` (lots_returned,
belts, minutes, cost) and `fed` (left, right, metres). Each key may be missing.
"""

from __future__ import annotations

import json
import statistics
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.audit.words import day
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True)
class BeltLife:
    """Belts of one backing on one head that have come off."""

    machine: str
    head: str
    backing: str
    belts: int
    median_hours: float
    shortest: float
    longest: float
    reasons: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class GlueMonth:
    """What assembly's squeeze-out cost in one month."""

    month: str
    lots_returned: int
    belts: int
    minutes: float
    cost: float


def run_tables(
    connection: sqlite3.Connection, since: int, until: int, machine: str = ""
) -> Iterator[tuple[str, int, dict[str, Any]]]:
    """Machine, time and `[run]` table of each run record, oldest first."""
    sql = "SELECT machine, at, content FROM runs WHERE at >= ? AND at < ? AND ? IN ('', machine) ORDER BY at, sequence"
    for of, at, content in connection.execute(sql, (since, until, machine)):
        table = json.loads(content)
        if isinstance(table, dict):
            yield of, at, table


def belt_lives(connection: sqlite3.Connection, since: int, until: int, machine: str = "") -> list[BeltLife]:
    """Hours from the start-up that first names a belt on a head to the one that names another."""
    sql = (
        "SELECT machine, at, head, card, backing FROM belts "
        "WHERE at >= ? AND at < ? AND ? IN ('', machine) ORDER BY at, sequence, head"
    )
    events: list[tuple[int, str, Any]] = [
        (at, of, ("on", head, card, backing))
        for of, at, head, card, backing in connection.execute(sql, (since, until, machine))
    ]
    events += [(at, of, ("run", table)) for of, at, table in run_tables(connection, since, until, machine)]
    on: dict[tuple[str, str], tuple[str, str, float]] = {}
    lives: dict[tuple[str, str, str], list[float]] = defaultdict(list)
    reasons: dict[tuple[str, str, str], Counter[str]] = defaultdict(Counter)
    for _, of, event in sorted(events, key=lambda one: one[0]):
        if event[0] == "on":
            _, head, card, backing = event
            before = on.get((of, head))
            if before is not None and before[0] == card:
                continue
            if before is not None:
                lives[of, head, before[1]].append(before[2])
            on[of, head] = (card, backing, 0.0)
        else:
            hours = _hours(event[1])
            for key, (card, backing, used) in on.items():
                if key[0] == of:
                    on[key] = (card, backing, used + hours)
            for off in _tables(event[1].get("belts_off")):
                head = str(off.get("head", ""))
                if (of, head) in on:
                    reasons[of, head, on[of, head][1]][str(off.get("reason", "not stated"))] += 1
    return [
        BeltLife(*key, len(hours), statistics.median(hours), min(hours), max(hours), tuple(reasons[key].most_common()))
        for key, hours in sorted(lives.items())
    ]


def glue_months(connection: sqlite3.Connection, since: int, until: int, machine: str = "") -> list[GlueMonth]:
    """The glue account by month."""
    sums: dict[str, list[float]] = defaultdict(lambda: [0.0] * 4)
    for _, at, table in run_tables(connection, since, until, machine):
        glue = table.get("glue")
        if isinstance(glue, dict):
            for place, key in enumerate(("lots_returned", "belts", "minutes", "cost")):
                value = glue.get(key, 0)
                sums[day(at)[:7]][place] += value if isinstance(value, (int, float)) else 0
    return [GlueMonth(month, int(s[0]), int(s[1]), s[2], s[3]) for month, s in sorted(sums.items())]


def wear(connection: sqlite3.Connection, machine: str, since: int, until: int, strips: int = 40) -> list[float]:
    """Metres of wood over each of `strips` equal strips of the widest place fed; empty when no run says."""
    rows = [
        (_metres(fed.get("left")), _metres(fed.get("right")), _metres(fed.get("metres")))
        for _, _, table in run_tables(connection, since, until, machine)
        for fed in _tables(table.get("fed"))
    ]
    width = max((right for _, right, _ in rows), default=0.0)
    if width <= 0:
        return []
    made = [0.0] * strips
    for left, right, metres in rows:
        for strip in range(strips):
            low, high = strip * width / strips, (strip + 1) * width / strips
            made[strip] += metres * max(0.0, min(right, high) - max(left, low)) / (high - low)
    return made


def _hours(table: dict[str, Any]) -> float:
    try:
        return parse(str(table["hours"]), Kind.HOURS).value / 3600
    except (KeyError, QuantityError):
        return 0.0


def _metres(text: object) -> float:
    try:
        return parse(str(text), Kind.LENGTH).value
    except QuantityError:
        return 0.0


def _tables(rows: object) -> Iterator[dict[str, Any]]:
    yield from (row for row in rows if isinstance(row, dict)) if isinstance(rows, list) else ()
