"""The audit's top and bottom line, for any width. No Textual here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.tui.painting import filled, spread, width_of, wrap

if TYPE_CHECKING:
    from preflight.tui.painting import Line, Span

Key = tuple[str, str, str]
KEYS: tuple[Key, ...] = (
    ("f2", "today", "today"),
    ("f3", "list", "records"),
    ("f4", "patterns", "patterns"),
    ("f7", "trends", "trends"),
    ("f8", "narrow", "narrow"),
    ("escape", "back", "back"),
)
"""Key, action and label, in the order of the footer."""
SIGN: Key = ("f8", "countersign", "countersign")
"""In place of "narrow" while a record is open."""
FIRST_TO_GO = ("trends", "patterns", "today")
"""Labels that a narrow terminal leaves out, the first one first; their keys go on working."""


def top_lines(view: str, narrowed: str, said: str, width: int) -> list[Line]:
    """The view and what it is narrowed to, with what is said beside it, or under it: a sentence is never cut."""
    left: list[Span] = [(f" records: {view} ", "strong"), (narrowed, "text")]
    if width_of(left) + len(said) < width:
        return [spread(left, [(said, "dim")], width)]
    return [filled(left, width), *(filled([(f" {text}", "text")], width) for text in wrap(said, width - 2))]


def foot_line(width: int, *, record: bool) -> Line:
    """The keys, as many as there is room for."""
    keys = [SIGN if action == "narrow" and record else (key, action, label) for key, action, label in KEYS]
    for gone in ("", *FIRST_TO_GO):
        keys = [one for one in keys if one[1] != gone]
        named = [("Esc" if key == "escape" else key.upper(), label) for key, _, label in keys]
        line: list[Span] = [part for key, label in named for part in ((f" {key}", "key"), (f" {label} ", "dim"))]
        if width_of(line) <= width + 1:  # the last one needs no blank behind it
            break
    return filled(line, width)
