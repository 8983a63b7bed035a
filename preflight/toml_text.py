"""TOML bytes to plain values, with limits that are checked before anything is parsed.

The parser of the standard library takes memory by the square of a dotted key's parts (5.8 GB for 100,000), recurses on
nesting and makes an object of every value. Strings and comments are struck out by one pattern first; what is left
holds all structure there is, and is counted. The pattern takes a string as the parser does: where the two part ways
the text is no TOML, and the parser stops there.
"""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_VALUES = 30_000
"""Keys, list items and tables of one file; the largest real file, a record, has some two thousand."""
DEEPEST = 24
"""Lists and tables in each other."""
MOST_PARTS = 16
"""Parts of a dotted key or table name."""
LONGEST_WORD = 400
"""Characters of a key, or of a number."""
LONGEST_COMPLAINT = 200
_TOO_LONG = f"holds a key or number of more than {LONGEST_WORD} characters, so it is no file of this kind"

_STRING_OR_COMMENT = re.compile(
    r'''"""(?:[^"\\]++|\\.|"(?!""))*+"{3,5}+'''
    r"""|'''(?:[^']++|'(?!''))*+'{3,5}+"""
    r'''|"(?:[^"\\\n]++|\\[^\n])*+"'''
    r"""|'[^'\n]*+'"""
    r"""|\#[^\n]*+""",
    re.DOTALL,
)
_WORD = r"[^\s\[\]{}=,.]"
# only where a word starts, since a search from within each word again would take time by the square
_DOTTED = re.compile(rf"(?<!{_WORD})(?:{_WORD}++[ \t]*+\.[ \t]*+){{{MOST_PARTS}}}")
_BETWEEN_WORDS = str.maketrans("[]{}=,.", "       ")
_OUTSIDE_BRACKETS = re.compile(r"[^\[\]{}]++")


class TomlError(ValueError):
    """Bytes that are no TOML, or more of it than a file of ours ever holds; the text reads on from the file's name."""


def read_toml(data: bytes) -> dict[str, Any]:
    """The values of TOML bytes. Raises `TomlError`; takes time and memory in proportion to the bytes."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise TomlError(f"is not UTF-8 text (byte {error.start})") from error
    _refuse_excess(_STRING_OR_COMMENT.sub("s", text))
    try:
        table = tomllib.loads(text)
    except ValueError as error:  # also what the parser lets through to int() and datetime()
        raise TomlError(f"is not valid TOML: {str(error)[:LONGEST_COMPLAINT]}") from error
    if max(map(len, text.split("\n"))) > LONGEST_WORD and any(len(key) > LONGEST_WORD for key in _keys(table)):
        raise TomlError(_TOO_LONG)  # in quotation marks, so it was struck out before
    return table


def _keys(table: dict[str, Any]) -> Iterator[str]:
    """Every key of nested tables. Never recurses."""
    waiting: list[Any] = [table]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            yield from value
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value


def _refuse_excess(structure: str) -> None:
    """Raise `TomlError` for structure that no file of ours has. Strings are struck out of it."""
    if structure.count("=") + structure.count(",") + structure.count("[") > MOST_VALUES:
        raise TomlError(f"holds more than {MOST_VALUES} keys and values, so it is no file of this kind")
    if max(map(len, structure.translate(_BETWEEN_WORDS).split()), default=0) > LONGEST_WORD:
        raise TomlError(_TOO_LONG)
    if any(line.count(".") >= MOST_PARTS and _DOTTED.search(line) for line in structure.split("\n")):
        raise TomlError(f"holds a key of more than {MOST_PARTS} parts, so it is no file of this kind")
    depth = 0
    for bracket in _OUTSIDE_BRACKETS.sub("", structure):
        depth += 1 if bracket in "[{" else -1
        if depth > DEEPEST:
            raise TomlError(f"nests deeper than {DEEPEST} levels, so it is no file of this kind")
