"""Tension against this machine's earlier records: a step since last time, or a slow creep over many start-ups."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from preflight.checks.belts.belt_change import card_id
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, verdict_of
from preflight.quantities import Kind, QuantityError, computed, parse
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from preflight.history import History
    from preflight.quantities import Quantity
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine

ACTIONS = ("regulator was turned on purpose", "read again, the same", "lead told")


def drifts(
    sheet: SetupSheet, machine: Machine, head_id: str, reading: Quantity, history: History | None
) -> list[Finding]:
    """Against the newest start-up with this very belt, then against the oldest of the last ten; none without one."""
    on = sheet.belt_on(head_id)
    before = earlier(history, head_id, card_id(on.card)) if on is not None and on.card is not None else []
    if not before:
        return []
    found = [_step(machine, head_id, reading, before[-1][1])]
    first, then = before[0]
    crept = abs(reading.value - then.value)
    if found[0].verdict is Verdict.OK and verdict_of(crept, defaults.TENSION_DRIFT)[0] is not Verdict.OK:
        found.append(_creep(machine, head_id, reading, then, first, len(before)))
    return found


def earlier(history: History | None, head_id: str, card: str) -> list[tuple[datetime | None, Quantity]]:
    """Gauge of a head at the last start-ups with that belt on, oldest first."""
    found: list[tuple[datetime | None, Quantity]] = []
    for sheet, when in zip_longest(history.sheets, history.times) if history is not None else ():
        cards = {on.get("head"): card_id(on.get("card")) for on in sheet.get("belts", ())}
        text = _gauge_text(sheet.get("tension", {}), head_id)
        if cards.get(head_id) != card or text is None:
            continue
        try:
            found.append((when, parse(text, Kind.PRESSURE)))
        except QuantityError:  # a record of another layout: no baseline
            continue
    return found[-defaults.TENSION_CREEP :]


def _gauge_text(table: Mapping[str, Any], head_id: str) -> str | None:
    text = table.get(head_id, table.get("gauge", {}).get(head_id))
    return text if isinstance(text, str) else None


def _step(machine: Machine, head_id: str, reading: Quantity, before: Quantity) -> Finding:
    by = Basis(defaults.TENSION_DRIFT, "default tension drift", defaults.TENSION_DRIFT.source)
    moved = computed(abs(reading.value - before.value), Kind.PRESSURE, machine.units)
    way = "up" if reading.value > before.value else "down"
    verdict = verdict_of(moved.value, by.limit)[0]
    statement = f"Tension of head {head_id} has moved {way} {moved.text} since the last start-up with this belt"
    return Finding(
        f"head {head_id} drift",
        verdict,
        f"{statement} ({before.text})." if moved.value else f"Tension of head {head_id} is as last time.",
        "Find out why: regulator turned, air leak, gauge sticking? Tap the gauge and read again." if verdict else "",
        measured=moved,
        basis=by.field,
        source=by.source,
        workings=f"drift = today - last time with this belt = {reading.text} - {before.text}",
        actions=ACTIONS if verdict else (),
    )


def _creep(
    machine: Machine, head_id: str, reading: Quantity, then: Quantity, since: datetime | None, count: int
) -> Finding:
    """Small steps one way, none of which asked for care by itself."""
    crept = computed(abs(reading.value - then.value), Kind.PRESSURE, machine.units)
    way = "up" if reading.value > then.value else "down"
    day = f", since {since:%Y-%m-%d}" if since is not None else ""
    return Finding(
        f"head {head_id} creep",
        Verdict.CAUTION,
        f"Tension of head {head_id} has crept {way} {crept.text} over {count} start-ups{day} ({then.text}).",
        "Small steps each day: a leak, a tired regulator, or everyone adds a little. Set it to the middle of its band.",
        measured=crept,
        basis="default tension drift",
        source=defaults.TENSION_DRIFT.source,
        workings=f"creep = today - first of the last {count} with this belt = {reading.text} - {then.text}",
        actions=("leak looked for", *ACTIONS[1:]),
    )
