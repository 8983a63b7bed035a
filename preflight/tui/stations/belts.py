"""Station 3: the belt on each head, confirmed from its card, or measured once when it is new."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from preflight.engine.abrasives import parse_grit
from preflight.quantities import Kind, show
from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from preflight.shop.limits import Limit
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView
    from preflight.tui.run import Run

NEW = "new belt"
LOOKS = ["edges", "joint", "arrow", "no glue line"]
BACKINGS = ("paper", "cloth light", "cloth X", "cloth heavier")
JOINTS = ("lap", "skived lap", "butt with tape")


def rows(run: Run) -> list[Row]:
    """Per head: which belt (a carried fact), and one look; a new belt is measured where it is named."""
    view = run.view
    if view is None:
        return []
    asked: list[Row] = []
    for index, head in enumerate(view.machine.heads):
        asked += _head(run, view, index, head)
    return asked


def _head(run: Run, view: ShopView, index: int, head: Head) -> list[Row]:
    at = ("belts", index)
    key = f"belts.{head.id}"
    cards = [(ref, card) for ref, card in sorted(view.belts.items()) if card.head in (None, head.id)]
    choices = tuple(
        Choice(f"{ref}  {card.grit} {card.backing}", (((*at, "head"), head.id), ((*at, "card"), ref)))
        for ref, card in cards
    )
    new = Choice(NEW, (((*at, "head"), head.id), *(((*at, "card", name), value) for name, value in _blank(run, head))))
    asked = [
        Row(
            f"{key}.card",
            f"head {head.id} belt",
            choices=(*choices, new),
            hint="The number chalked on its back; 'new belt' to measure one.",
            subjects=(f"head {head.id}", f"head {head.id} card"),
            fact=True,
        )
    ]
    if run.typed.get(f"{key}.card") == NEW:
        asked += _measured(view, index, head)
    asked.append(
        Row(
            f"{key}.look",
            "  looked at, locked off",
            choices=(
                Choice("edges, joint, arrow, no glue line", (((*at, "looked"), LOOKS), ((*at, "arrow"), "with"))),
                Choice("runs against its arrow", (((*at, "looked"), ["edges", "joint"]), ((*at, "arrow"), "against"))),
                Choice("edge frayed, or joint lifting", (((*at, "looked"), ["arrow", "no glue line"]),)),
                Choice("glue line on it", (((*at, "looked"), ["edges", "joint", "arrow"]), ((*at, "arrow"), "with"))),
            ),
            hint="Gloves on, edge to edge, joint under your thumb.",
            subjects=(f"head {head.id} look", f"head {head.id} arrow"),
        )
    )
    return asked


def _blank(run: Run, head: Head) -> list[tuple[str, Any]]:
    mark = run.typed.get(f"belts.{head.id}.id", "").strip() or f"new-{head.id}"
    measured = date.fromisoformat(str(run.base["at"])[:10]) if "at" in run.base else None
    blank: list[tuple[str, Any]] = [("schema", 1), ("id", mark), ("head", head.id)]
    return [*blank, ("measured", measured)] if measured else blank


def _measured(view: ShopView, index: int, head: Head) -> list[Row]:
    at, key = ("belts", index, "card"), f"belts.{head.id}"
    unit = Kind.LENGTH.unit_in(view.machine.units)

    def length(name: str, label: str, hint: str, limit: Limit) -> Row:
        return Row(
            f"{key}.{name}",
            f"  {label}, {unit}",
            (*at, name),
            Kind.LENGTH,
            unit,
            hint=hint,
            band=limit,
            subjects=(f"head {head.id} {label}", f"head {head.id} {name}"),
        )

    nominal = head.belt_length.high or head.belt_length.low
    return [
        Row(f"{key}.id", "  number to chalk on it", (*at, "id"), hint="As the card will be called, such as B-0413."),
        Row(
            f"{key}.grit",
            "  grit, with its letter",
            (*at, "grit"),
            reads=_grit,
            hint="As printed on the back: P120, or ANSI 120.",
        ),
        Row(
            f"{key}.backing",
            "  backing",
            choices=tuple(Choice(word, (((*at, "backing"), word),)) for word in BACKINGS),
            hint="Cloth frays when picked at the edge, paper tears.",
            subjects=(f"head {head.id} backing",),
        ),
        Row(
            f"{key}.joint",
            "  joint",
            choices=tuple(Choice(word, (((*at, "joint"), word),)) for word in JOINTS),
            hint="Lap: ends overlap. Butt: ends meet under a tape.",
        ),
        length(
            "length_left",
            "left edge",
            f"Tape along the left edge, off the machine; about {show(nominal.value, Kind.LENGTH, view.machine.units)}."
            if nominal
            else "Tape along the left edge.",
            head.belt_length,
        ),
        length("length_right", "right edge", "Tape along the right edge.", head.belt_length),
        length("width", "width", "Across, at the joint and half-way round.", head.belt_width),
    ]


def _grit(typed: str) -> str:
    return str(parse_grit(typed))
