"""How far each maintenance item of the profile is used up: hours, area or days since it was last done, from records."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from preflight.history import DueItem
from preflight.shop import defaults
from preflight.shop.machine import Due
from preflight.units import BY_SPELLING

if TYPE_CHECKING:
    from datetime import datetime

    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine

DAY: Final = timedelta(days=1)


def items_due(sheet: SetupSheet, machine: Machine, history: History | None) -> tuple[DueItem, ...]:
    """Every item of the profile, and what is always due, with its share used up; none without earlier records.

    An item that no record says was done counts from the first record. Items that the history already counts keep
    that count.
    """
    if history is None:
        return ()
    counted = {item.item for item in history.due}
    if not history.times:
        return history.due
    found = []
    named = {due.item for due in machine.due}
    always = [Due(item=item, every=every) for item, every in defaults.ALWAYS_DUE if item not in named]
    for due in (*machine.due, *always):
        if due.item not in counted:
            share, words = used(due, last_done(due.item, history), sheet.at, history)
            found.append(DueItem(due.item, share, due.safety, words))
    return (*history.due, *found)


def last_done(item: str, history: History) -> datetime:
    """When a record last said that the item was done; else the time of the first record."""
    times = (
        when
        for when, sheet in zip(history.times, history.sheets, strict=False)
        if item in sheet.get("condition", {}).get("done", ())
    )
    return max(times, default=history.times[0])


def used(due: Due, since: datetime, now: datetime, history: History) -> tuple[float, str]:
    """Share of the item's interval used between two times, above 1 overdue, and how it was counted.

    Area comes from run records alone: a start-up without one adds none.
    """
    amount, unit = due.every.split()
    if unit == "d":
        spent = (now - since) / DAY
    elif unit == "h":
        spent = seconds_of_use(since, now, history) / 3600
    else:
        spent = sum(run.area for run in history.runs if since < run.at <= now) / float(BY_SPELLING[unit].factor)
    every = float(amount)
    words = f"used = {spent:.0f} {unit} since {since:%Y-%m-%d} / {due.every} by the profile"
    return spent / every if every > 0 else 1.0, words


def seconds_of_use(since: datetime, now: datetime, history: History, *, only: datetime | None = None) -> float:
    """Seconds the machine ran between two times.

    What run records say; a start-up that none follows before the next counts up to that next one, at most a shift.
    """
    starts = [only] if only is not None else sorted(when for when in history.times if since <= when < now)
    total = sum(run.seconds for run in history.runs if since < run.at <= now)
    for start, following in pairwise((*starts, now)):
        if not any(start < run.at <= following for run in history.runs):
            total += min((following - start).total_seconds(), defaults.SHIFT.value)
    return total
