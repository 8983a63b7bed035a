"""What belts and glue cost, as run records state it: belt life, reasons off, wood over the width, the glue account.

The keys of a run record's `[run]` table stand at the head of `checklist.run_record`; whatever is missing adds nothing.
"""

from __future__ import annotations

import functools
import json
import statistics
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.audit.words import day
from preflight.checklist.wear_maps import thrown_away
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Sequence

    from preflight.audit.rules import Prices

    Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class BeltLife:
    """Belts of one backing on one head that came off in a period."""

    machine: str
    head: str
    backing: str
    belts: int
    """Of these, used up: thrown away, or gone without a word and not seen again."""
    median_hours: float | None
    """Under drive, from the first run on; None without one that was used up."""
    shortest: float | None
    longest: float | None
    median_area: float | None
    """m2 of wood fed, every pass counted."""
    reasons: tuple[tuple[str, int], ...]
    """Of all that came off, also of those that went back to the rack."""


@dataclass(frozen=True, slots=True)
class GlueMonth:
    """What squeeze-out cost in one month."""

    month: str
    lots: int
    """Sent back, as told after a run."""
    held: int
    """Sent back at start-up: held records whose stop is glue; one that goes on from another is the same lot."""
    belts: int
    """Lost to glue, or come off for it."""
    minutes: int
    """The machine stood still."""

    def cost(self, prices: Prices) -> float | None:
        """At the shop's prices, those it has; None when it has none."""
        parts = ((self.lots + self.held, prices.lot), (self.belts, prices.belt), (self.minutes, prices.minute))
        known = [number * price for number, price in parts if price is not None]
        return sum(known) if known else None


@dataclass(slots=True)
class _Used:
    """A belt on its way to the bin."""

    head: str
    backing: str
    hours: float = 0.0
    area: float = 0.0


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
    """The belts that came off in a period, with all the hours and wood that they had seen by then.

    A belt cut in a run that keeps or ends its wear map. It ends when a run throws it away, or when a start-up finds
    another one on its head and it is not seen again.
    """
    sql = (
        "SELECT machine, at, head, card, backing FROM belts "
        "WHERE at < ? AND ? IN ('', machine) ORDER BY at, sequence, head"
    )
    events: list[tuple[int, str, tuple[str, str, str] | dict[str, Any]]] = [
        (at, of, (head, card, backing)) for of, at, head, card, backing in connection.execute(sql, (until, machine))
    ]
    events += [(at, of, table) for of, at, table in run_tables(connection, 0, until, machine)]
    on: dict[tuple[str, str], str] = {}
    used: dict[tuple[str, str], _Used] = {}
    unsaid: dict[tuple[str, str], int] = {}  # belts that were gone from their head, and since when
    ended: dict[Key, list[_Used]] = defaultdict(list)
    reasons: dict[Key, Counter[str]] = defaultdict(Counter)

    def off(of: str, card: str, at: int, why: str, *, ends: bool) -> None:
        belt = used.pop((of, card)) if ends else used[of, card]
        if at >= since:
            reasons[of, belt.head, belt.backing][why] += 1
            if ends:
                ended[of, belt.head, belt.backing].append(belt)

    for at, of, event in sorted(events, key=lambda one: one[0]):
        if isinstance(event, tuple):
            head, card, backing = event
            before = on.get((of, head))
            if before is not None and before != card and (of, before) in used:
                unsaid[of, before] = at
            unsaid.pop((of, card), None)
            on[of, head] = card
            now = used.setdefault((of, card), _Used(head, backing))
            now.head, now.backing = head, backing
            continue
        came_off = list(_tables(event.get("off")))
        for card in {str(one["belt"]) for one in (*_tables(event.get("wear")), *came_off) if "belt" in one}:
            belt = used.setdefault((of, card), _Used("", ""))
            belt.hours += _number(str(event.get("hours")), Kind.HOURS) / 3600
            belt.area += _number(str(event.get("area")), Kind.AREA)
            unsaid.pop((of, card), None)
        for one in came_off:
            head, card, why = str(one.get("head", "")), str(one.get("belt", "")), str(one.get("why", "not stated"))
            on.pop((of, head), None)
            if (of, card) in used:
                used[of, card].head = head
                off(of, card, at, why, ends=thrown_away(why))
            elif at >= since:
                reasons[of, head, ""][why] += 1
    for (of, card), at in unsaid.items():
        off(of, card, at, "not stated", ends=True)
    return [_life(key, ended[key], reasons[key]) for key in sorted(reasons)]


def _life(key: Key, belts: Sequence[_Used], reasons: Counter[str]) -> BeltLife:
    count, named = len(belts), tuple(reasons.most_common())
    if not belts:
        return BeltLife(*key, count, None, None, None, None, named)
    hours, area = [belt.hours for belt in belts], statistics.median(belt.area for belt in belts)
    return BeltLife(*key, count, statistics.median(hours), min(hours), max(hours), area, named)


def glue_months(connection: sqlite3.Connection, since: int, until: int, machine: str = "") -> list[GlueMonth]:
    """The glue account by month. A belt told as lost and as come off for glue counts once."""
    sums: dict[str, Counter[str]] = defaultdict(Counter)
    for _, at, table in run_tables(connection, since, until, machine):
        told = table.get("glue")
        glue = told if isinstance(told, dict) else {}
        came_off = sum("glue" in str(off.get("why", "")).casefold() for off in _tables(table.get("off")))
        if glue or came_off:
            belts = max(_whole(glue.get("belts")), came_off)
            lots, minutes = _whole(glue.get("lots")), _whole(glue.get("minutes"))
            sums[day(at)[:7]].update(lots=lots, belts=belts, minutes=minutes)
    sql = (
        "SELECT DISTINCT r.machine, r.sequence, r.at, r.refers FROM records r JOIN faults f USING (machine, sequence) "
        "WHERE r.kind = 'held' AND f.station = 'glue' AND f.verdict = 'stop' AND r.at >= ? AND r.at < ? "
        "AND ? IN ('', r.machine)"
    )
    held = connection.execute(sql, (since, until, machine)).fetchall()
    sent_back = {f"{of}/{sequence}" for of, sequence, _, _ in held}
    for _, _, at, refers in held:
        if refers not in sent_back:
            sums[day(at)[:7]].update(held=1)
    return [
        GlueMonth(month, s["lots"], s["held"], s["belts"], s["minutes"])
        for month, s in sorted(sums.items())
        if any(s.values())
    ]


def wear(connection: sqlite3.Connection, machine: str, since: int, until: int, strips: int = 40) -> list[float]:
    """Metres of wood over each of `strips` equal strips, from the bed's left edge to the right end of the maps.

    Where no run keeps a map they end at the widest place fed; empty when no run says what was fed.
    """
    width = 0.0
    fed: dict[tuple[float, float], float] = defaultdict(float)  # the same places again and again
    for _, _, table in run_tables(connection, since, until, machine):
        for one in _tables(table.get("wear")):
            strip, metres = _number(str(one.get("strip")), Kind.LENGTH), one.get("metres")
            wide = strip * len(metres) if isinstance(metres, list) else 0.0
            width = max(width, _number(str(one.get("left")), Kind.LENGTH) + wide)
        for board in _tables(table.get("boards")):
            left, across, along = (
                _number(str(board.get(key)), Kind.LENGTH) for key in ("left_edge", "width", "length")
            )
            fill = board.get("fill", 1.0)
            times = _whole(board.get("count")) * _whole(table.get("times")) * (fill if isinstance(fill, float) else 1.0)
            fed[left, left + across] += along * times
    width = max([width, *(right for _, right in fed)])
    if not fed or width <= 0:
        return []
    made = [0.0] * strips
    for (left, right), metres in fed.items():
        for strip in range(strips):
            low, high = strip * width / strips, (strip + 1) * width / strips
            made[strip] += metres * max(0.0, min(right, high) - max(left, low)) / (high - low)
    return made


@functools.lru_cache(maxsize=4096)
def _number(text: str, kind: Kind) -> float:
    """The SI value of a quantity as a record writes it; 0.0 where none can be read."""
    try:
        return parse(text, kind).value
    except QuantityError:
        return 0.0


def _whole(value: object) -> int:
    return value if isinstance(value, int) and value > 0 else 0


def _tables(rows: object) -> Iterator[dict[str, Any]]:
    yield from (row for row in rows if isinstance(row, dict)) if isinstance(rows, list) else ()
