"""Sections and lists of the audit as painted lines. No Textual here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.chart import picture
from preflight.audit.report import bar, table_lines
from preflight.audit.words import row
from preflight.tui.painting import clip, fit, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.audit.queries import Listed
    from preflight.audit.sections import Section
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line

CHART_ROWS = 11
MARK_OF = {"ok": 0, "caution": 1, "open": 2, "stop": 3}
WIDTHS = (16, 16, 5, 8, 12, 9)
"""Of time, machine, number, kind, person and verdict; the rest is what the record is about."""
NARROW = (16, 0, 5, 8, 12, 9)


def section_lines(sections: Sequence[Section], width: int) -> list[Line]:
    """Every section, wrapped to the width."""
    lines: list[Line] = []
    for place, one in enumerate(sections):
        if place:
            lines.append([("", "text")])
        lines.append([(clip(one.title, width), "title")])
        for sentence in one.sentences:
            said = wrap(sentence, width - 2)
            lines += [[(f"  {text}" if number else text, "text")] for number, text in enumerate(said)]
        if one.rows:
            lines += [[(text, "text")] for text in table_lines(one.names, one.rows, width)]
        for trend in one.trends:
            lines += picture(trend, width, CHART_ROWS)
        if one.bars:
            lines.append([("".join(bar(value, max(one.bars)) for value in one.bars), "wood")])
    return lines


def record_line(one: Listed, names: dict[str, str], width: int, charset: Charset) -> Line:
    """One record on one line: verdict as mark and word, time, machine, number, kind, person, what it is about."""
    when, machine, number, kind, person, verdict, about = row(one, names.get(one.machine, ""))
    widths = WIDTHS if width >= 80 else NARROW
    mark = charset.marks[MARK_OF[verdict]] if verdict in MARK_OF else " "
    cells = [
        fit(text, size, charset.ellipsis)
        for text, size in zip((when, machine, number, kind, person), widths, strict=False)
        if size
    ]
    left = " ".join(cells)
    word = fit(f"{mark} {verdict}", widths[5])
    role = verdict if verdict in MARK_OF else "dim"
    room = max(0, width - len(left) - len(word) - 2)
    return [(left, "text"), (" ", "text"), (word, role), (" ", "text"), (clip(about, room, charset.ellipsis), "dim")]
