"""A reading in its band: three lines of cells, the reading above, the band in the middle, its bounds below.

Shown only after the reading is typed, so that nobody reads the gauge off the screen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.quantities import show
from preflight.tui.painting import clip

if TYPE_CHECKING:
    from collections.abc import Callable

    from preflight.checks.finding import Finding
    from preflight.quantities import Quantity
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line
    from preflight.tui.rows import Row

BEYOND = 0.35
"""Room beside the band on each side, as a share of it."""


def gauge_of(row: Row, finding: Finding | None, width: int, charset: Charset) -> list[Line]:
    """The gauge of a row's reading; no lines when nothing is read or no bound is known."""
    if finding is None or finding.measured is None or isinstance(finding.measured, str):
        return []
    reading = finding.measured
    low, high = finding.low, finding.high
    edges: tuple[float | None, float | None] = (None, None)
    if row.band is not None:
        low, high, edges = row.band.low, row.band.high, row.band.edges()
    if low is None and high is None:
        return []
    verdict = finding.verdict.word
    return band_gauge(reading, low, high, edges, width, charset, verdict)


def band_gauge(
    reading: Quantity,
    low: Quantity | None,
    high: Quantity | None,
    edges: tuple[float | None, float | None],
    width: int,
    charset: Charset,
    role: str = "strong",
) -> list[Line]:
    """Three lines of exactly `width` cells; at least one bound is given, in the kind of the reading.

    `edges` are the inner bounds in SI outside which a reading is near a limit; None where there are none.
    `role` is the role of the reading. ValueError without any bound.
    """
    if low is None and high is None:
        raise ValueError("a gauge needs a lower or an upper bound")
    bottom, top = _scale(reading, low, high)
    span = top - bottom

    def column(value: float) -> int:
        return max(0, min(width - 1, round((value - bottom) / span * (width - 1))))

    bar = [_zone(bottom + span * x / (width - 1), low, high, edges) for x in range(width)]
    for bound in (low, high):
        if bound is not None:
            bar[column(bound.value)] = "edge" if edges != (None, None) else "inside"
    middle: Line = [(_glyph(zone, charset), _ROLE[zone]) for zone in bar]
    at = column(reading.value)
    text = show(reading.value, reading.kind, unit=reading.unit)
    label = f"{charset.reading} {text}" if at + len(text) + 2 <= width else f"{text} {charset.reading}"
    start = at if label.startswith(charset.reading) else max(0, at + 1 - len(label))
    above: Line = [(" " * start, "dim"), (label, f"{role} mark"), (" " * (width - start - len(label)), "dim")]
    return [above, middle, _bounds(low, high, column, width, reading.unit)]


_ROLE = {"outside": "rule", "edge": "caution", "inside": "ok"}


def _glyph(zone: str, charset: Charset) -> str:
    return {"outside": charset.outside, "edge": charset.edge, "inside": charset.inside}[zone]


def _scale(reading: Quantity, low: Quantity | None, high: Quantity | None) -> tuple[float, float]:
    ends = [bound.value for bound in (low, high) if bound is not None]
    band = ends[-1] - ends[0] or abs(ends[0]) or 1.0
    bottom, top = ends[0] - BEYOND * band, ends[-1] + BEYOND * band
    if low is None:
        bottom = min(0.0, reading.value) if ends[0] > 0 else ends[0] - band
    return min(bottom, reading.value), max(top, reading.value)


def _zone(value: float, low: Quantity | None, high: Quantity | None, edges: tuple[float | None, float | None]) -> str:
    if (low is not None and value < low.value) or (high is not None and value > high.value):
        return "outside"
    if (edges[0] is not None and value < edges[0]) or (edges[1] is not None and value > edges[1]):
        return "edge"
    return "inside"


def _bounds(low: Quantity | None, high: Quantity | None, column: Callable[[float], int], width: int, unit: str) -> Line:
    """The bounds' values under their places, in the unit of the reading, never overlapping."""
    cells = [" "] * width
    free = 0
    for bound, name in ((low, "low"), (high, "high")):
        if bound is None:
            continue
        text = clip(show(bound.value, bound.kind, unit=unit), width - free)
        if low is None or high is None:
            text = clip(f"{name} {text}", width - free)
        start = max(free, min(width - len(text), column(bound.value) - len(text) // 2))
        cells[start : start + len(text)] = text
        free = start + len(text) + 1
    return [("".join(cells[:width]), "dim")]
