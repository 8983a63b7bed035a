"""Long lines on a terminal, broken at blanks: a terminal itself breaks them in the middle of a word."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, TextIO

from preflight.outside_text import joined, shown

if TYPE_CHECKING:
    from collections.abc import Iterable

HANG = 2
"""Columns by which the rest of a broken line stands further in."""


def fold(line: str, columns: int) -> list[str]:
    """The line in rows of less than so many columns, what follows the first indented under it."""
    indent = " " * (len(line) - len(line.lstrip()) + HANG)
    rows = textwrap.wrap(
        line, max(20, columns - 1), subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )
    return rows or [""]


def show(lines: Iterable[str], stream: TextIO | None = None) -> None:
    """Print lines, to standard output unless told: folded at a terminal, whole in a file or for another program."""
    stream = stream or sys.stdout
    if stream.isatty():
        columns = shutil.get_terminal_size().columns
        lines = [row for line in lines for row in fold(shown(line), columns)]
    print(joined(lines), file=stream, flush=True)
