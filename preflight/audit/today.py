"""What a lead acts on today: each machine's last start-up, who has it open, stops that stand, belts, due, drifts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from operator import attrgetter
from typing import TYPE_CHECKING

from preflight.audit.mistyped import called_mistyped
from preflight.audit.outlines import outlined
from preflight.audit.period import LOOK_BACK
from preflight.audit.queries import Filter, Listed, belts_on, distinct, page, strangers
from preflight.audit.trends import trends
from preflight.checklist.open_draft import open_draft
from preflight.checks.condition.due_items import items_due
from preflight.checks.condition.due_today import stops
from preflight.sheet import SetupSheet
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    import sqlite3
    from pathlib import Path

    from preflight.audit.mistyped import CalledMistyped
    from preflight.audit.queries import Belt
    from preflight.audit.rules import Rules
    from preflight.checklist.open_draft import OpenDraft
    from preflight.history import DueItem, History

STARTED = ("startup", "late")
"""Kinds of record that say a machine was started: on the screen, or on paper and typed in later."""
HELD_OPEN = 14 * 86400
"""A held record older than this is history."""


@dataclass(frozen=True, slots=True)
class MachineToday:
    """One machine."""

    machine: str
    name: str
    last: Listed | None
    """Newest released start-up, or one from paper."""
    checked: bool
    """Whether that is of today."""
    draft: OpenDraft | None
    """The start-up that a terminal has open now."""
    held: tuple[Listed, ...]
    """Held records since it."""
    faults: tuple[str, ...]
    """Stops without override that no repair has cleared yet."""
    mistyped: tuple[CalledMistyped, ...]
    """Stops called mistyped at start-ups of the last two weeks, that no lead has read yet."""
    belts: tuple[Belt, ...]
    """As of the newest start-up."""
    due: tuple[str, ...]
    """Items that are due and stop nothing."""
    overdue: tuple[str, ...]
    """Safety items so far over that the next start-up stops at them."""
    overrides: tuple[Listed, ...]
    """Overrides of the last month."""
    drifts: tuple[str, ...]
    strangers: tuple[Listed, ...] = ()
    """Records of the last month that count for nothing."""


def machine_names(shop: Path) -> dict[str, str]:
    """Printed name of each machine by its id; profiles that cannot be read are left out."""
    return {machine.id: machine.name for machine in _profiles(shop)}


def _profiles(shop: Path) -> list[Machine]:
    """Every machine of the shop; profiles that cannot be read are left out."""
    usable, _ = shop_at(shop).every(Machine)
    return [file.value for file in usable.values()]


def today(
    connection: sqlite3.Connection, shop: Path, rules: Rules, now: datetime, *, whole: bool = True
) -> list[MachineToday]:
    """Every machine of the shop by its name, those without a record last. Not `whole`: without drifts."""
    recorded = distinct(connection, "machine")
    known = sorted(_profiles(shop), key=lambda one: (one.id not in recorded, one.name))
    return [_machine(connection, shop, profile, rules, now, whole) for profile in known]


def _machine(
    connection: sqlite3.Connection, shop: Path, profile: Machine, rules: Rules, now: datetime, whole: bool
) -> MachineToday:
    machine, at = profile.id, int(now.timestamp())
    newest = [one for kind in STARTED for one in page(connection, Filter(machine=machine, kind=kind), rows=1)]
    last = max(newest, key=attrgetter("at"), default=None)
    since = max(last.at if last else 0, at - HELD_OPEN)
    held = page(connection, Filter(machine=machine, kind="held", since=since), rows=20)
    overrides = page(connection, Filter(machine=machine, kind="override", since=at - 31 * 86400), rows=20)
    history = outlined(connection, machine).history()
    due = _due(profile, history, now)
    drifts = trends(connection, machine, rules, at - LOOK_BACK) if whole else []
    return MachineToday(
        machine,
        profile.name,
        last,
        last is not None and datetime.fromisoformat(last.local).date() == now.date(),
        open_draft(shop, machine),
        tuple(held),
        tuple(f"{stop.check}, {stop.subject}: {stop.statement}" for stop in history.open_stops),
        tuple(one for one in called_mistyped(connection, machine, at - HELD_OPEN) if not one.settled),
        tuple(belts_on(connection, machine)),
        tuple(_said(one) for one in due if not stops(one)),
        tuple(_said(one) for one in due if stops(one)),
        tuple(overrides),
        tuple(f"{one.series}: {one.statement}" for one in drifts if one.alarm),
        tuple(strangers(connection, machine, at - 31 * 86400)),
    )


def _due(profile: Machine, history: History, now: datetime) -> list[DueItem]:
    bare = SetupSheet.model_validate({"schema": 1, "machine": profile.id, "at": now})
    return [one for one in items_due(bare, profile, history) if one.used >= 1]


def _said(item: DueItem) -> str:
    return f"{item.item} ({item.counted})"
