"""What a fault of the library is: where it can be planted, what it changes, and the findings it must bring about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.training.drill import Expected, Planted

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

    from preflight.training.setup import Change, Setup


@dataclass(frozen=True, slots=True)
class Planting:
    """A fault in one set-up: what changes, and what must be found."""

    changes: tuple[Change, ...]
    found: tuple[Expected, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault that happens at a sander."""

    id: str
    check: str
    """Station at which it is to be seen."""
    kind: str
    level: int
    """1: in plain sight; 2: a number to hold against a limit; 3: near a limit, or left unsaid."""
    cause: str
    remedy: str
    why: str
    plant: Callable[[Setup, Random], Planting | None]
    """None where this machine has nothing to plant it in."""
    safety: bool = False
    touches: tuple[str, ...] = ()
    """Other stations whose readings it changes: two faults that meet there are not planted together."""

    @property
    def stations(self) -> frozenset[str]:
        """Every station that it changes."""
        return frozenset((self.check, *self.touches))

    def planted(self, planting: Planting) -> Planted:
        """As a drill holds it."""
        return Planted(self.id, self.kind, self.cause, self.remedy, planting.found, self.safety, self.why)
