"""Reading a body: the spelling in which `write_body` puts a document, and no other.

TOML has many spellings for one value, and two readers of one file can be led apart by them. A body is therefore a small
part of TOML, read here line by line; whatever else TOML allows is refused, not interpreted:

    body    = block, blank line, block, blank line, … block, line feed
    block   = [header] then lines `key = value`; only the first block may lack its header
    header  = `[a.b]` for a table, `[[a.b]]` for the next table of a list
    key     = letters, digits, `-`, `_`; any other key, and only such, in quotes
    value   = "text" | true | false | whole number | number | date and time | date | time | list
    list    = `[]`, or `[`, one value a line, four blanks deeper and with a comma, `]`; a value of a list is also a
              list or a table `{ key = value, key = value }`, in which a list is `[value, value]`
    "text"  = on one line, with the escapes \\" \\\\ \\b \\n \\f \\r, and \\u00xx for control characters that have none

Tables stand in the order of a walk from the root: all of one before the next begins. No comments, no dotted keys, no
other blanks. Each table has one header and each key stands once.
"""

from __future__ import annotations

import math
import re
from datetime import date, datetime, time
from typing import Any

from preflight.errors import PreflightError

INTEGERS = range(-(2**63), 2**63)
"""Whole numbers that TOML promises to keep."""
DEEPEST = 16
"""Parts of a header, and lists and tables inside each other; a record has five."""

_ESCAPES = {'"': '"', "\\": "\\", "b": "\b", "n": "\n", "f": "\f", "r": "\r"}
_PLAIN = r'[^"\\\x00-\x08\x0a-\x1f\x7f]'
_TEXT = rf'"(?:{_PLAIN}|\\["\\bnfr]|\\u00(?:0[0-7bef]|1[0-9a-f]|7f))*"'
_BARE = r"[A-Za-z0-9_-]+"
_KEY = rf"(?:{_BARE}|{_TEXT})"
_SCALAR = r"[-+0-9a-z:.]+(?: [-+0-9:.]+)?"

_SIMPLE_LINE = re.compile(rf'({_BARE}) = "({_PLAIN}*)"')
"""Four lines of five: a bare key and a text without escapes."""
_LINE = re.compile(rf"({_KEY}) = (.+)")
_HEADER = re.compile(rf"(\[\[?)({_KEY}(?:\.{_KEY})*)(\]\]?)")
_PART = re.compile(_KEY)
_TEXT_VALUE = re.compile(_TEXT)
_BARE_KEY = re.compile(_BARE)
_ESCAPE = re.compile(r"\\(?:u(....)|(.))")
_INLINE_KEY = re.compile(rf"({_KEY}) = ")
_INLINE_VALUE = re.compile(rf"({_TEXT})|({_SCALAR})")
_WHOLE = re.compile(r"-?(?:0|[1-9][0-9]*)")
_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?(?:e[-+][0-9]+)?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CLOCK = re.compile(r"[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]{6})?")
_MOMENT = re.compile(rf"{_DAY.pattern} {_CLOCK.pattern}(?:[-+][0-9]{{2}}:[0-9]{{2}})?")

Table = dict[str, Any]


class BodyError(PreflightError):
    """A value that a record cannot hold, or a body that is not written as a record is."""


def read_body(body: bytes) -> Table:
    """The values of a body, as `write_body` took them. BodyError with the line that is written otherwise."""
    try:
        text = body.decode()
    except UnicodeDecodeError as error:
        raise BodyError(f"The body of the record is no UTF-8 (byte {error.start + 1}).") from error
    if not text.endswith("\n"):
        raise BodyError("The body of the record does not end in a line feed.")
    document = _Reader(text[:-1].split("\n")).document()
    if "seal" in document:
        raise BodyError("The body of the record holds a second seal.")
    return document


class _Reader:
    """Goes through the lines once."""

    def __init__(self, lines: list[str]) -> None:
        self._lines = lines
        self._at = 0
        self._root: Table = {}
        self._lists: set[int] = set()
        """Lists that `[[…]]` headers began; a list written as a value takes no header."""

    def document(self) -> Table:
        table = self._root
        lines, simple, at = self._lines, _SIMPLE_LINE.fullmatch, 0
        while at < len(lines):
            line = lines[at]
            match = simple(line)
            if match is not None and match[1] not in table:
                table[match[1]] = match[2]
                at += 1
                continue
            self._at = at
            if not line:
                if at:
                    self._at += 1
                table = self._opened(lines[self._at] if self._at < len(lines) else "")
            elif line.startswith("[") and not at:
                table = self._opened(line)
            else:
                self._pair(line, table)
            at = self._at + 1
        return self._root

    def _pair(self, line: str, table: Table) -> None:
        match = _LINE.fullmatch(line)
        if match is None:
            raise self._refusal("this is no line of a record")
        key = self._key(match[1])
        if key in table:
            raise self._refusal("the key stands there twice")
        table[key] = self._value(match[2], 0)

    def _opened(self, line: str) -> Table:
        """The new table that a header begins, in its place."""
        match = _HEADER.fullmatch(line)
        if match is None or len(match[1]) != len(match[3]):
            raise self._refusal("a table is to begin here, with a header")
        *above, name = [self._key(part) for part in _PART.findall(match[2])]
        if len(above) >= DEEPEST:
            raise self._refusal("the table lies too deep")
        table = self._root
        for part in above:
            table = self._inside(table, part)
        new: Table = {}
        if match[1] == "[":
            if name in table:
                raise self._refusal("the table stands there twice")
            table[name] = new
        elif name not in table:
            table[name] = [new]
            self._lists.add(id(table[name]))
        elif id(table[name]) in self._lists and name == next(reversed(table)):
            table[name].append(new)
        else:
            raise self._refusal("the list stands there already")
        return new

    def _inside(self, table: Table, name: str) -> Table:
        """The table of that name that a header goes on in: the one written last, or one without values of its own."""
        if name not in table:
            below: Table = {}
            table[name] = below
            return below
        last = table[name]
        if name == next(reversed(table)):
            if isinstance(last, dict) and last:  # without values of its own it has no header
                return last
            if id(last) in self._lists:
                within = last[-1]
                assert isinstance(within, dict)
                return within
        raise self._refusal("the table is not in its place")

    def _value(self, text: str, depth: int) -> Any:
        """A value that begins on the current line; a list goes on over the next ones."""
        if text.startswith('"'):
            if _TEXT_VALUE.fullmatch(text) is None:
                raise self._refusal("the text is not written as a record's")
            return _unescaped(text)
        if text == "[]":
            return []
        if text == "[":
            return self._list(depth)
        if text.startswith("{") and depth:
            value, end = self._inline(text, 0, depth)
            if end != len(text):
                raise self._refusal("something stands after the table")
            return value
        return self._scalar(text)

    def _list(self, depth: int) -> list[Any]:
        if depth >= DEEPEST:
            raise self._refusal("the list lies too deep")
        indent, closing = " " * (4 * (depth + 1)), " " * (4 * depth) + "]"
        values: list[Any] = []
        while True:
            self._at += 1
            line = self._lines[self._at] if self._at < len(self._lines) else ""
            if line in (closing, f"{closing},") and values and line.endswith(",") == bool(depth):
                return values
            item = line.removeprefix(indent)
            if item == line or item.startswith(" "):
                raise self._refusal("a list is not written so")
            if item == "[":
                values.append(self._value(item, depth + 1))
            elif item.endswith(","):
                values.append(self._value(item[:-1], depth + 1))
            else:
                raise self._refusal("a comma is wanted")

    def _inline(self, text: str, at: int, depth: int) -> tuple[Any, int]:
        """The value on one line that begins at `at`, and where it ends."""
        if depth >= DEEPEST:
            raise self._refusal("the table lies too deep")
        if text.startswith("{", at):
            return self._inline_table(text, at, depth)
        if text.startswith("[", at):
            return self._inline_list(text, at, depth)
        match = _INLINE_VALUE.match(text, at)
        if match is None:
            raise self._refusal("the value is not written as a record's")
        return _unescaped(match[1]) if match[1] is not None else self._scalar(match[2]), match.end()

    def _inline_table(self, text: str, at: int, depth: int) -> tuple[Table, int]:
        if text.startswith("{}", at):
            return {}, at + 2
        table: Table = {}
        mark = "{ "
        while text.startswith(mark, at) and (match := _INLINE_KEY.match(text, at + 2)):
            key = self._key(match[1])
            if key in table:
                raise self._refusal("the key stands there twice")
            table[key], at = self._inline(text, match.end(), depth + 1)
            if text.startswith(" }", at):
                return table, at + 2
            mark = ", "
        raise self._refusal("a table in braces is not written so")

    def _inline_list(self, text: str, at: int, depth: int) -> tuple[list[Any], int]:
        if text.startswith("[]", at):
            return [], at + 2
        values: list[Any] = []
        mark = "["
        while text.startswith(mark, at):
            value, at = self._inline(text, at + len(mark), depth + 1)
            values.append(value)
            if text.startswith("]", at):
                return values, at + 1
            mark = ", "
        raise self._refusal("a list is not written so")

    def _scalar(self, text: str) -> Any:
        if text in ("true", "false"):
            return text == "true"
        value: Any = None
        try:
            if _WHOLE.fullmatch(text):
                value = int(text) if len(text) < 21 else None
                if value not in INTEGERS:
                    value = None
            elif _NUMBER.fullmatch(text):
                value = float(text)
                if not math.isfinite(value):
                    value = None
            elif _MOMENT.fullmatch(text):
                value = datetime.fromisoformat(text)
            elif _DAY.fullmatch(text):
                value = date.fromisoformat(text)
            elif _CLOCK.fullmatch(text):
                value = time.fromisoformat(text)
        except ValueError as error:
            raise self._refusal("there is no such time") from error
        if value is None or str(value) != text:  # one spelling for each
            raise self._refusal("the value is not written as a record's")
        return value

    def _key(self, written: str) -> str:
        if not written.startswith('"'):
            return written
        key = _unescaped(written)
        if _BARE_KEY.fullmatch(key):
            raise self._refusal("a key is quoted that needs no quotes")
        return key

    def _refusal(self, why: str) -> BodyError:
        return BodyError(f"The body is not written as a record is: line {self._at + 1}: {why}.")


def _unescaped(written: str) -> str:
    text = written[1:-1]
    return _ESCAPE.sub(_character, text) if "\\" in text else text


def _character(match: re.Match[str]) -> str:
    return chr(int(match[1], 16)) if match[1] else _ESCAPES[match[2]]
