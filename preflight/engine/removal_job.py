"""What the removal planner is given: what has to come off, and the heads that may take it."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PlanHead:
    """A head as the planner sees it."""

    id: str
    grain_size: float
    """m"""
    cap: float
    """most it may take in a pass, m"""
    scratch: float
    """depth of the scratches it leaves, m"""
    comfort: float
    """most it takes without a caution, m; not above the cap"""
    can_lift: bool = True
    platen: bool = False
    barred: str = ""
    """why it may not be lowered at all"""

    def __post_init__(self) -> None:
        if not (self.grain_size > 0 and self.scratch > 0 and 0 < self.comfort <= self.cap < math.inf):
            raise ValueError(
                f"head {self.id}: grain size, scratch and comfort are above zero, comfort not above the cap"
            )


@dataclass(frozen=True, slots=True)
class RemovalJob:
    """What has to come off one face."""

    total: float
    """from the thickest piece, m"""
    spread: float = 0.0
    """thickest minus thinnest piece, m; it all falls on the face sanded first"""
    marks: float = 0.0
    """depth of saw or planer marks, m"""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.total) and self.total > 0):
            raise ValueError("there is nothing to take off: the removal must be above zero")
        if not (0 <= self.spread < math.inf and 0 <= self.marks < math.inf):
            raise ValueError("spread and marks cannot be negative")
