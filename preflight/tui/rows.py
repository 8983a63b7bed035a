"""A station's entries as data: what is asked, in which unit, and what an answer writes into the setup sheet.

No Textual here. A station module returns rows for the answers typed so far; the entry table paints them, and
`writes` turns what was typed into sheet values. What was typed is the only state: drafts hold it, the sheet is
derived from it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from preflight.quantities import Kind, QuantityError, parse

Path = tuple[str | int, ...]
"""Keys into the sheet: ("tension", "1"), ("stock", "thickness", 0)."""
Writes = list[tuple[Path, Any]]


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer of a row that is chosen, not typed."""

    label: str
    writes: tuple[tuple[Path, Any], ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One entry of a station."""

    key: str
    """Name of the answer in the draft; unique over all stations."""
    label: str
    """At most 26 characters, unit included: "head 1 gauge, bar"."""
    path: Path = ()
    """Where a typed answer goes."""
    kind: Kind | None = None
    """What is typed; None: plain text, or a choice."""
    unit: str | None = None
    """Unit that the label shows: a bare number takes it."""
    choices: tuple[Choice, ...] = ()
    """Not empty: chosen with Space or the arrows, first letter jumps."""
    shown: str = ""
    """Not empty: a computed or carried-over fact that is shown, not asked."""
    hint: str = ""
    """One short line shown while the row is current."""
    subjects: tuple[str, ...] = ()
    """Subjects of the findings this row answers for: their worst marks the row."""
    earlier: str = ""
    """Yesterday's value, shown beside once today's is typed."""
    whole: bool = False
    """A count: digits only."""

    @property
    def asked(self) -> bool:
        """Whether the operator answers it."""
        return not self.shown

    def writes(self, typed: str) -> Writes:
        """What the answer puts into the sheet. Raises `QuantityError` for text that cannot be read."""
        if self.choices:
            chosen = next((choice for choice in self.choices if choice.label == typed), None)
            if chosen is None:
                raise QuantityError(f"{typed!r} is not one of {', '.join(choice.label for choice in self.choices)}.")
            return list(chosen.writes)
        if self.kind is not None:
            return [(self.path, parse(typed, self.kind, self.unit).text)]
        if self.whole:
            if not (typed.isascii() and typed.isdigit()) or len(typed) > 6:
                raise QuantityError(f"{typed!r} is not a count; digits only.")
            return [(self.path, int(typed))]
        return [(self.path, typed)]


def place(sheet: dict[str, Any], path: Path, value: Any) -> None:
    """Put a value at a path of nested tables and lists, making what is missing on the way."""
    here: Any = sheet
    for part, following in zip(path, path[1:], strict=False):
        empty: Any = [] if isinstance(following, int) else {}
        if isinstance(part, int):
            while len(here) <= part:
                here.append({} if isinstance(following, str) else [])
            here = here[part]
        else:
            here = here.setdefault(part, empty)
    last = path[-1]
    if isinstance(last, int):
        while len(here) <= last:
            here.append(None)
    here[last] = value


def answers(rows: Iterable[Row], typed: Mapping[str, str]) -> tuple[Writes, dict[str, str]]:
    """Writes of all rows answered so far, and per row key the message of an answer that cannot be read."""
    written: Writes = []
    unread: dict[str, str] = {}
    for row in rows:
        text = typed.get(row.key, "").strip()
        if not text or not row.asked:
            continue
        try:
            written.extend(row.writes(text))
        except QuantityError as error:
            unread[row.key] = str(error)
    return written, unread
