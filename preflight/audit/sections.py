"""What lists and reports say, as data: titles, sentences, tables and trends. Terminal and page render the same."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.audit.account import belt_lives, glue_months, wear
from preflight.audit.patterns import REMARK, patterns
from preflight.audit.queries import Filter, count, distinct, page, unread
from preflight.audit.today import MachineToday, machine_names, today
from preflight.audit.trends import trends
from preflight.audit.words import ROW_NAMES, day, row

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence
    from pathlib import Path

    from preflight.audit.attendance import ShiftCount
    from preflight.audit.queries import Listed
    from preflight.audit.rules import Rules
    from preflight.audit.trends import Trend
    from preflight.audit.visit import Flag

MOST = 200
"""Rows of a table in a report; how many more there are is said."""
VERDICTS = ("ok", "caution", "open", "stop")


@dataclass(frozen=True, slots=True)
class Section:
    """One part of a report."""

    title: str
    sentences: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    trends: tuple[Trend, ...] = ()
    bars: tuple[float, ...] = field(default=())
    """Values over the width, drawn as bars."""


def _state(one: MachineToday, now: datetime) -> str:
    """Whether the machine was checked today, or checked and held."""
    if one.checked:
        return "Checked today"
    held = any(datetime.fromisoformat(record.local).date() == now.date() for record in one.held)
    return "HELD today, not released" if held else "NOT checked today"


def today_sections(
    connection: sqlite3.Connection, shop: Path, rules: Rules, now: datetime, *, whole: bool = True
) -> list[Section]:
    """Each machine's state in one section; not `whole`: what takes no time, and a word that more is coming."""
    made = []
    for one in today(connection, shop, rules, now, whole=whole):
        last = (
            f"last start-up {row(one.last)[0]} by {one.last.person}, {one.last.verdict}"
            if one.last
            else "nothing released yet"
            if one.held
            else "never started"
        )
        said = [f"{_state(one, now)}; {last}."]
        said += [f"Stands: {fault}" for fault in one.faults]
        said += [f"Held {row(held)[0]} by {held.person}: {held.about}" for held in one.held]
        said += [f"Override {row(given)[0]} by {given.person}: {given.about}" for given in one.overrides]
        said += [f"Due: {item}" for item in one.due]
        said += [f"Drift: {drift}" for drift in one.drifts]
        said += [] if whole else ["Stops that stand, due items and drifts are being looked up."]
        made.append(Section(one.name, tuple(said)))
    return made or [Section("Today", ("No machine of this shop has a record yet.",))]


def list_section(rows: Sequence[Listed], total: int, names: dict[str, str]) -> Section:
    """A page of records."""
    shown = tuple(row(one, names.get(one.machine, "")) for one in rows)
    return Section("Records", (f"{len(rows)} of {total} records, newest first.",), ROW_NAMES, shown)


def flag_section(flags: Sequence[Flag], names: dict[str, str]) -> Section:
    """The flags with their tests."""
    rows = tuple(
        (
            one.pattern,
            one.person,
            names.get(one.machine, one.machine) or "all",
            one.statement,
            f"{one.test}. Honest data raise it for {one.honest}.",
            str(one.sample),
            f"{one.chance:.1e}",
            ", ".join(f"{number}" for _, number in one.records[-5:]),
        )
        for one in flags
    )
    header = ("pattern", "who", "machine", "seen", "test", "sample", "chance", "newest records")
    return Section("Worth a talk", (REMARK, f"{len(flags)} flags."), header, rows)


def shift_section(counts: Sequence[ShiftCount]) -> Section:
    """Missed and late start-ups by shift."""
    rows = tuple((one.shift, str(one.worked), str(one.missed), str(one.late)) for one in counts)
    said = () if any(one.worked for one in counts) else ("No run record says when machines worked.",)
    return Section("Start-ups by shift", said, ("shift", "worked", "missed", "late"), rows)


def trend_sections(
    connection: sqlite3.Connection, machine: str, name: str, rules: Rules, since: int, until: int, *, drifting: bool
) -> list[Section]:
    """The trends of one machine; `drifting`: those with an alarm alone."""
    found = [one for one in trends(connection, machine, rules, since, until) if one.alarm or not drifting]
    if not found:
        return [Section(f"Trends: {name}", ("No reading drifts." if drifting else "No readings.",))]
    note = (
        f"Cumulative-sum alarm; with a baseline known exactly one false alarm in about {found[0].false_alarm:.0f} "
        "readings, more often with a baseline of few."
        if any(one.false_alarm for one in found)
        else ""
    )
    first = Section(f"Trends: {name}", (note,) if note else ())
    return [first, *(Section(one.series, (one.statement,), trends=(one,)) for one in found)]


def account_sections(
    connection: sqlite3.Connection, since: int, until: int, names: dict[str, str], machine: str = ""
) -> list[Section]:
    """Belt life, the glue account and the wear map."""
    lives = belt_lives(connection, since, until, machine)
    belts = Section(
        "Belts that came off",
        () if lives else ("No belt was changed for another one in this period.",),
        ("machine", "head", "backing", "belts", "median h", "shortest h", "longest h", "reasons"),
        tuple(
            (
                names.get(one.machine, one.machine),
                one.head,
                one.backing,
                str(one.belts),
                f"{one.median_hours:.1f}",
                f"{one.shortest:.1f}",
                f"{one.longest:.1f}",
                ", ".join(f"{reason} {times}" for reason, times in one.reasons),
            )
            for one in lives
        ),
    )
    months = glue_months(connection, since, until, machine)
    glue = Section(
        "Glue account",
        () if months else ("No run record states lots returned, belts or minutes lost to glue.",),
        ("month", "lots returned", "belts", "minutes", "cost"),
        tuple((m.month, str(m.lots_returned), str(m.belts), f"{m.minutes:.0f}", f"{m.cost:.2f}") for m in months),
    )
    made = [belts, glue]
    for of in [machine] if machine else distinct(connection, "machine"):
        strips = wear(connection, of, since, until)
        if strips:
            said = (
                f"Most {max(strips):.0f} m, least {min(strips):.0f} m, mean over peak "
                f"{sum(strips) / len(strips) / max(strips):.2f}; left edge first."
            )
            made.append(Section(f"Wood over the width: {names.get(of, of)}", (said,), bars=tuple(strips)))
    return made


def count_section(
    connection: sqlite3.Connection, since: int, until: int, names: dict[str, str], machine: str = ""
) -> Section:
    """Records by machine, kind and verdict."""
    rows = []
    for of in [machine] if machine else distinct(connection, "machine"):
        kinds = [
            count(connection, Filter(of, kind=kind, since=since, until=until)) for kind in ("startup", "held", "run")
        ]
        verdicts = [count(connection, Filter(of, verdict=word, since=since, until=until)) for word in VERDICTS]
        overrides = count(connection, Filter(of, kind="override", since=since, until=until))
        rows.append((names.get(of, of), *map(str, [*kinds, overrides, *verdicts])))
    header = ("machine", "start-ups", "held", "runs", "overrides", *VERDICTS)
    return Section("Records", (), header, tuple(rows))


def period_sections(
    connection: sqlite3.Connection, shop: Path, rules: Rules, since: int, until: int, machine: str = ""
) -> list[Section]:
    """A whole report of a period, of all machines or of one."""
    names = machine_names(shop)
    flags, shifts = patterns(connection, rules, since, until)
    flags = [one for one in flags if machine in ("", one.machine) or not one.machine]
    made = [count_section(connection, since, until, names, machine)]
    for title, kind in (("Held", "held"), ("Overrides", "override"), ("Repairs", "repair"), ("Late entries", "late")):
        only = Filter(machine, kind=kind, since=since, until=until)
        rows = page(connection, only, rows=MOST)
        if rows:
            more = count(connection, only) - len(rows)
            said = (f"{more} more are not shown.",) if more else ()
            made.append(Section(title, said, ROW_NAMES, tuple(row(one, names.get(one.machine, "")) for one in rows)))
    made += [shift_section(shifts), flag_section(flags, names)]
    for of in [machine] if machine else distinct(connection, "machine"):
        made += trend_sections(connection, of, names.get(of, of), rules, since, until, drifting=not machine)
    made += account_sections(connection, since, until, names, machine)
    broken = unread(connection)
    if broken:
        rows_ = tuple((names.get(of, of), str(number), why) for of, number, why in broken)
        made.append(Section("Files that cannot be read", (), ("machine", "number", "why"), rows_))
    return made


def period_title(since: int, until: int, name: str = "") -> str:
    """The heading of a period's report."""
    return f"Start-up checks {day(since)} to {day(until - 1)}{f', {name}' if name else ''}"
