"""One part of a list or report, as data that terminal, page and app draw alike."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preflight.audit.chart import BarRow
    from preflight.audit.trends import Trend


@dataclass(frozen=True, slots=True)
class Section:
    """One part of a report."""

    title: str
    sentences: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    trends: tuple[Trend, ...] = ()
    bars: tuple[float, ...] = field(default=())
    """Values over the width, drawn as bars."""
    bar_rows: tuple[BarRow, ...] = field(default=())
    """The same at several times, a row each."""
