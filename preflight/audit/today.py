"""What a lead acts on today: each machine's last start-up, stops that stand, held records, overrides, drifts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.audit.queries import Filter, Listed, distinct, page
from preflight.audit.trends import trends
from preflight.checklist.past import past
from preflight.checks.condition.due_items import items_due
from preflight.errors import PreflightError
from preflight.sheet import SetupSheet
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    import sqlite3
    from pathlib import Path

    from preflight.audit.rules import Rules

HELD_OPEN = 14 * 86400
"""A held record older than this is history."""


@dataclass(frozen=True, slots=True)
class MachineToday:
    """One machine."""

    machine: str
    name: str
    last: Listed | None
    """Newest released start-up."""
    checked: bool
    """Whether that is of today."""
    held: tuple[Listed, ...]
    """Held records since it."""
    faults: tuple[str, ...]
    """Stops without override that no repair has cleared yet."""
    due: tuple[str, ...]
    """Items that are due."""
    overrides: tuple[Listed, ...]
    """Overrides of the last month."""
    drifts: tuple[str, ...]


def machine_names(shop: Path) -> dict[str, str]:
    """Printed name of each machine by its id; profiles that cannot be read are left out."""
    around = shop_at(shop)
    names: dict[str, str] = {}
    for ref in around.ids(Machine):
        try:
            profile = around.load(Machine, ref).value
        except PreflightError:
            continue
        names.setdefault(profile.id, profile.name)
    return names


def today(
    connection: sqlite3.Connection, shop: Path, rules: Rules, now: datetime, *, whole: bool = True
) -> list[MachineToday]:
    """Every machine with records. Not `whole`: what the index says at once, without stops that stand, due, drifts."""
    names = machine_names(shop)
    return [
        _machine(connection, shop, machine, names.get(machine, machine), rules, now, whole)
        for machine in distinct(connection, "machine")
        if machine in names
    ]


def _machine(
    connection: sqlite3.Connection, shop: Path, machine: str, name: str, rules: Rules, now: datetime, whole: bool
) -> MachineToday:
    at = int(now.timestamp())
    last = next(iter(page(connection, Filter(machine=machine, kind="startup"), rows=1)), None)
    since = max(last.at if last else 0, at - HELD_OPEN)
    held = page(connection, Filter(machine=machine, kind="held", since=since), rows=20)
    overrides = page(connection, Filter(machine=machine, kind="override", since=at - 31 * 86400), rows=20)
    before = past(shop, machine).history() if whole else None
    return MachineToday(
        machine,
        name,
        last,
        last is not None and datetime.fromisoformat(last.local).date() == now.date(),
        tuple(held),
        tuple(f"{stop.check}, {stop.subject}: {stop.statement}" for stop in (before.open_stops if before else ())),
        tuple(_due(shop, machine, before, now) if before else ()),
        tuple(overrides),
        tuple(
            f"{one.series}: {one.statement}"
            for one in (trends(connection, machine, rules) if whole else ())
            if one.alarm
        ),
    )


def _due(shop: Path, machine: str, before: Any, now: datetime) -> list[str]:
    around = shop_at(shop)
    for ref in around.ids(Machine):
        try:
            profile = around.load(Machine, ref).value
        except PreflightError:
            continue
        if profile.id == machine:
            bare = SetupSheet.model_validate({"schema": 1, "machine": ref, "at": now})
            return [f"{one.item} ({one.counted})" for one in items_due(bare, profile, before) if one.used >= 1]
    return []
