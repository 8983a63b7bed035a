"""Maintenance that has come due: one ordinary item a day, the most used up first; safety devices each in their time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.condition.due_items import items_due
from preflight.checks.finding import Finding, Verdict
from preflight.shop import defaults

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.history import DueItem, History
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine

ACTIONS = ("done today", "set down for tomorrow", "lead told")


def due_today(sheet: SetupSheet, machine: Machine, history: History | None) -> list[Finding]:
    """One finding for each item at `DUE_SHOWN` of its interval or beyond; none without earlier records."""
    due = shown(sheet, machine, history)
    due.sort(key=lambda item: (-item.used, item.item))
    done = set(sheet.condition.done)
    asked = item_of_the_day(due, done)
    return [_finding(item, item.item in done, asked) for item in due]


def shown(sheet: SetupSheet, machine: Machine, history: History | None) -> list[DueItem]:
    """Items at `DUE_SHOWN` of their interval or beyond."""
    return [item for item in items_due(sheet, machine, history) if item.used >= defaults.DUE_SHOWN]


def item_of_the_day(due: Iterable[DueItem], done: Iterable[str] = ()) -> DueItem | None:
    """The one ordinary item to do today: the most used up; None when one is done already or none is due."""
    ordinary = sorted((item for item in due if not item.safety), key=lambda item: (-item.used, item.item))
    if any(item.item in set(done) for item in ordinary):
        return None
    return ordinary[0] if ordinary else None


def stops(item: DueItem) -> bool:
    """Whether nobody may go on until it is done: a safety item at `DUE_STOPS` of its interval or beyond."""
    return item.safety and item.used >= defaults.DUE_STOPS


def _finding(item: DueItem, done: bool, asked: DueItem | None) -> Finding:
    share = f"{item.used:.0%} of its interval"
    verdict, remedy = Verdict.CAUTION, "Do it today, locked off, and enter it as done with what was read."
    takes_override = True
    if done:
        verdict, remedy, statement = Verdict.OK, "", f"Due item {item.item} is done today."
    elif stops(item):
        verdict, takes_override = Verdict.STOP, False
        statement = f"{_capital(item.item)}, a safety item, is at {share}: overdue and not proven."
        remedy = "Do it before the machine runs, by the machine book, and enter it as done. Nobody may go on past this."
    elif item.safety or item is asked or item.used >= defaults.DUE_STOPS:
        word = "overdue" if item.used > 1 else "due"
        statement = f"{_capital(item.item)} is {word}: {share} used up."
    else:
        verdict, remedy = Verdict.OK, ""
        statement = f"{_capital(item.item)} comes next ({share} used up); one item a day."
    return Finding(
        f"due {item.item}",
        verdict,
        statement,
        remedy,
        measured=f"{item.used:.0%}",
        basis=f"due {item.item}",
        source=defaults.PRACTICE,
        workings=item.counted,
        takes_override=takes_override,
        actions=ACTIONS if verdict is Verdict.CAUTION else (),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
