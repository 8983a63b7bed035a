"""Text from outside, made harmless on every way out; the one door for terminal, messages, tables, pages and logs.

A name in a file, a record or an argument can hold characters that move the cursor, set the terminal's title, turn the
reading direction round or stand there unseen. They are shown as escapes here, so that what is read is what is there,
and `unfit` says why a name or a remark that holds one is not taken.
"""

from __future__ import annotations

import html
import re
import unicodedata
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

_BLANK = "\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180d\u180f\u2065\u3164\ufe00-\ufe0f\uffa0\U000e0100-\U000e01ef"
"""Letters and marks by their class, and yet nothing to see (Unicode's Default_Ignorable_Code_Point)."""
_MARKS = "\u0300-\u036f\u1ab0-\u1aff\u1dc0-\u1dff\u20d0-\u20ff\ufe20-\ufe2f"
"""Accents by themselves, which settle on the letter before them."""

_BLANK_LETTER = re.compile(f"[{_BLANK}]")
_STRAY_MARKS = re.compile(f"(?<![^\\s\"'])[{_MARKS}]+|(?<=[{_MARKS}][{_MARKS}])[{_MARKS}]+")
"""Accents without a letter, which settle on what stands before the text, and more than two on one, which pile up."""


def _spans(classes: str) -> Iterator[str]:
    """The characters of a pattern's class of single ones and ranges."""
    for first, last in re.findall("(.)(?:-(.))?", classes):
        yield from map(chr, range(ord(first), ord(last or first) + 1))


_LOOKED_AT = frozenset(_spans(_BLANK + _MARKS))

_NAMELESS = {"Cc": "a control character", "Cs": "a byte that is no text", "Co": "a character of private use"}
"""What Unicode has no name for."""

_SHORT = {"\n": "\\n", "\r": "\\r", "\t": "\\t"}

_LINE_END = "\n"

_FORMULA = tuple("=+-@\t\r\n＝＋－＠")
"""Beginnings of a cell that a spreadsheet would run; the wide forms count in some of them."""


def shown(text: str, keep: str = "") -> str:
    r"""The text with every character that cannot be seen written as an escape, but for those in `keep`.

    >>> shown("Bay two\x1b[2J")
    'Bay two\\x1b[2J'
    >>> shown("R. Onslow")
    'R. Onslow'
    """
    if is_plainly_seen(text):
        return text
    text = _STRAY_MARKS.sub(lambda marks: "".join(map(_escape, marks[0])), text)
    return "".join(one if one in keep or _is_seen(one) else _escape(one) for one in text)


def is_plainly_seen(text: str) -> bool:
    """Whether a quick look finds nothing to be shown as an escape; not so for a wide blank or an accent by itself."""
    if text.isascii():
        return text.isprintable()
    letters = set(text)  # of a long text a few dozen
    return "".join(letters).isprintable() and letters.isdisjoint(_LOOKED_AT)


def shown_in(value: Any) -> Any:
    """The same for every text and key in nested tables and lists; other values as they are."""
    if isinstance(value, str):
        return shown(value)
    if isinstance(value, dict):
        return {shown(key) if isinstance(key, str) else key: shown_in(item) for key, item in value.items()}
    if isinstance(value, list):
        return [shown_in(item) for item in value]
    return value


def joined(lines: Iterable[str]) -> str:
    """The lines as one text, each shown on one line, whatever it holds."""
    return _LINE_END.join(map(shown, lines))


def unfit(text: str) -> str:
    r"""Why a text that somebody types or a file states is not taken, as the end of a sentence; empty when it is.

    >>> unfit("Ash\u202etreads")
    'holds a character that cannot be seen: U+202E, right-to-left override, at place 4'
    """
    if is_plainly_seen(text):
        return ""
    stray = _STRAY_MARKS.search(text)
    for place, one in enumerate(text, 1):
        if not _is_seen(one) or (stray is not None and place == stray.start() + 1):
            name = unicodedata.name(one, "").lower() or _NAMELESS.get(unicodedata.category(one), "of no known kind")
            return f"holds a character that cannot be seen: U+{ord(one):04X}, {name}, at place {place}"
    return ""


def unfit_in(table: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Dotted key and `unfit` of every key and text in nested tables that is not taken. Never recurses."""
    waiting: list[tuple[str, Any]] = [("", table)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, str) and (why := unfit(value)):
            yield path, why
        elif isinstance(value, dict):
            for key, item in value.items():
                inner = f"{path}.{shown(key)}" if path else shown(key)
                if why := unfit(key):
                    yield inner, f"its name {why}"
                waiting.append((inner, item))
        elif isinstance(value, list):
            waiting += [(f"{path}.{place}", item) for place, item in enumerate(value, 1)]


def csv_cell(text: str) -> str:
    """One cell of a table for a spreadsheet: shown, and a text where it would be run as a formula.

    >>> [csv_cell(text) for text in ("=1+1", "@all", "4.2 bar")]
    ["'=1+1", "'@all", '4.2 bar']
    """
    return f"'{shown(text)}" if text.startswith(_FORMULA) else shown(text)


def as_html(text: str) -> str:
    """Text inside an element or a quoted attribute of a page."""
    return html.escape(shown(text))


class ShownStream:
    """A terminal's stream through which nothing but visible text and line ends goes.

    Stands in for standard output and error while a command runs, so that no `print` can forget the door.
    """

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        """The terminal's own."""

    def write(self, text: str) -> int:
        """As of a file; a carriage return is taken only before a line feed."""
        self.stream.write("\r\n".join(shown(part, keep=_LINE_END) for part in text.split("\r\n")))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)


def overwrite(stream: TextIO, text: str) -> None:
    """The text in place of the terminal's current line: for progress."""
    plain = stream.stream if isinstance(stream, ShownStream) else stream
    plain.write(f"\r{shown(text, keep=_LINE_END)}")
    plain.flush()


def _is_seen(character: str) -> bool:
    if _BLANK_LETTER.match(character):
        return False
    return character.isprintable() or unicodedata.category(character) == "Zs"


def _escape(character: str) -> str:
    code = ord(character)
    if character in _SHORT:
        return _SHORT[character]
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
