"""Sections and lists of the audit as painted lines. No Textual here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.chart import bar, bar_lines, picture
from preflight.audit.report import table_lines
from preflight.audit.words import row
from preflight.tui.painting import clip, fit, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.audit.queries import Listed
    from preflight.audit.sections import Section
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line

CHART_ROWS = 11
MARKED = {
    "ALARM:": "stop",
    "Checked today": "ok",
    "NOT checked today": "caution",
    "HELD today, not released": "stop",
    "STOP at the next start:": "stop",
    "Stands:": "stop",
    "Called mistyped:": "caution",
    "Held": "stop",
    "Override": "caution",
    "Due:": "caution",
    "stop:": "stop",
    "caution:": "caution",
    "open:": "open",
    "Drift:": "caution",
}
"""First words of sentences, and their role."""
MARK_OF = {"ok": 0, "caution": 1, "open": 2, "stop": 3}
MOST = (16, 18, 7, 11, 14, 9)
"""Columns of time, machine, number, kind, person and verdict; the rest is what the record is about."""
MACHINE = 1
NARROW = 80
"""Below it the machine is left out."""


def section_lines(sections: Sequence[Section], width: int) -> list[Line]:
    """Every section, wrapped to the width."""
    lines: list[Line] = []
    for place, one in enumerate(sections):
        if place:
            lines.append([("", "text")])
        lines.append([(clip(one.title, width), "title")])
        for sentence in one.sentences:
            said = wrap(sentence, width - 2)
            lines += [[(f"  {text}", "text")] if number else _marked(text) for number, text in enumerate(said)]
        if one.rows:
            lines += [[(text, "text")] for text in table_lines(one.names, one.rows, width)]
        for trend in one.trends:
            lines += picture(trend, width, CHART_ROWS)
        if one.bars:
            lines.append([("".join(bar(value, max(one.bars)) for value in one.bars), "wood")])
        lines += bar_lines(one.bar_rows, width)
    return lines


def _marked(text: str) -> Line:
    """A sentence with its first words in the colour of what they say."""
    first, role = next(((words, role) for words, role in MARKED.items() if text.startswith(words)), ("", "text"))
    return [(first, role), (text[len(first) :], "text")] if first else [(text, "text")]


def record_lines(rows: Sequence[Listed], names: dict[str, str], width: int, charset: Charset) -> list[Line]:
    """A page of records, one a line; its columns are as wide as what stands in them."""
    cells = [row(one, names.get(one.machine, "")) for one in rows]
    needed = [max((len(one[place]) for one in cells), default=0) for place in range(len(MOST))]
    widths = [min(most, need) for most, need in zip(MOST, needed, strict=True)]
    widths[-1] = MOST[-1]  # mark and word
    if width < NARROW:
        widths[MACHINE] = 0
    return [_record_line(one, widths, width, charset) for one in cells]


def _record_line(cells: Sequence[str], widths: Sequence[int], width: int, charset: Charset) -> Line:
    """Time, machine, number, kind, person, verdict as mark and word, what it is about."""
    when, machine, number, kind, person, verdict, about = cells
    mark = charset.marks[MARK_OF[verdict]] if verdict in MARK_OF else " "
    left = " ".join(
        fit(text, size, charset.ellipsis)
        for text, size in zip((when, machine, number, kind, person), widths, strict=False)
        if size
    )
    word = fit(f"{mark} {verdict}", widths[5])
    role = verdict if verdict in MARK_OF else "dim"
    room = max(0, width - len(left) - len(word) - 2)
    return [(left, "text"), (" ", "text"), (word, role), (" ", "text"), (clip(about, room, charset.ellipsis), "dim")]
