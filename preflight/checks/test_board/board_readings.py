"""The readings of a test board as numbers, today's and those of earlier records, and what they can prove."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from preflight.engine.instrument import reading_uncertainty
from preflight.engine.thickness import ThicknessFit, fit_thickness
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from preflight.history import History
    from preflight.sheet import BoardReading, SetupSheet

LEAST_PLACES: Final = 3
"""Left, centre and right: fewer show no crown."""


@dataclass(frozen=True, slots=True)
class Board:
    """One measured test board."""

    readings: tuple[BoardReading, ...]
    uncertainty: float
    """Standard uncertainty of one reading, m; 0 when the instrument is not named."""
    resolution: float
    """m; 0 when the instrument is not named."""
    fit: ThicknessFit

    @property
    def span(self) -> float:
        """Between the outermost readings, m."""
        return self.fit.right - self.fit.left


def places(sheet: SetupSheet) -> int:
    """At how many different places the board was measured."""
    return len({reading.x.value for reading in sheet.test_board.readings})


def board_of(sheet: SetupSheet) -> Board | None:
    """The board with its curve, or None with fewer than three places."""
    if places(sheet) < LEAST_PLACES:
        return None
    instrument = sheet.stock.instrument
    resolution = instrument.resolution.value if instrument is not None else 0.0
    uncertainty = reading_uncertainty(resolution) if resolution > 0 else 0.0
    readings = sheet.test_board.readings
    fit = fit_thickness([r.x.value for r in readings], [r.after.value for r in readings], uncertainty)
    return Board(readings, uncertainty, resolution, fit)


def earlier_crowns(history: History | None) -> list[tuple[datetime, float]]:
    """When, and by how much thicker in the middle, m, earlier test boards were; oldest first."""
    crowns = [(when, fit.crown()) for when, fit in _earlier(history)]
    return [(when, crown.value) for when, crown in crowns if crown is not None]


def earlier_tapers(history: History | None) -> list[float]:
    """By how much thicker at the right, m, earlier test boards were; oldest first."""
    tapers = [fit.taper() for _, fit in _earlier(history)]
    return [taper.value for taper in tapers if taper is not None]


def _earlier(history: History | None) -> list[tuple[datetime, ThicknessFit]]:
    """Earlier test boards that were measured at enough places; oldest first."""
    if history is None:
        return []
    fits = [(when, _fit(sheet)) for when, sheet in zip(history.times, history.sheets, strict=False)]
    return [(when, fit) for when, fit in fits if fit is not None]


def _fit(sheet: Mapping[str, Any]) -> ThicknessFit | None:
    rows = sheet.get("test_board", {}).get("readings", ())
    try:
        points = [(parse(row["x"], Kind.LENGTH).value, parse(row["after"], Kind.LENGTH).value) for row in rows]
    except (KeyError, QuantityError):  # a record of another layout says nothing here
        return None
    if len({x for x, _ in points}) < LEAST_PLACES:
        return None
    return fit_thickness([x for x, _ in points], [t for _, t in points], 0.0)
