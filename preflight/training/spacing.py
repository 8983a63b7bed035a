"""Which drill comes next: what was missed comes back soon, what is known comes back later and later.

Method: card boxes after S. Leitner, "So lernt man lernen" (1972; from memory). Each kind of fault lies on a shelf.
Found with its cause, it moves up one shelf; missed, it goes back to the first. A shelf says after how many days the
kind is due again. That spread practice is kept longer than massed practice: Cepeda, Pashler, Vul, Wixted and Rohrer,
Psychological Bulletin 132(3), 354-380 (2006; from memory). The days are our own: each shelf doubles the one before.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from preflight.training.score import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preflight.training.score import StationMark

DAYS = (1, 2, 4, 8, 16, 32)
"""Days until a kind on each shelf is due again."""
NEVER_SEEN = 1.5
"""Weight of a kind never met: between one that is known and one that was missed."""
KNOWN = 0.15
"""Weight of a kind that is known and not due yet."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """How well one kind of fault is known."""

    kind: str
    at: int
    """0 is the first shelf."""
    last: datetime
    missed: int
    """Times missed in all."""

    @property
    def due(self) -> datetime:
        """When it should come again."""
        return self.last + timedelta(days=DAYS[self.at])


def shelves(history: Iterable[tuple[datetime, StationMark]]) -> Mapping[str, Shelf]:
    """Where each kind of fault lies after these marks, oldest first. A false alarm moves nothing: it has no kind."""
    found: dict[str, Shelf] = {}
    for at, mark in history:
        for kind in mark.kinds:
            before = found.get(kind)
            shelf, missed = (before.at, before.missed) if before else (-1, 0)
            if mark.missed:
                found[kind] = Shelf(kind, 0, at, missed + 1)
            elif mark.outcome is Outcome.FOUND and mark.cause is not False:
                found[kind] = Shelf(kind, min(shelf + 1, len(DAYS) - 1), at, missed)
            else:  # seen, but called worse than it is or for a wrong reason: it stays where it is
                found[kind] = Shelf(kind, max(shelf, 0), at, missed)
    return found


def lean(known: Mapping[str, Shelf], kinds: Iterable[str], now: datetime) -> Mapping[str, float]:
    """Weight of each kind for the next drill: missed and overdue kinds weigh most, known ones little."""
    return {kind: _weight(known.get(kind), now) for kind in kinds}


def _weight(shelf: Shelf | None, now: datetime) -> float:
    if shelf is None:
        return NEVER_SEEN
    if shelf.at == 0 and shelf.missed:
        return 4.0
    overdue = (now - shelf.due) / timedelta(days=DAYS[shelf.at])
    return KNOWN if overdue < 0 else 1.0 + min(2.0, overdue)


def due(known: Mapping[str, Shelf], now: datetime) -> list[Shelf]:
    """Kinds that are due again, the longest overdue first."""
    return sorted((shelf for shelf in known.values() if shelf.due <= now), key=lambda shelf: shelf.due)
