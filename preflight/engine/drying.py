"""Is a washed belt dry? Two weighings hours apart that agree.

The weight before washing is no yardstick: the glue that came off hides the water still in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

LEAST_HOURS_HUNG: Final = 24.0
LEAST_HOURS_BETWEEN: Final = 4.0
DRY_LOSS: Final = 0.005
WET_LOSS: Final = 0.010
"""Hours and shares: common practice, no source."""

DryState = Literal["dry", "nearly", "wet", "not yet known"]


@dataclass(frozen=True, slots=True)
class Weighing:
    """One weighing of a hanging belt."""

    hours_hung: float
    """h since it was hung, not negative"""
    mass: float
    """kg, above zero"""

    def __post_init__(self) -> None:
        if not (self.hours_hung >= 0 and self.mass > 0):
            raise ValueError("hours cannot be negative and the mass is above zero")


def loss_between(first: Weighing, second: Weighing) -> float:
    """Share of the first mass lost by the second weighing; negative when the belt took water up.

    Raises ValueError when the second is not later.

    >>> round(loss_between(Weighing(24, 1.310), Weighing(28, 1.305)), 4)
    0.0038
    """
    if not second.hours_hung > first.hours_hung:
        raise ValueError("the second weighing must be later than the first")
    return (first.mass - second.mass) / first.mass


def dry_state(first: Weighing, second: Weighing) -> DryState:
    """Dry, nearly dry or wet by two weighings; "not yet known" when they are too close or the belt hung too short.

    A loss on the limit counts as dry. A belt that gained counts by the size of the change: it has not settled.
    A clear loss is "wet" however close the two weighings are.

    >>> dry_state(Weighing(24, 1.310), Weighing(28, 1.305))
    'dry'
    >>> dry_state(Weighing(24, 1.310), Weighing(25, 1.309))
    'not yet known'
    """
    # Rounded: 1.000 kg to 0.995 kg must count as exactly on the limit.
    change = round(abs(loss_between(first, second)), 9)
    if change > WET_LOSS:
        return "wet"
    if second.hours_hung < LEAST_HOURS_HUNG:
        return "not yet known"
    if second.hours_hung - first.hours_hung < LEAST_HOURS_BETWEEN:
        return "not yet known"
    return "nearly" if change > DRY_LOSS else "dry"
