"""What is proven weekly rather than daily, and which of it is asked today: one a day, spread by the records.

Safety items are asked as soon as their week is over; of the others the one that has waited longest, so that a
start-up never grows by more than one; the air supply comes with the leak test. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from preflight.checks.belts.belt_change import other_belts
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine


@dataclass(frozen=True, slots=True)
class Weekly:
    """One thing proven weekly."""

    id: str
    read: Callable[[Mapping[str, Any]], bool]
    """Whether a sheet, as plain tables, holds its reading."""
    applies: Callable[[Machine], bool]
    safety: bool = False


def _board(key: str) -> Callable[[Mapping[str, Any]], bool]:
    return lambda sheet: any(row.get(key) for row in sheet.get("test_board", {}).get("readings", ()))


WEEKLY: Final = (
    Weekly("interlock", lambda sheet: bool(sheet.get("running", {}).get("interlock")), lambda _: True, safety=True),
    Weekly(
        "leak test",
        lambda sheet: bool(sheet.get("tension", {}).get("leak_fall")),
        lambda machine: any(head.tension or head.cylinder for head in machine.heads),
    ),
    Weekly(
        "air supply",
        lambda sheet: bool(sheet.get("tension", {}).get("supply")),
        lambda machine: machine.air.supply is not None,
    ),
    Weekly(
        "swing",
        lambda sheet: bool(sheet.get("running", {}).get("swing")),
        lambda machine: any(head.oscillation_stroke for head in machine.heads),
    ),
    Weekly("feed by stopwatch", lambda sheet: bool(sheet.get("running", {}).get("feed_timed")), lambda _: True),
    Weekly(
        "removal test",
        lambda sheet: bool(sheet.get("removal", {}).get("test")),
        lambda machine: len(machine.heads) > 1,
    ),
    Weekly("second pass", _board("second"), lambda _: True),
)


def asked_today(sheet: SetupSheet, machine: Machine, history: History | None) -> frozenset[str]:
    """Ids of `WEEKLY` that today's start-up asks for.

    By the calendar from the records before today; after an adjustment the removal test, after power or air was off
    the air supply and, with another belt on than at the start-up before, the second pass.
    """
    asked = set()
    if sheet.happened == "broke down" and len(machine.heads) > 1:
        asked.add("removal test")
    if sheet.happened == "power or air off" and machine.air.supply is not None:
        asked.add("air supply")
    if other_belts(sheet, history):
        asked.add("second pass")
    if history is None or not history.times:
        return frozenset(asked)
    waited = {
        one.id: days
        for one in WEEKLY
        if one.applies(machine) and (days := days_since(one, sheet, history)) >= defaults.WEEK_DAYS
    }
    asked |= {one.id for one in WEEKLY if one.safety and one.id in waited}
    ordinary = [one.id for one in WEEKLY if not one.safety and one.id in waited]
    if ordinary and not asked & {one.id for one in WEEKLY if not one.safety}:
        longest = max(ordinary, key=lambda id_: waited[id_])
        asked.add(longest)
        if longest == "leak test" and "air supply" in waited:
            asked.add("air supply")  # the gauge that the leak test is read on
    return frozenset(asked)


def days_since(one: Weekly, sheet: SetupSheet, history: History) -> int:
    """Days from the last start-up that held its reading to today; from the first record when none did."""
    return (sheet.at.date() - last_read(one, history).date()).days


def last_read(one: Weekly, history: History) -> datetime:
    """When it was last read; the time of the first record when it never was."""
    times = (when for when, sheet in zip(history.times, history.sheets, strict=False) if one.read(sheet))
    return max(times, default=history.times[0])
