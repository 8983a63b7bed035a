"""Station 5, condition: what is seen with the machine locked off, and the maintenance that has come due."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.condition.condition_items import ITEM_KINDS, Item, items_of
from preflight.checks.condition.conveyor_dressing import dressing
from preflight.checks.condition.due_today import due_today
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, judged, missing
from preflight.quantities import Kind, QuantityError, parse
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.history import History
    from preflight.quantities import Quantity
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine
    from preflight.shop.view import ShopView


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Findings of the condition station: one a look, one a measured item, one a due item."""
    machine, looks = shop.machine, sheet.condition.looks
    found: list[Finding] = []
    items = items_of(machine)
    for item in items:
        answer, key = _answer_for(item, looks)
        found.append(_look(item, answer, key, machine))
    known = {item.key for item in items} | {item.kind.group for item in items} | {"all"}
    for key, answer in looks.items():
        if key in known:
            continue
        measured = _measured_item(key, machine)
        found.append(_look(measured, answer, key, machine) if measured else _unknown(key, items))
    found += dressing(sheet)
    found += due_today(sheet, machine, history)
    return found


def _answer_for(item: Item, looks: Mapping[str, str]) -> tuple[str | None, str]:
    """The item's own answer, else its group's ("drums"), else "all"; one answer may stand for many parts."""
    for key in (item.key, item.kind.group, "all"):
        answer = looks.get(key)
        if answer is not None:
            return answer, key
    return None, item.key


def _measured_item(key: str, machine: Machine) -> Item | None:
    """ "drum 1 run-out", "drum 2 hardness" and "platen cover 2 hours" are read only when due."""
    found = re.fullmatch(r"(drum|platen cover) (.+) (run-out|hardness|hours)", key)
    if found is None:
        return None
    head = machine.head(found[2])
    kind = ITEM_KINDS["drum" if found[1] == "drum" else "platen cover"]
    return Item(key, kind, head) if head is not None else None


def _unknown(key: str, items: list[Item]) -> Finding:
    known = ", ".join(item.key for item in items)
    return missing(
        key,
        f"{key[:40]!r} is no item of this machine's looks.",
        f"Known here: {known}."[:200],
        f"condition.looks.{key}",
    )


def _look(item: Item, answer: str | None, key: str, machine: Machine) -> Finding:
    kind, asks = item.kind, f"condition.looks.{item.key}"
    if answer is None:
        return missing(item.key, f"{item.name} is not looked at yet.", kind.look, asks)
    word = " ".join(answer.split()).casefold()
    fine = Finding(
        item.key,
        Verdict.OK,
        f"{item.name} is {word}.",
        measured=answer,
        allowed=kind.good,
        basis=f"condition.looks.{key}",
        source=defaults.PRACTICE,
    )
    if word in kind.good:
        return fine
    if word in kind.fair:
        statement = f"{item.name} is {word}: {kind.fair[word]}."
        return replace(fine, verdict=Verdict.CAUTION, statement=statement, remedy=kind.care, actions=kind.actions)
    if word in kind.bad:
        return replace(
            fine, verdict=Verdict.STOP, statement=f"{item.name} is {word}: {kind.bad[word]}.", remedy=kind.mend
        )
    if re.search(r"\d", word):
        return _reading(item, answer, machine)
    words = ", ".join((*kind.good, *kind.fair, *kind.bad))
    return missing(item.key, f"{item.name}: {answer[:30]!r} says too little.", f"Choose one of {words}.", asks)


def _reading(item: Item, answer: str, machine: Machine) -> Finding:
    """A measured quantity in place of a word: Shore A or run-out of a drum, hours of a cover, length of a crack."""
    units, asks = machine.units, f"condition.looks.{item.key}"
    problem = "no reading is known for it"
    for kind in item.kind.reads:
        try:
            reading = parse(answer, kind)
        except QuantityError as error:
            problem = str(error)
            continue
        by = _limit_for(item, reading, machine)
        if by is None:
            problem = "the profile names no value to hold it against"
            continue
        finding = judged(
            item.key,
            f"{item.name}, measured,",
            reading,
            by,
            units,
            too_low=item.kind.mend,
            too_high=item.kind.mend,
            near=item.kind.care,
            actions=item.kind.actions,
        )
        if finding.verdict is Verdict.STOP and kind is Kind.HOURS:  # wear is never a stop
            return replace(finding, verdict=Verdict.CAUTION, remedy=item.kind.care, actions=item.kind.actions)
        return finding
    return missing(item.key, f"{item.name}: {answer[:30]!r} is not usable.", problem[:200], asks)


def _limit_for(item: Item, reading: Quantity, machine: Machine) -> Basis | None:
    """The limit a reading of this item is held against, by what it measures."""
    head = item.head
    index = machine.heads.index(head) + 1 if head is not None else 0
    if reading.kind is Kind.HARDNESS and head is not None:
        nominal = head.hardness_shore_a
        if nominal is None:
            return None
        bounds = [max(0.0, nominal + way * defaults.HARDNESS_DRIFT) for way in (-1, 1)]
        low, high = (parse(f"{bound:g} Shore A", Kind.HARDNESS) for bound in bounds)
        return Basis(Limit(caution_low=low, caution_high=high), f"heads.{index}.hardness_shore_a", machine.source)
    if reading.kind is Kind.HOURS and head is not None:
        stated = head.platen.cover_hours if head.platen else None
        limit = stated or defaults.COVER_HOURS
        return Basis(limit, f"heads.{index}.platen.cover_hours", limit.source or machine.source)
    if reading.kind is Kind.LENGTH and item.kind.group == "drums":
        limit = defaults.RUN_OUT_FINISHING if head is machine.heads[-1] else defaults.RUN_OUT
        return Basis(limit, f"{item.key} run-out", limit.source)
    if reading.kind is Kind.LENGTH and item.kind.group == "conveyors":
        return Basis(defaults.CONVEYOR_CRACK, "conveyor crack", defaults.CONVEYOR_CRACK.source)
    return None
