"""A blank form for a power cut: the same questions on paper, typed in later as a late entry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.report import STYLE, html_table
from preflight.outside_text import as_html

if TYPE_CHECKING:
    from preflight.shop.machine import Machine

HEADS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("3 belts", ("head {}: belt card", "head {}: edges, joint, arrow, no glue line")),
    ("4 backing", ("head {}: backing, grit",)),
    ("6 tension", ("head {}: gauge, {unit}",)),
    ("10 running", ("head {}: seconds from stop to still", "head {}: tracking even?", "head {}: idle current, A")),
)
QUESTIONS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "1 stock",
        (
            "job",
            "thickest piece, {length}",
            "thinnest piece, {length}",
            "shortest piece, {length}",
            "metal found, pieces",
        ),
    ),
    ("2 glue", ("none / scraped / beads standing / smeared", "by whom")),
    ("3 belts", ()),
    ("4 backing", ()),
    ("5 condition", ("drum, platen cover, conveyor, tracking eye, dust inside", "due item done")),
    ("6 tension", ("air supply, {unit}",)),
    ("7 extraction", ("gates open", "hood static, {pressure}, where read", "filter drop, {pressure}", "bin, %")),
    ("8 removal", ("share a head, passes, feed speed",)),
    ("9 feed", ("places used",)),
    ("10 running", ("stop station tried", "stays still?", "limit bar stops the feed?")),
    ("11 test board", ("before, {length}", "left / centre / right, {length}", "surface in raking light")),
    ("sign", ("stopped or cautioned: what, who was told", "name, date, time, signature")),
)


def form_rows(machine: Machine) -> list[tuple[str, str, str, str]]:
    """Station, question, room for the answer and for the time, in the order of the run."""
    metric = machine.units == "metric"
    words = dict(
        zip(("unit", "length", "pressure"), ("bar", "mm", "Pa") if metric else ("psi", "in", "in wg"), strict=True)
    )
    per_head = dict(HEADS)
    made = []
    for station, questions in QUESTIONS:
        asked = [text.format(head.id, **words) for head in machine.heads for text in per_head.get(station, ())]
        made += [(station, text, "", "") for text in [*asked, *(text.format(**words) for text in questions)]]
    return made


def paper_form(machine: Machine) -> str:
    """The page; its answers are judged only when they are typed in."""
    table = html_table(("station", "question", "answer, as read", "time"), form_rows(machine), "blank")
    notes = (
        "For a power cut or a failed terminal. Lock off before hands go in; the machine book comes first. "
        "Nothing on this sheet has been judged: a lead decides whether the machine is started, and it is typed in "
        "afterwards as a late entry."
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>Start-up check on paper</title>'
        f"<style>{STYLE} .blank td:nth-child(3) {{ width: 34%; }} .blank td:nth-child(4) {{ width: 12%; }}"
        f"</style></head>\n<body><h1>Start-up check on paper: {as_html(machine.name)}</h1>"
        f"<p>{notes}</p>{table}</body></html>\n"
    )
