"""What a painted widget shows, as data: lines of (text, role) spans, and the few text operations they need.

No Textual here, so that every line on the screen comes from a pure function that a test can call.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.cells import cell_len, chop_cells, set_cell_size

ROLES = (
    "text", "dim", "strong", "title", "rule", "key", "value", "field", "current", "bar", "panel",
    "ok", "caution", "open", "stop", "badge",
    "danger", "warning", "notice",
    "wood", "metal", "air", "mark",
)  # fmt: skip
"""What a span or a picture's cell is; a theme gives each its colours. Several may be joined: "current ok"."""

Span = tuple[str, str]
"""Text and its role. A picture's cell is a span of one character."""
Line = Sequence[Span]
Picture = Sequence[Line]
"""Rows of cells or spans, top row first."""


def clip(text: str, width: int, ellipsis: str = "…") -> str:
    """The text, or as much of it as fits with the ellipsis."""
    if cell_len(text) <= width:
        return text
    return str(set_cell_size(text, max(0, width - 1))).rstrip() + ellipsis if width > 0 else ""


def fit(text: str, width: int, ellipsis: str = "…") -> str:
    """The text in exactly `width` cells: clipped, or filled with blanks."""
    return str(set_cell_size(clip(text, width, ellipsis), max(0, width)))


def wrap(text: str, width: int) -> list[str]:
    """The text in lines of at most `width` cells, broken at blanks; a longer word is broken anywhere."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        for part in chop_cells(word, max(1, width)):
            longer = f"{line} {part}" if line else part
            if cell_len(longer) <= width:
                line = longer
            else:
                lines.append(line)
                line = part
    return [*lines, line] if line else lines


def wrap_into(text: str, width: int, rows: int, ellipsis: str = "…") -> list[str]:
    """The text in at most `rows` lines; what does not fit ends in the ellipsis."""
    lines = wrap(text, width)
    if len(lines) <= rows:
        return lines
    kept = lines[:rows]
    if kept:
        kept[-1] = clip(kept[-1], width - 1, "") + ellipsis
    return kept


def width_of(line: Iterable[Span]) -> int:
    """Cells that a line takes."""
    return sum(cell_len(text) for text, _ in line)


def filled(line: Iterable[Span], width: int, role: str = "text") -> list[Span]:
    """The line cut or filled to exactly `width` cells."""
    out: list[Span] = []
    room = width
    for text, span_role in line:
        taken = cell_len(text)
        if taken > room:
            out.append((str(set_cell_size(text, room)), span_role))
            return out
        out.append((text, span_role))
        room -= taken
    if room:
        out.append((" " * room, role))
    return out


def spread(left: Iterable[Span], right: Iterable[Span], width: int, role: str = "text") -> list[Span]:
    """Left part, blanks, right part, in exactly `width` cells; the left part gives way."""
    ending = list(right)
    beginning = filled(left, max(0, width - width_of(ending)), role)
    return filled([*beginning, *ending], width, role)


def under(line: Iterable[Span], role: str) -> list[Span]:
    """The line with another role joined to each span, such as the current row's ground."""
    return [(text, f"{span_role} {role}") for text, span_role in line]
