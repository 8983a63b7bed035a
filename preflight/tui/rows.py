"""A station's entries as data: what is asked, in which unit, and what an answer writes into the setup sheet.

No Textual here. A station module returns rows for the answers typed so far; the entry table paints them, and
`writes` turns what was typed into sheet values. What was typed is the only state: drafts hold it, the sheet is
derived from it.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from preflight.outside_text import unfit
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from preflight.shop.limits import Limit

Path = tuple[str | int, ...]
"""Keys into the sheet: ("tension", "1"), ("stock", "thickness", 0)."""
Writes = list[tuple[Path, Any]]

SLIPPED = " unit"
"""After the subject of a reading, the subject of the question whether its unit slipped."""


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
    reads: Callable[[str], Any] | None = None
    """Own reader of typed text: the sheet value, or a ValueError that says what is wanted."""
    also: tuple[tuple[Path, Any], ...] = ()
    """Written together with a typed answer: the place across the width beside the thickness read there."""
    band: Limit | None = None
    """Limit whose band the gauge shows, after the reading is typed."""
    fact: bool = False
    """A static fact: carried over from the last record and only touched when it differs; never a reading."""
    note: str = ""
    """Short text beside the answer, such as a gate's flow and velocity."""
    optional: bool = False
    """May stay empty; Enter passes over it."""
    long: bool = False
    """What is typed may be long: it takes the whole line."""
    set_by: str = ""
    """Of a row that is shown, not asked: where that fact is set, one sentence."""
    doubt: str = ""
    """Why the answer cannot stand beside another one: it is asked again."""
    renews: Mapping[str, str] = field(default_factory=dict)
    """Other answers that end once another answer is accepted here: by row what stands then, empty to be asked again."""
    stands: str = ""
    """What holds while nothing is chosen: shown in place of an empty answer that is no gap."""

    @property
    def refusal(self) -> str:
        """Why a key that was typed here did nothing, one sentence."""
        if not self.asked:
            return self.set_by or "Worked out from other answers: nothing is typed here."
        return "Nothing is typed here: Space and the arrows choose."

    def begins(self, character: str) -> bool:
        """Whether a key can begin an answer here: of a reading a digit, a sign or a point; never a space."""
        if self.kind is None:
            return not character.isspace()
        return character.isdigit() or character in _BEGINS

    def as_read(self, typed: str) -> str:
        """What was typed, with the unit of the row behind a bare number: "6.9 s"."""
        if self.kind is None:
            return typed
        try:
            return parse(typed, self.kind, self.unit).text
        except QuantityError:
            return typed

    @property
    def asked(self) -> bool:
        """Whether the operator answers it."""
        return not self.shown

    def answers_for(self, subject: str) -> bool:
        """Whether a finding of that subject marks this row; the question of a slipped unit goes with its reading."""
        return subject in self.subjects or subject.removesuffix(SLIPPED) in self.subjects

    @property
    def places(self) -> tuple[Path, ...]:
        """Every path of the sheet that an answer may write."""
        return (*((self.path,) if self.path else ()), *(at for choice in self.choices for at, _ in choice.writes))

    def writes(self, typed: str) -> Writes:
        """What the answer puts into the sheet. Raises `QuantityError` for text that cannot be read, or not be seen."""
        if why := unfit(typed):
            raise QuantityError(f"This answer {why}. Type it anew.")
        if self.choices:
            chosen = next((choice for choice in self.choices if choice.label == typed), None)
            if chosen is None:
                raise QuantityError(f"{typed!r} is not one of {', '.join(choice.label for choice in self.choices)}.")
            return list(chosen.writes)
        if self.kind is not None:
            return [*self.also, (self.path, parse(typed, self.kind, self.unit).text)]
        if self.reads is None:
            return [*self.also, (self.path, typed)]
        try:
            return [*self.also, (self.path, self.reads(typed))]
        except ValueError as error:
            raise QuantityError(str(error)) from error


def whole(typed: str) -> int:
    """Reader of a count."""
    if not (typed.isascii() and typed.isdigit()) or len(typed) > 6:
        raise ValueError(f"{typed!r} is not a count; digits only.")
    return int(typed)


def share(typed: str) -> float:
    """Reader of a share written as per cent, "40" or "40 %"."""
    digits = typed.removesuffix("%").strip().replace(",", ".")
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,2})?", digits) or float(digits) > 100:
        raise ValueError(f"{typed!r} is not a share of 0 to 100 %.")
    return float(digits) / 100


_BEGINS = frozenset(".,+-−½¼¾⅛⅜⅝⅞")
"""Begin a number besides a digit."""
APPEND = "+"
"""Last part of a path that adds to a list; with None as value the list is only made."""


def place(sheet: dict[str, Any], path: Path, value: Any) -> None:
    """Put a value at a path of nested tables and lists, making what is missing on the way."""
    here: Any = sheet
    for part, following in itertools.pairwise(path):
        empty: Any = [] if isinstance(following, int) or following == APPEND else {}
        if isinstance(part, int):
            while len(here) <= part:
                here.append({} if isinstance(following, str) else [])
            here = here[part]
        else:
            here = here.setdefault(part, empty)
    last = path[-1]
    if last == APPEND:
        here.extend([] if value is None else [value])
        return
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
