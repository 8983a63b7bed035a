"""Station 3: the belt on each head, confirmed from its card, or measured once when it is new."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from preflight.checks.belts.belt_choice import belts_for
from preflight.checks.belts.belt_wash import is_dry
from preflight.checks.belts.check import LOOKS
from preflight.engine.abrasives import parse_grit
from preflight.quantities import Kind, show
from preflight.shop.cards import STORED
from preflight.shop.fields import BACKINGS, JOINTS
from preflight.tui.painting import fit as fit_text
from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.checks.belts.belt_choice import BeltFit
    from preflight.shop.cards import BeltCard
    from preflight.shop.limits import Limit
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run

NEW = "new belt"
ALL_SOUND = "all heads, all four in order"
CARD = (
    "", "card", "card twice", "length left", "length right", "cone", "width", "swing", "hours", "joint step", "store",
    "fused glue", "washed", "taped after washing", "washes", "dryness",
)  # fmt: skip
"""What the belt of a card is judged by, as in the findings' subjects."""


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
    fits = rack(run, view, head)
    choices = tuple(
        Choice(f"{fit.ref}  {fit.card.grit} {fit.card.backing}", (((*at, "head"), head.id), ((*at, "card"), fit.ref)))
        for fit in fits
    )
    chosen = next((fit for fit in fits if run.typed.get(f"{key}.card", "").startswith(f"{fit.ref}  ")), None)
    good = sum(fit.fits for fit in fits)
    new = Choice(NEW, (((*at, "head"), head.id), *(((*at, "card", name), value) for name, value in _blank(run, head))))
    asked = [
        Row(
            f"{key}.card",
            f"head {head.id} belt",
            choices=(*choices, new),
            hint=f"The number chalked on its back, or 'new belt'. {good} of {len(fits)} on the rack fit, these first.",
            note="" if chosen is None or chosen.fits else "does not fit here",
            subjects=_of_head(head.id, *CARD),
            fact=True,
        )
    ]
    if run.typed.get(f"{key}.card") == NEW:
        asked += _measured(view, index, head)
    asked += _weighed(chosen.card if chosen else None, index, head)
    asked.append(_looked(run, view.machine.heads, index))
    asked.append(_lowered(index, head))
    return asked


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
            Choice("edges, joint, arrow, no glue line", (((*at, "looked"), list(LOOKS)), ((*at, "arrow"), "with"))),
            Choice("runs against its arrow", (((*at, "looked"), ["edges", "joint"]), ((*at, "arrow"), "against"))),
            Choice("edge frayed, or joint lifting", (((*at, "looked"), ["arrow", "no glue line"]),)),
            Choice("glue line on it", (((*at, "looked"), ["edges", "joint", "arrow"]), ((*at, "arrow"), "with"))),
        ),
        hint="Gloves on, edge to edge, joint under your thumb, arrow, no glue line.",
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


def rack(run: Run, view: ShopView, head: Head) -> list[BeltFit]:
    """Belt cards of this head or of none, those that fit head and job first."""
    sheet = run.sheet
    job = view.job(sheet) if sheet is not None else None
    on = sheet.belt_on(head.id) if sheet is not None else None
    platen = on.platen if on is not None and on.platen is not None else "lifted"
    key = (id(view), head.id, id(job), platen)
    if _RACK.get("view") is not view:  # another shop, or its cards read anew
        _RACK.clear()
        _RACK["view"] = view
    if key not in _RACK:
        at = sheet.at if sheet is not None else datetime.fromisoformat(str(run.base["at"]))
        _RACK[key] = belts_for(own_cards(view, head), head, job, at, platen)
    found: list[BeltFit] = _RACK[key]
    return found


def own_cards(view: ShopView, head: Head) -> ShopView:
    """The view with the belt cards of this head, or of none."""
    return replace(view, belts={ref: card for ref, card in view.belts.items() if card.head in (None, head.id)})


_RACK: dict[Any, Any] = {}
"""Belts judged for the view in use: the rows are made several times a key, the cards change with the shop only."""


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
        ),
        length("length_right", "right edge", "Tape along the right edge.", head.belt_length),
        length("width", "width", "Across, at the joint and half-way round.", head.belt_width),
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


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """Each belt in its head's window: both edges' lengths and the width, the window drawn to one size."""
    view, sheet = run.view, run.sheet
    if view is None or sheet is None or width < 36:
        return []
    units = view.machine.units
    bars: list[tuple[float, Line]] = []
    for head in view.machine.heads:
        card = view.belt(sheet.belt_on(head.id))
        if card is None:
            continue
        for name, reading, limit in (
            ("left edge", card.length_left, head.belt_length),
            ("right edge", card.length_right, head.belt_length),
            ("width", card.width, head.belt_width),
        ):
            if reading is not None and limit.floor is not None and limit.ceiling is not None:
                label = f"{head.id} {name}"
                low, high = limit.floor, limit.ceiling
                off = abs(2 * reading.value - low - high) / (high - low) if high > low else 0.0
                bars.append((off, _in_window(label, reading.value, low, high, width, charset, units)))
    return _worst_first(bars, height)


def _worst_first(bars: list[tuple[float, Line]], height: int) -> Picture:
    """All bars where they fit; else those furthest from the middle of their window, the rest counted."""
    if len(bars) <= height:
        return [line for _, line in bars]
    order = sorted(range(len(bars)), key=lambda index: -bars[index][0])
    shown = sorted(order[: max(0, height - 1)])
    lines = [bars[index][1] for index in shown]
    inside = all(bars[index][0] <= 1 for index in order[max(0, height - 1) :])
    more = f"{len(bars) - len(shown)} more{', all inside' if inside else ''}"
    return [*lines, [(more, "dim")]][:height]


def _in_window(label: str, value: float, low: float, high: float, width: int, charset: Charset, units: str) -> Line:
    """The window fills the middle half; a belt beyond it is pinned to the edge."""
    text = f" {show(value, Kind.LENGTH, units)}"
    room = max(8, width - 13 - 11)
    reach = (high - low) / 2 or 1e-3
    start, stop = room // 4, room - room // 4
    cells = [
        (charset.inside if start <= x < stop else charset.outside, "ok" if start <= x < stop else "rule")
        for x in range(room)
    ]
    at = min(room - 1, max(0, round((value - low + reach) / (high - low + 2 * reach) * room - 0.5)))
    inside = low <= value <= high
    cells[at] = (charset.reading, "mark strong" if inside else "stop strong")
    return [(fit_text(label, 13), "text"), *cells, (fit_text(text, 11), "dim")]


def _grit(typed: str) -> str:
    return str(parse_grit(typed))
