"""Station 5: looks with the doors open and locked off, by the place where one stands; due items of today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.condition.condition_items import ITEM_KINDS, items_of
from preflight.checks.condition.due_today import item_of_the_day, shown
from preflight.engine.abrasives import parse_grit
from preflight.tui.rows import APPEND, Choice, Row

if TYPE_CHECKING:
    from preflight.checks.condition.condition_items import Item
    from preflight.tui.run import Run

NOT_ALL = "not all sound"
DRESSED = "dressed"


def rows(run: Run) -> list[Row]:
    """One answer a place when all is sound there; one an item when not."""
    view = run.view
    if view is None:
        return []
    items = items_of(view.machine)
    inside = [item for item in items if item.kind.group != "conveyors"]
    asked = _place(run, "condition.inside", "inside the doors", inside)
    asked += [_item(item) for item in items if item.kind.group == "conveyors"]
    asked += _dressing(run)
    due = shown(run.sheet, view.machine, run.history) if run.sheet is not None else []
    first = item_of_the_day(due)
    for today in [item for item in due if item.safety or item is first]:
        asked.append(
            Row(
                f"condition.due.{today.item}",
                f"due: {today.item}"[:26],
                choices=(Choice("done today", ((("condition", "done", APPEND), today.item),)), Choice("not today")),
                hint="A safety item: before the machine runs, locked off, by the machine book."
                if today.safety
                else "One due item a day; do it locked off, by the machine book.",
                subjects=(f"due {today.item}",),
            )
        )
    return asked


def _dressing(run: Run) -> list[Row]:
    """The steps of a conveyor that pulls badly: cleaned first; only then dressed, and never coarsely."""
    if run.typed.get("condition.conveyor", "") not in ITEM_KINDS["conveyor"].fair:
        return []
    at = ("condition", "dressing")
    asked = [
        Row(
            "condition.cleaned",
            "  cleaned, and then",
            choices=(Choice("the grip is back"), Choice(DRESSED), Choice("dressing asked for")),
            hint="Light spray of water-based cleaner, let it dwell, wipe dry: stopped and locked off.",
            optional=True,
        )
    ]
    if run.typed.get("condition.cleaned") != DRESSED:
        return asked
    return [
        *asked,
        Row(
            "condition.dressing.grit",
            "  dressed with grit",
            (*at, "grit"),
            reads=lambda typed: str(parse_grit(typed)),
            hint="120 or finer with its letter: P120. The lightest touch, only dust comes off.",
            subjects=("conveyor dressing",),
        ),
        Row(
            "condition.dressing.heads",
            "  the other heads",
            choices=tuple(Choice(word, (((*at, "other_heads"), word),)) for word in ("raised", "lowered")),
            hint="All heads but the one that dresses are raised.",
            subjects=("conveyor dressing",),
        ),
        Row(
            "condition.dressing.by",
            "  by whom",
            (*at, "by"),
            hint="Somebody competent, or a technician.",
            subjects=("conveyor dressing",),
        ),
    ]


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
        hint=_sentence(item.kind.look.removeprefix("Locked off: ")),
        subjects=(item.key,),
    )


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
