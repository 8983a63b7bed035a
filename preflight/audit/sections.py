"""What lists and reports say, as data: titles, sentences, tables and trends. Terminal and page render the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.audit.account_sections import account_sections
from preflight.audit.figures import said_chance
from preflight.audit.machine_refs import machine_refs
from preflight.audit.patterns import REMARK, patterns
from preflight.audit.period import LOOK_BACK
from preflight.audit.queries import Filter, count, distinct, page, strangers, unread
from preflight.audit.section import Section as Section  # noqa: PLC0414 (also had from here)
from preflight.audit.time_sections import shift_sections as shift_sections  # noqa: PLC0414
from preflight.audit.time_sections import trend_sections as trend_sections  # noqa: PLC0414
from preflight.audit.today import MachineToday, machine_names, today
from preflight.audit.words import ROW_NAMES, day, row
from preflight.checklist.draft import UNNAMED
from preflight.checklist.register import read_register

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from preflight.audit.mistyped import CalledMistyped
    from preflight.audit.queries import Belt, Listed
    from preflight.audit.rules import Rules
    from preflight.audit.visit import Flag
    from preflight.checklist.open_draft import OpenDraft

MOST = 200
"""Rows of a table in a report; how many more there are is said."""
NEWEST = 5
"""Records named of a flag."""
WORTH = "Worth a talk"
STRANGERS = "Not signed by a person of this shop, or changed since. No verdict and no figure rests on them."
KIND = ROW_NAMES.index("kind")
VERDICTS = ("ok", "caution", "open", "stop")
NOTHING = "No record is saved yet: make and sign a start-up check."
COMING = {
    "today": "Each machine's last start-up, belts, stops, due items and drifts",
    "list": "Every saved record, the newest first,",
    "patterns": "Habits worth a talk, once there are some weeks of start-ups,",
    "trends": "Readings over time, with their limits and drifts,",
    "report": "Counts, held records, patterns, trends, belts and glue of a period",
}
"""What each view shows once there are records."""


def _state(one: MachineToday, now: datetime) -> str:
    """Whether the machine was checked today, or checked and held."""
    if one.checked:
        return "Checked today"
    held = any(datetime.fromisoformat(record.local).date() == now.date() for record in one.held)
    return "HELD today, not released" if held else "NOT checked today"


def today_sections(
    connection: sqlite3.Connection, shop: Path, rules: Rules, now: datetime, *, whole: bool = True
) -> list[Section]:
    """Each machine's state in one section; not `whole`: what takes no time, and a word that drifts are coming.

    First of all that the register of people is not the shop's own, where it is not.
    """
    alarm = read_register(shop).alarm
    made = [Section("Register of people", (f"ALARM: {alarm}",))] if alarm else []
    for one in today(connection, shop, rules, now, whole=whole):
        last = (
            f"last start-up {row(one.last)[0]} by {one.last.person}, {one.last.verdict}"
            + (", from paper" if one.last.kind == "late" else "")
            if one.last
            else "nothing released yet"
            if one.held
            else "never started"
        )
        said = [f"{_state(one, now)}; {last}."]
        said += [_open_now(one.draft)] if one.draft is not None else []
        said += [f"STOP at the next start: {item}" for item in one.overdue]
        said += [f"Stands: {fault}" for fault in one.faults]
        said += map(_mistyped, one.mistyped)
        said += [f"Held {row(held)[0]} by {held.person}: {held.about}" for held in one.held]
        said += [f"Override {row(given)[0]} by {given.person}: {given.about}" for given in one.overrides]
        said += [f"Belts on: {'; '.join(map(_belt, one.belts))}."] if one.belts else []
        said += [f"Due: {item}" for item in one.due]
        said += [f"Drift: {drift}" for drift in one.drifts]
        said += [
            f"Counts for nothing: record {other.sequence}, {other.kind} by {other.person}. {other.why}"
            for other in one.strangers[:NEWEST]
        ]
        if (more := len(one.strangers) - NEWEST) > 0:
            said.append(f"And {more} more records of the last month that count for nothing: preflight audit list")
        said += [] if whole else ["Drifts are being looked up."]
        made.append(Section(one.name, tuple(said)))
    return made


def nothing(connection: sqlite3.Connection, view: str, why: str = NOTHING) -> list[Section]:
    """What a view says while there is no record at all; else nothing."""
    return [] if count(connection) else [Section("Records", (f"{why} {COMING[view]} will stand here.",))]


def _open_now(draft: OpenDraft) -> str:
    """Who has the machine's start-up open."""
    holder = draft.holder
    by = f" by {holder.who}" if holder.who != UNNAMED else ""
    newest = f", the newest at {draft.newest.astimezone():%H:%M}" if draft.newest else ""
    count = f"{draft.answers} answer{'s' * (draft.answers > 1)}" if draft.answers else "nothing answered yet"
    return f"Open now on {holder.host}{by} since {holder.since}: {count}{newest}."


def _mistyped(one: CalledMistyped) -> str:
    """A stop called mistyped, by whom it was released, and who signed beside."""
    beside = f", {', '.join(other.person for other in one.beside)} signed beside" if one.beside else ""
    by = f"record {one.record.sequence} by {one.record.person}{beside}"
    return f"Called mistyped: {one.statement} {row(one.record)[0]}, {by}. Sign beneath it once you have read it."


def _belt(belt: Belt) -> str:
    more = ", ".join(text for text in (belt.backing, belt.grit) if text)
    return f"head {belt.head} {belt.card}{f' ({more})' if more else ''}"


def list_section(rows: Sequence[Listed], total: int, names: dict[str, str]) -> Section:
    """A page of records."""
    shown = tuple(row(one, names.get(one.machine, "")) for one in rows)
    return Section("Records", (f"{len(rows)} of {total} records, newest first.",), ROW_NAMES, shown)


def flag_section(
    flags: Sequence[Flag], names: Mapping[str, str], refs: Mapping[str, str] | None = None, title: str = WORTH
) -> Section:
    """The flags with their tests. Newest records are written with `refs`, so that `audit show` takes them."""
    rows = tuple(
        (
            one.pattern,
            one.person or "all",
            names.get(one.machine, one.machine) or "all",
            one.statement,
            f"{one.test}. Honest data raise it for {one.honest}." if one.honest else f"{one.test}.",
            str(one.sample),
            said_chance(one.chance),
            _newest(one, refs or names),
        )
        for one in flags
    )
    header = ("pattern", "who", "machine", "seen", "test", "sample", "chance", "newest records")
    number = f"{len(flags)} flag{'s' * (len(flags) != 1)}."
    return Section(title, (REMARK, number), header, rows)


def flag_sections(
    flags: Sequence[Flag], machine: str, names: Mapping[str, str], refs: Mapping[str, str]
) -> list[Section]:
    """The flags; of one machine its own, and under a heading that says so those of people over the whole shop."""
    own = [one for one in flags if machine in ("", one.machine)]
    whole = [one for one in flags if machine not in ("", one.machine)]
    made = [flag_section(own, names, refs)]
    return [*made, flag_section(whole, names, refs, f"{WORTH}: whole shop, all machines")] if whole else made


def _newest(one: Flag, names: Mapping[str, str]) -> str:
    """Its newest records as `audit show` takes them, and how many more there are."""
    shown = one.records[-NEWEST:]
    said = "; ".join(f"{names.get(machine, machine)}/{number}" for machine, number in shown)
    more = len(one.records) - len(shown)
    return f"{said}; and {more} more" if more else said


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
    names, refs = machine_names(shop), machine_refs(shop)
    flags, shifts = patterns(connection, rules, since, until, machine)
    made = [count_section(connection, since, until, names, machine)]
    made += shift_sections(shifts, names, names.get(machine, machine))
    made += flag_sections(flags, machine, names, refs)
    for of in [machine] if machine else distinct(connection, "machine"):
        made += trend_sections(connection, of, names.get(of, of), rules, since, until, drifting=not machine)
    made += account_sections(connection, since, until, names, machine, rules.prices)
    made += _kind_sections(connection, Filter(machine, since=since, until=until), names)
    if others := strangers(connection, machine, since):
        listed = tuple(row(one, names.get(one.machine, "")) for one in others if one.at < until)
        made.append(Section("Records that count for nothing", (STRANGERS,), ROW_NAMES, listed))
    broken = unread(connection)
    if broken:
        rows_ = tuple((names.get(of, of), str(number), why) for of, number, why in broken)
        made.append(Section("Files that cannot be read", (), ("machine", "number", "why"), rows_))
    return made


def _kind_sections(connection: sqlite3.Connection, of: Filter, names: dict[str, str]) -> Iterator[Section]:
    """What was held, overridden, repaired and typed in late, a table each."""
    for title, kind in (("Held", "held"), ("Overrides", "override"), ("Repairs", "repair"), ("Late entries", "late")):
        only = replace(of, kind=kind)
        rows = page(connection, only, rows=MOST)
        if rows:
            more = count(connection, only) - len(rows)
            said = (f"{more} more are not shown.",) if more else ()
            listed = (ROW_NAMES, *(row(one, names.get(one.machine, "")) for one in rows))
            header, *cells = ((*line[:KIND], *line[KIND + 1 :]) for line in listed)
            yield Section(title, said, header, tuple(cells))


def period_title(since: int, until: int, name: str = "", *, first: int | None = None, asked: bool = True) -> str:
    """The heading of a period's report; it begins at the `first` record. Not `asked`: the default, which is said."""
    begins = max(since, first) if first is not None else since
    notes = ["from the first record"] if begins > since else []
    notes += [] if asked else [f"default: {LOOK_BACK // 86400} days back"]
    said = f" ({'; '.join(notes)})" if notes else ""
    return f"Start-up checks {day(begins)} to {day(until - 1)}{said}{f', {name}' if name else ''}"
