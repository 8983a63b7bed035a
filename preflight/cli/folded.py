"""Long lines on a terminal, broken at blanks: a terminal itself breaks them in the middle of a word."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import TYPE_CHECKING

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


def show(lines: Iterable[str]) -> None:
    """Print lines: folded to the terminal's width, whole where the output goes to a file or another program."""
    if sys.stdout.isatty():
        columns = shutil.get_terminal_size().columns
        lines = [row for line in lines for row in fold(line, columns)]
    print("\n".join(lines), flush=True)
