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


@dataclass(frozen=True, slots=True)
class WearStrip:
    """Metres of wood that one strip of the width has passed."""

    left: float
    """m from the left end of the usable width."""
    right: float
    metres: float


@dataclass(frozen=True, slots=True)
class History:
    """Earlier records of one machine, oldest first."""

    sheets: tuple[Mapping[str, Any], ...] = ()
    """The sheets of saved start-ups as plain tables, newest last."""
    times: tuple[datetime, ...] = ()
    """When each was signed."""
    belt_wear: Mapping[str, tuple[WearStrip, ...]] = field(default_factory=dict)
    """Wear map per belt card id."""
    due: tuple[DueItem, ...] = ()

    @property
    def last(self) -> Mapping[str, Any]:
        """The newest sheet, empty when there is none."""
        return self.sheets[-1] if self.sheets else {}
