"""`preflight audit`: what all saved records say, as lines, CSV, JSON or one page. Changes no record."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from preflight import clock
from preflight.audit import queries, sections
from preflight.audit.machine_refs import did_you_mean, machine_id, machine_refs, profile_ref
from preflight.audit.paper_form import paper_form
from preflight.audit.patterns import patterns
from preflight.audit.period import LOOK_BACK
from preflight.audit.record_view import record_sections
from preflight.audit.report import as_csv, html_page, lines
from preflight.audit.rules import rules_of
from preflight.audit.shop_audit import ShopAudit
from preflight.audit.time_sections import CASE_NAMES, case_rows
from preflight.audit.today import machine_names
from preflight.audit.words import ROW_NAMES, row
from preflight.checklist.store import StoreError
from preflight.cli.shop_path import shop_path
from preflight.disk import write_named
from preflight.errors import PreflightError
from preflight.outside_text import joined, overwrite
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    import argparse
    import sqlite3
    from collections.abc import Sequence

    from preflight.audit.sections import Section

EVER = LOOK_BACK // 86400
"""Days that patterns, trends and reports look back by default."""
SHOWN, ALL = 50, -1
"""Records of a list without --rows: as text, and as CSV or JSON."""


def run(arguments: argparse.Namespace) -> int:
    """Do the part that was asked for. Raises `PreflightError`."""
    shop = shop_path(arguments.shop).needed
    if arguments.part == "form":
        profile = shop_at(shop).load(Machine, _required_machine(shop, arguments.machine)).value
        _write(arguments.html, paper_form(profile))
        return 0
    audit = ShopAudit(shop, Path(arguments.cache) if arguments.cache else None)
    try:
        bar = _bar if sys.stderr.isatty() else _no_bar
        anew, processes = arguments.part == "rebuild", getattr(arguments, "processes", None)
        done = audit.fill(bar, anew=anew, processes=processes)
        for notice in audit.notices:
            print(f"preflight: {notice}", file=sys.stderr)
        if anew:
            print(f"{done.added} records read into {audit.index.path}.")
            return 0
        plain = not any(getattr(arguments, form, None) for form in ("json", "csv", "html"))
        if plain and arguments.part in sections.COMING and arguments.part != "today":
            none = audit.ask(lambda c: sections.nothing(c, arguments.part))
            if none:
                _print(none)
                return 0
        return _PARTS[arguments.part](audit, arguments)
    finally:
        audit.close()


def _today(audit: ShopAudit, _arguments: argparse.Namespace) -> int:
    rules, now = rules_of(audit.shop), clock.now()
    _print(audit.ask(lambda c: [*sections.nothing(c, "today"), *sections.today_sections(c, audit.shop, rules, now)]))
    return 0


def _list(audit: ShopAudit, arguments: argparse.Namespace) -> int:
    since, until = _period(arguments, days=None)
    only = queries.Filter(
        machine_id(audit.shop, arguments.machine),
        _person(audit, arguments.person),
        arguments.verdict or "",
        arguments.kind or "",
        since or None,
        until,
        strangers=True,
    )
    after = None
    if arguments.after:
        machine, number = _reference(audit.shop, arguments.after)
        last = audit.ask(lambda c: queries.listed(c, machine, number))
        if last is None:
            raise StoreError(f"No record {arguments.after} here.", "List them with: preflight audit list")
        after = last.key
    if arguments.rows is not None and arguments.rows < 1:
        raise PreflightError(f"--rows {arguments.rows} lists nothing.", "Give a number above zero.")
    most = arguments.rows or (ALL if arguments.json or arguments.csv else SHOWN)
    rows = audit.ask(lambda c: queries.page(c, only, after=after, rows=most))
    names = machine_names(audit.shop)
    if arguments.json:
        total = audit.ask(lambda c: queries.count(c, only))
        print(json.dumps({"total": total, "records": [asdict(one) for one in rows]}, indent=2))
    elif arguments.csv:
        print(as_csv(ROW_NAMES, [row(one, names.get(one.machine, "")) for one in rows]), end="")
    else:
        _print([sections.list_section(rows, audit.ask(lambda c: queries.count(c, only)), names)])
    return 0


def _show(audit: ShopAudit, arguments: argparse.Namespace) -> int:
    machine, number = _reference(audit.shop, arguments.record)
    name = machine_names(audit.shop).get(machine, machine)
    made = audit.ask(lambda c: record_sections(c, audit.shop, machine, number, name, reveal=arguments.reveal))
    _out(arguments, f"{name}, record {number}", made)
    return 0


def _patterns(audit: ShopAudit, arguments: argparse.Namespace) -> int:
    since, until = _period(arguments)
    rules, names = rules_of(audit.shop), machine_names(audit.shop)
    flags, shifts = audit.ask(lambda c: patterns(c, rules, since, until))
    if arguments.json:
        document = {"flags": [asdict(flag) for flag in flags], "shifts": [asdict(shift) for shift in shifts]}
        print(json.dumps(document, indent=2))
    elif arguments.csv:
        print(as_csv(CASE_NAMES, case_rows(shifts, names)), end="")
    else:
        found = sections.flag_section(flags, names, machine_refs(audit.shop))
        _print([*sections.shift_sections(shifts, names), found])
    return 0


def _trends(audit: ShopAudit, arguments: argparse.Namespace) -> int:
    since, until = _period(arguments)
    rules, names = rules_of(audit.shop), machine_names(audit.shop)
    wanted = machine_id(audit.shop, arguments.machine)
    machines = [wanted] if wanted else audit.ask(lambda c: queries.distinct(c, "machine"))

    def asked(connection: sqlite3.Connection) -> list[Section]:
        drifting = arguments.drifting
        return [
            one
            for of in machines
            for one in sections.trend_sections(
                connection, of, names.get(of, of), rules, since, until, drifting=drifting
            )
        ]

    _print(audit.ask(asked))
    return 0


def _report(audit: ShopAudit, arguments: argparse.Namespace) -> int:
    since, until = _period(arguments)
    rules, machine = rules_of(audit.shop), machine_id(audit.shop, arguments.machine)
    made = audit.ask(lambda c: sections.period_sections(c, audit.shop, rules, since, until, machine))
    name = machine_names(audit.shop).get(machine, machine)
    first = audit.ask(lambda c: queries.first_at(c, machine))
    title = sections.period_title(since, until, name, first=first, asked=bool(arguments.since))
    _out(arguments, title, made)
    return 0


def _out(arguments: argparse.Namespace, title: str, made: Sequence[Section]) -> None:
    if arguments.html:
        _write(arguments.html, html_page(title, "Made from the saved records by preflight audit.", made))
    else:
        print(title)
        _print(made)


def _print(made: Sequence[Section]) -> None:
    print(joined(lines(made)))


def _write(target: str, text: str) -> None:
    if target == "-":
        print(text, end="")
        return
    try:
        write_named(Path(target), text.encode())
    except OSError as error:
        raise PreflightError(f"{target}: cannot be written: {error.strerror}.") from error
    print(f"{target} written.")


def _bar(done: int, total: int) -> None:
    if total:
        end = "\n" if done == total else ""
        overwrite(sys.stderr, f"Reading records {done} of {total} ({done / total:.0%}){end}")


def _no_bar(_done: int, _total: int) -> None:
    """Nobody watches."""


def _period(arguments: argparse.Namespace, days: int | None = EVER) -> tuple[int, int]:
    """First and last second of the period, UTC days; without `days` from the beginning."""
    until = _day(arguments.until, "--until") if arguments.until else clock.now().astimezone(UTC)
    end = until.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
    if arguments.since:
        since = _day(arguments.since, "--since")
        if since >= end:
            raise PreflightError(
                f"--since {arguments.since} is after --until {until:%Y-%m-%d}: no day lies between.",
                "Change one of them.",
            )
        return int(since.timestamp()), int(end.timestamp())
    return (int((end - timedelta(days=days)).timestamp()) if days else 0), int(end.timestamp())


def _day(text: str, option: str) -> datetime:
    try:
        return datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError as error:
        raise PreflightError(f"{option} {text!r} is no date.", "Write it as in 2026-11-01.") from error


def _person(audit: ShopAudit, name: str | None) -> str:
    """Somebody who signed a record; another name is an error, not an empty list."""
    if not name:
        return ""
    known = audit.ask(lambda c: queries.distinct(c, "person"))
    if name not in known:
        raise PreflightError(f"Nobody called {name!r} signed a record here.", did_you_mean(name, known))
    return name


def _required_machine(shop: Path, ref: str | None) -> str:
    known = shop_at(shop).ids(Machine)
    if ref:
        return profile_ref(shop, ref)
    if len(known) == 1:
        return known[0]
    raise PreflightError("Which machine?", f"Name one with --machine: {', '.join(known)}.")


def _reference(shop: Path, text: str) -> tuple[str, int]:
    machine, _, number = text.rpartition("/")
    if not machine or not number.isdecimal():
        raise PreflightError(f"{text!r} names no record.", 'Write machine and number, as in "hall-two/12".')
    return machine_id(shop, machine), int(number)


_PARTS = {"today": _today, "list": _list, "show": _show, "patterns": _patterns, "trends": _trends, "report": _report}
