"""Chances, and names of readings, in words: what a lead reads instead of 1.3e-107 and tension.1."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

RARE = 1e-6
"""Below it the model behind a chance is worth less than its figures."""
_WORDS: tuple[tuple[str, str], ...] = (
    ("tension.leak", "tension, leak test"),
    ("tension.supply", "tension, air supply"),
    ("tension.", "tension, head "),
    ("extraction.static", "static pressure at the hood"),
    ("running.stop.", "stop time, head "),
    ("running.current.", "idle current, head "),
    ("test_board.before", "test board before the pass"),
    ("test_board.", "test board after the pass, "),
)
_UNIT = re.compile(r"\s*-?\d+(?:[.,]\d+)?\s*[^\d\s.,]")


def said_chance(chance: float | None) -> str:
    """A chance as one in so many, two digits of it.

    >>> said_chance(1.3e-107), said_chance(0.000294), said_chance(0.4)
    ('less than 1 in a million', '1 in 3,400', '40 in 100')
    """
    if chance is None:
        return "none: a fact"
    if chance < RARE:
        return "less than 1 in a million"
    if chance > 0.1:
        return f"{chance * 100:.0f} in 100"
    return f"1 in {int(float(f'{1 / chance:.2g}')):,}"


def reading_name(key: str) -> str:
    """The name of an answer that is read off an instrument.

    >>> reading_name("tension.1"), reading_name("running.stop.2"), reading_name("extraction.static")
    ('tension, head 1', 'stop time, head 2', 'static pressure at the hood')
    """
    for beginning, words in _WORDS:
        if key.startswith(beginning):
            rest = key.removeprefix(beginning).strip(".").replace(".", ", ").replace("_", " ")
            return f"{words}, {rest}" if rest and not words.endswith(" ") else f"{words}{rest}".rstrip(", ")
    return key.replace(".", ", ").replace("_", " ")


def series_name(series: str) -> str:
    """The name of a series of judged figures.

    >>> series_name("tension: head 1"), series_name("test_board: taper")
    ('tension, head 1', 'test board, taper')
    """
    station, _, subject = series.partition(": ")
    return f"{station.replace('_', ' ')}, {subject}" if subject else series


def with_unit(text: str, likes: Sequence[str]) -> str:
    """The reading as typed, with the unit of those it was judged with when they share one and it has none.

    >>> with_unit("50.1", ["50.1 psi", "52.0 psi"]), with_unit("4.2 bar", ["50 psi"]), with_unit("7", [])
    ('50.1 psi', '4.2 bar', '7')
    """
    units = {like.split(" ", 1)[1] for like in likes if " " in like}
    return f"{text} {units.pop()}" if not _UNIT.match(text) and len(units) == 1 else text
