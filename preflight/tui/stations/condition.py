"""Station 5: looks with the doors open and locked off, by the place where one stands; due items of today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.condition_items import items_of
from preflight.checks.due_today import item_of_the_day
from preflight.tui.rows import APPEND, Choice, Row

if TYPE_CHECKING:
    from preflight.checks.condition_items import Item
    from preflight.tui.run import Run

NOT_ALL = "not all sound"


def rows(run: Run) -> list[Row]:
    """One answer a place when all is sound there; one an item when not."""
    view = run.view
    if view is None:
        return []
    items = items_of(view.machine)
    inside = [item for item in items if item.kind.group != "conveyors"]
    asked = _place(run, "condition.inside", "inside the doors", inside)
    asked += [_item(item) for item in items if item.kind.group == "conveyors"]
    today = item_of_the_day(run.history.due) if run.history else None
    if today is not None:
        asked.append(
            Row(
                f"condition.due.{today.item}",
                f"due: {today.item}"[:26],
                choices=(Choice("done today", ((("condition", "done", APPEND), today.item),)), Choice("not today")),
                hint="One due item a day; do it locked off, by the machine book.",
                subjects=(f"due {today.item}",),
            )
        )
    return asked


def _place(run: Run, key: str, label: str, items: list[Item]) -> list[Row]:
    sound = tuple((("condition", "looks", item.key), item.kind.good[0]) for item in items)
    names = ", ".join(dict.fromkeys(item.kind.group for item in items))
    asked = [
        Row(
            key,
            label,
            choices=(Choice("all sound", sound), Choice(NOT_ALL)),
            hint=f"{names.capitalize()}: lamp and bare fingertips, locked off.",
            subjects=tuple(item.key for item in items),
        )
    ]
    if run.typed.get(key) == NOT_ALL:
        asked += [_item(item, "  ") for item in items]
    return asked


def _item(item: Item, indent: str = "") -> Row:
    words = (*item.kind.good, *item.kind.fair, *item.kind.bad)
    return Row(
        f"condition.{item.key}",
        f"{indent}{item.key}",
        choices=tuple(Choice(word, ((("condition", "looks", item.key), word),)) for word in words),
        hint=item.kind.look.removeprefix("Locked off: "),
        subjects=(item.key,),
    )
