"""A limit of a profile: the bounds, the inner bounds at which care is asked, and where they come from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preflight.quantities import Quantity

EDGE = 0.10
"""Width of the edge band without caution bounds: this share of the band, or of the limit when one-sided."""


@dataclass(frozen=True, slots=True)
class Limit:
    """Bounds in the order low <= caution_low <= caution_high <= high, each optional, at least one given."""

    low: Quantity | None = None
    high: Quantity | None = None
    caution_low: Quantity | None = None
    caution_high: Quantity | None = None
    source: str = ""
    """Where it comes from; empty: the machine's `book`; "default": nobody has confirmed it."""

    @property
    def floor(self) -> float | None:
        """The low bound in SI, or None."""
        return self.low.value if self.low else None

    @property
    def ceiling(self) -> float | None:
        """The high bound in SI, or None."""
        return self.high.value if self.high else None

    def edges(self, resolution: float = 0.0) -> tuple[float | None, float | None]:
        """The inner bounds (low, high) in SI, outside which a value inside the limit is a caution.

        Bounds that the profile states are taken as they stand. Otherwise the edge band is `EDGE` of the band,
        or of the limit when one-sided, or the instrument's `resolution` (SI) where that is more.
        """
        floor, ceiling = self.floor, self.ceiling
        band = ceiling - floor if floor is not None and ceiling is not None else None
        low = self.caution_low.value if self.caution_low else None
        high = self.caution_high.value if self.caution_high else None
        if low is None and floor is not None:
            low = floor + max(EDGE * (band if band is not None else abs(floor)), resolution)
        if high is None and ceiling is not None:
            high = ceiling - max(EDGE * (band if band is not None else abs(ceiling)), resolution)
        return low, high
