"""Station 3: the belt on each head, confirmed from its card, or measured once when it is new."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from preflight.checks.belts.belt_wash import is_dry
from preflight.checks.belts.check import LOOKS
from preflight.engine.abrasives import parse_grit
from preflight.quantities import Kind
from preflight.shop.cards import STORED
from preflight.shop.fields import BACKINGS, JOINTS
from preflight.tui.rows import Choice, Row
from preflight.tui.stations.belt_picture import picture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.shop.cards import BeltCard
    from preflight.shop.limits import Limit
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView
    from preflight.tui.run import Run

__all__ = ["picture", "rows"]

NEW = "new belt"
ALL_SOUND = "all heads, all four good"
SOUND = "all four good"
CARD = (
    "", "card", "card twice", "length left", "length right", "cone", "width", "swing", "hours", "joint step", "store",
    "fused glue", "washed", "taped after washing", "washes", "dryness",
)  # fmt: skip
"""What the belt of a card is judged by, as in the findings' subjects."""
MEASURED = ("length left", "length right", "cone", "width", "joint step", "store")
"""What of it is answered by the rows of a new belt, and marks them instead of the card's."""


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
    fits = run.rack.belts(run, view, head)
    choices = tuple(
        Choice(f"{fit.ref}  {fit.card.grit} {fit.card.backing}", (((*at, "head"), head.id), ((*at, "card"), fit.ref)))
        for fit in fits
    )
    chosen = next((fit for fit in fits if run.typed.get(f"{key}.card", "").startswith(f"{fit.ref}  ")), None)
    good = sum(fit.fits for fit in fits)
    new = Choice(NEW, (((*at, "head"), head.id), *(((*at, "card", name), value) for name, value in _blank(run, head))))
    is_new = run.typed.get(f"{key}.card") == NEW
    asked = [
        Row(
            f"{key}.card",
            f"head {head.id} belt",
            choices=(*choices, new),
            hint=f"Its chalked number; {good} of {len(fits)} here fit, these first.",
            note="" if chosen is None or chosen.fits else "does not fit here",
            subjects=_of_head(head.id, *(name for name in CARD if not (is_new and name in MEASURED))),
            fact=True,
            renews=_looks_without(run, view.machine.heads, head),
        )
    ]
    if is_new:
        asked += _measured(view, index, head)
    asked += _weighed(chosen.card if chosen else None, index, head)
    asked.append(_looked(run, view.machine.heads, index))
    asked.append(_lowered(index, head))
    return asked


def _looks_without(run: Run, heads: Sequence[Head], head: Head) -> dict[str, str]:
    """The looks once another belt is on a head: its own is asked again, one for all heads goes on for the others."""
    rows = {one.id: f"belts.{one.id}.look" for one in heads}
    if run.typed.get(rows[heads[0].id]) != ALL_SOUND:
        return {rows[head.id]: ""}
    return {key: "" if one == head.id else run.typed.get(key, SOUND) for one, key in rows.items()} | (
        {rows[heads[0].id]: SOUND} if head.id != heads[0].id else {}
    )


def _looked(run: Run, heads: Sequence[Head], index: int) -> Row:
    """One look at a head's belt; the first head's row may answer for all, since all are looked at in one lock-off."""
    at, head = ("belts", index), heads[index]
    for_all = run.typed.get(f"belts.{heads[0].id}.look") == ALL_SOUND
    everything = tuple(
        write
        for number, one in enumerate(heads)
        for write in (
            (("belts", number, "head"), one.id),
            (("belts", number, "looked"), list(LOOKS)),
            (("belts", number, "arrow"), "with"),
        )
    )
    return Row(
        f"belts.{head.id}.look",
        "  looked at, locked off",
        choices=(
            *((Choice(ALL_SOUND, everything),) if index == 0 and len(heads) > 1 else ()),
            Choice(SOUND, (((*at, "looked"), list(LOOKS)), ((*at, "arrow"), "with"))),
            Choice("runs against its arrow", (((*at, "looked"), ["edges", "joint"]), ((*at, "arrow"), "against"))),
            Choice("edge or joint damaged", (((*at, "looked"), ["arrow", "no glue line"]),)),
            Choice("glue line on it", (((*at, "looked"), ["edges", "joint", "arrow"]), ((*at, "arrow"), "with"))),
        ),
        hint="Gloves on: edges, joint under your thumb, arrow, no glue line.",
        subjects=_of_head(head.id, "looks", "arrow"),
        optional=index > 0 and for_all,
        stands=f"with head {heads[0].id}" if index > 0 and for_all else "",
    )


def _lowered(index: int, head: Head) -> Row:
    """Whether the head cuts at all in this job; not carried over, so that a head left lifted is said anew."""
    at = ("belts", index)
    return Row(
        f"belts.{head.id}.lifted",
        "  head today",
        choices=tuple(
            Choice(word, (((*at, "head"), head.id), ((*at, "lifted"), lifted)))
            for word, lifted in (("lowered", False), ("lifted", True))
        ),
        hint="Lifted: it does not cut in this job, is switched off, and nothing is read on it.",
        stands="lowered",
        optional=True,
    )


def _of_head(head: str, *names: str) -> tuple[str, ...]:
    return tuple(f"head {head} {name}".rstrip() for name in names)


def _weighed(card: BeltCard | None, index: int, head: Head) -> list[Row]:
    """Two weighings of a washed belt whose card does not prove it dry: facts, so that they stand tomorrow."""
    if card is None or not card.washed or card.backing == "paper" or is_dry(card):
        return []
    at, key = ("belts", index, "weighed"), f"belts.{head.id}.weighed"
    subjects = _of_head(head.id, "dryness")
    gram = Kind.MASS.unit_in("metric")
    return [
        Row(f"{key}.first", f"  weighed first, {gram}", (*at, "first"), Kind.MASS, gram,
            hint="Hung a day or more after its wash, on a round peg: then weigh it.", subjects=subjects, fact=True),
        Row(f"{key}.hours", "  hours between", (*at, "hours_between"), Kind.HOURS, "h",
            hint="Four at the least.", subjects=subjects, fact=True),
        Row(f"{key}.second", f"  weighed again, {gram}", (*at, "second"), Kind.MASS, gram,
            hint="Ready when it agrees with the first within half a per cent.", subjects=subjects, fact=True),
    ]  # fmt: skip


def _blank(run: Run, head: Head) -> list[tuple[str, Any]]:
    mark = run.typed.get(f"belts.{head.id}.id", "").strip() or f"new-{head.id}"
    measured = date.fromisoformat(str(run.base["at"])[:10]) if "at" in run.base else None
    blank: list[tuple[str, Any]] = [("schema", 1), ("id", mark), ("head", head.id)]
    return [*blank, ("measured", measured)] if measured else blank


def _measured(view: ShopView, index: int, head: Head) -> list[Row]:
    at, key = ("belts", index, "card"), f"belts.{head.id}"
    unit = Kind.LENGTH.unit_in(view.machine.units)

    def length(name: str, label: str, hint: str, limit: Limit, *judged: str) -> Row:
        return Row(
            f"{key}.{name}",
            f"  {label}, {unit}",
            (*at, name),
            Kind.LENGTH,
            unit,
            hint=hint,
            band=limit,
            subjects=_of_head(head.id, *judged),
        )

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
            "Tape along the left edge, off the machine.",
            head.belt_length,
            "length left",
            "cone",
        ),
        length("length_right", "right edge", "Tape along the right edge.", head.belt_length, "length right", "cone"),
        length("width", "width", "Across, at the joint and half-way round.", head.belt_width, "width"),
        Row(
            f"{key}.joint_step",
            f"  joint step, {unit}",
            (*at, "joint_step"),
            Kind.LENGTH,
            unit,
            hint="Micrometer: thickness at the joint minus beside it. May stay empty.",
            subjects=_of_head(head.id, "joint step"),
            optional=True,
        ),
        Row(
            f"{key}.stored",
            "  kept before",
            choices=tuple(Choice(word, (((*at, "stored"), word),)) for word in STORED),
            hint="On a round peg in the shop's air; folded or flat leaves a crease that prints.",
            subjects=_of_head(head.id, "store"),
            optional=True,
        ),
    ]


def _grit(typed: str) -> str:
    return str(parse_grit(typed))
