"""Marks, rules and bars: one set of Unicode characters, one of ASCII for consoles that lack the glyphs."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preflight.outside_text import shown

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.checks.finding import Verdict

_ASCII_FOR = str.maketrans({
    "–": "-", "—": "-", "−": "-", "×": "x", "·": ".", "…": "~", "‘": "'", "’": "'", "“": '"', "”": '"', "≤": "<",
    "≥": ">", "µ": "u", "μ": "u", "²": "2", "³": "3", "½": "h", "°": "o", "′": "'", "″": '"', "±": "~", "√": "v",
    "Σ": "S", "⌀": "d", "ä": "a", "ö": "o", "ü": "u", "é": "e", "è": "e", "ß": "s", "ø": "o", "å": "a",
})  # fmt: skip
"""One character for one, so that widths hold."""


@dataclass(frozen=True, slots=True)
class Charset:
    """The characters that the screens draw with."""

    name: str
    marks: tuple[str, str, str, str]
    """For ok, caution, open, stop: four shapes, told apart without colour."""
    pointer: str
    before: str
    after: str
    """Around a value that is chosen, not typed."""
    tick: str
    ellipsis: str
    dot: str
    """Between parts of one line."""
    horizontal: str
    vertical: str
    outside: str
    edge: str
    inside: str
    reading: str
    """The gauge: outside the band, inside near a bound, well inside, and the reading."""
    levels: str
    """Eight rising bar heights, lowest first."""
    table: Mapping[int, str] = field(default_factory=dict)

    def mark(self, verdict: Verdict) -> str:
        """The mark of a verdict."""
        return self.marks[verdict]

    def plain(self, text: str) -> str:
        """The text in characters of this set; every character keeps its place but those that cannot be seen, which
        become escapes."""
        text = shown(text)
        if self.name == "unicode" or text.isascii():
            return text
        swapped = text.translate(self.table)
        return "".join(character if character.isascii() else "?" for character in swapped)


UNICODE = Charset(
    "unicode", ("✓", "▲", "○", "✕"), "›", "‹ ", " ›", "•", "…", "·", "─", "│", "·", "▒", "█", "▼", "▁▂▃▄▅▆▇█"
)
ASCII = Charset(
    "ascii",
    ("+", "!", "?", "X"),
    ">",
    "< ",
    " >",
    "*",
    "~",
    "-",
    "-",
    "|",
    ".",
    "=",
    "#",
    "V",
    "__..-=##",
    _ASCII_FOR,
)


def charset(option: str, encoding: str) -> Charset:
    """The set asked for by `option` ("unicode", "ascii"); for "auto" the one that the terminal's encoding can write."""
    if option == "auto":
        option = "unicode" if encoding.lower().replace("-", "").startswith("utf") else "ascii"
    return ASCII if option == "ascii" else UNICODE
