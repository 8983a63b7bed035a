"""The wear map of each belt and drum over time: at the end of each month, and as it stood when a new surface came.

Every run record holds the maps as they stood after it, so nothing is added up here.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from preflight.audit.account import run_tables
from preflight.audit.words import day
from preflight.checklist.wear_maps import thrown_away, wear_maps

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Mapping

    Name = tuple[str, str]

FALLEN = 1e-3
"""Metres by which a strip may fall by rounding; more means a new surface."""


@dataclass(frozen=True, slots=True)
class WearMoment:
    """The map of one surface at one time."""

    at: int
    metres: tuple[float, ...]
    """Of wood passed, strip by strip, left to right."""
    change: str = ""
    """Why the next map begins at nothing; empty at the end of a month."""
    since: int = 0
    """When the first run was signed that it counts."""

    @property
    def mean_over_peak(self) -> float:
        """1.0 where every strip has passed the same."""
        return sum(self.metres) / len(self.metres) / max(self.metres)

    @property
    def lowest_over_peak(self) -> float:
        """0.0 where a strip has passed nothing."""
        return min(self.metres) / max(self.metres)


@dataclass(frozen=True, slots=True)
class Surface:
    """A belt, by its card, or the drum of a head."""

    kind: str
    """"belt" or "drum"."""
    name: str
    head: str
    """Where the belt ran last."""
    moments: list[WearMoment] = field(default_factory=list)
    """Oldest first."""

    @property
    def in_use(self) -> bool:
        """Whether no change has ended its newest map."""
        return not self.moments[-1].change


def surfaces(connection: sqlite3.Connection, machine: str, since: int, until: int) -> list[Surface]:
    """Belts and drums of a machine whose maps are in its run records, by head, belts first; moments of a period."""
    heads = dict(connection.execute("SELECT card, head FROM belts WHERE machine = ? ORDER BY at", (machine,)))
    found: dict[Name, Surface] = {}
    now: dict[Name, WearMoment] = {}

    def keep(name: Name, at: int, change: str = "") -> None:
        """The map as it stands becomes a moment: at the end of its month, or at the change that ends it."""
        last = now.pop(name) if change else now[name]
        head = name[1] if name[0] == "drum" else heads.get(name[1], "")
        made = found.setdefault(name, Surface(*name, head))
        made.moments.append(WearMoment(at if change else last.at, last.metres, change, last.since))

    for at, event in sorted(_events(connection, machine, 0, until), key=lambda one: one[0]):
        if "repair" in event:
            for name in _ground(now, event):
                keep(name, at, str(event["repair"].get("what", "new surface")))
            continue
        for one in _dicts(event.get("wear")):
            name, metres = _name(one), _metres(one)
            if not metres or max(metres) <= 0:
                continue
            before = now.get(name)
            if before is not None and _fell(before.metres, metres):
                keep(name, before.at, "begun anew")
            elif before is not None and day(before.at)[:7] != day(at)[:7]:
                keep(name, before.at)
            now[name] = WearMoment(at, metres, since=now[name].since if name in now else at)
        for off in _dicts(event.get("off")):
            name, why = ("belt", str(off.get("belt", ""))), str(off.get("why", ""))
            if thrown_away(why) and name in now:
                keep(name, at, why)
        for drum in _dicts(event.get("drums")):
            if (name := ("drum", str(drum.get("head", "")))) in now:
                keep(name, at, str(drum.get("what", "new surface")))
    for name, last in now.items():
        keep(name, last.at)
    shown = [replace(one, moments=[m for m in one.moments if m.at >= since]) for one in found.values()]
    return sorted((one for one in shown if one.moments), key=lambda one: (one.head, one.kind, one.moments[0].at))


def _events(
    connection: sqlite3.Connection, machine: str, since: int, until: int
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Time and table of each run, and of each repair record, of a period."""
    yield from ((at, table) for _, at, table in run_tables(connection, since, until, machine))
    sql = (
        "SELECT r.at, o.document FROM records r JOIN outlines o USING (machine, sequence) "
        "WHERE r.machine = ? AND r.kind = 'repair' AND r.at >= ? AND r.at < ?"
    )
    for at, document in connection.execute(sql, (machine, since, until)):
        record = json.loads(document)
        if isinstance(record.get("repair"), dict):
            yield at, {"repair": record["repair"]}


def _ground(now: Mapping[Name, WearMoment], record: Mapping[str, Any]) -> list[Name]:
    """The drums that this repair gave a new surface: those whose map the next start-up would no longer find."""
    drums = [name for name in now if name[0] == "drum"]
    wear = [{"drum": head, "left": "0 mm", "metres": list(now["drum", head].metres)} for _, head in drums]
    _, left = wear_maps([{"run": {"wear": wear}}, record])
    return [name for name in drums if name[1] not in left]


def _name(one: Mapping[str, Any]) -> Name:
    return ("drum", str(one["drum"])) if "drum" in one else ("belt", str(one.get("belt", "")))


def _metres(one: Mapping[str, Any]) -> tuple[float, ...]:
    """A record's map; nothing where it cannot be read, which verification does not look at."""
    try:
        return tuple(float(m) for m in one["metres"])
    except (KeyError, TypeError, ValueError):
        return ()


def _fell(before: tuple[float, ...], after: tuple[float, ...]) -> bool:
    return any(b < a - FALLEN for a, b in zip(before, after, strict=False))


def _dicts(rows: object) -> list[dict[str, Any]]:
    """Only what is a table: an odd record hides nothing else."""
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
