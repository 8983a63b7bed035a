"""What earlier records say: last readings, wear, baselines, what is due. Plain data; checks read nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class DueItem:
    """One maintenance item and how far it is used up."""

    item: str
    used: float
    """Share of its interval; 1.0 is due now."""
    safety: bool = False
    counted: str = ""
    """How the share was found: "14 h of 40 h since 2026-11-20"."""


@dataclass(frozen=True, slots=True)
class WearStrip:
    """Metres of wood that one strip of the width has passed."""

    left: float
    """m from the left edge of the bed."""
    right: float
    metres: float


@dataclass(frozen=True, slots=True)
class RunLog:
    """What one run record says of the machine's use."""

    at: datetime
    """When it was signed."""
    seconds: float
    """Time under drive."""
    area: float = 0.0
    """m2 of wood fed, over all passes."""


@dataclass(frozen=True, slots=True)
class OpenStop:
    """A stop that takes no override and that no later record has cleared."""

    check: str
    subject: str
    statement: str
    since: datetime
    done: str = ""
    """What a repair record since then says was done; empty when there is none."""
    by: str = ""
    reading: str = ""
    """What was read, when it was in this start-up and no record holds it yet; empty for a stop of a record."""


@dataclass(frozen=True, slots=True)
class History:
    """Earlier records of one machine, oldest first."""

    sheets: tuple[Mapping[str, Any], ...] = ()
    """The sheets of saved start-ups as plain tables, newest last."""
    times: tuple[datetime, ...] = ()
    """When each was signed."""
    belt_wear: Mapping[str, tuple[WearStrip, ...]] = field(default_factory=dict)
    """Wear map per belt card id."""
    drum_wear: Mapping[str, tuple[WearStrip, ...]] = field(default_factory=dict)
    """Wear map per head id, of its drum since it was last ground or changed."""
    due: tuple[DueItem, ...] = ()
    """Items whose use was counted elsewhere; those of the profile are counted from the records below."""
    runs: tuple[RunLog, ...] = ()
    """Run records, oldest first."""
    open_stops: tuple[OpenStop, ...] = ()

    @property
    def last(self) -> Mapping[str, Any]:
        """The newest sheet, empty when there is none."""
        return self.sheets[-1] if self.sheets else {}
