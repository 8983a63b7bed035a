"""The picture of station 3: each belt in its head's window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.quantities import Kind, show
from preflight.tui.painting import fit

if TYPE_CHECKING:
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """Each belt in its head's window: both edges' lengths and the width, the window drawn to one size."""
    view, sheet = run.view, run.sheet
    if view is None or sheet is None or width < 36:
        return []
    units = view.machine.units
    bars: list[tuple[float, Line]] = []
    for head in view.machine.heads:
        card = view.belt(sheet.belt_on(head.id))
        if card is None:
            continue
        for name, reading, limit in (
            ("left edge", card.length_left, head.belt_length),
            ("right edge", card.length_right, head.belt_length),
            ("width", card.width, head.belt_width),
        ):
            if reading is not None and limit.floor is not None and limit.ceiling is not None:
                label = f"{head.id} {name}"
                low, high = limit.floor, limit.ceiling
                off = abs(2 * reading.value - low - high) / (high - low) if high > low else 0.0
                bars.append((off, _in_window(label, reading.value, low, high, width, charset, units)))
    return _worst_first(bars, height)


def _worst_first(bars: list[tuple[float, Line]], height: int) -> Picture:
    """All bars where they fit; else those furthest from the middle of their window, the rest counted."""
    if len(bars) <= height:
        return [line for _, line in bars]
    order = sorted(range(len(bars)), key=lambda index: -bars[index][0])
    shown = sorted(order[: max(0, height - 1)])
    lines = [bars[index][1] for index in shown]
    inside = all(bars[index][0] <= 1 for index in order[max(0, height - 1) :])
    more = f"{len(bars) - len(shown)} more{', all inside' if inside else ''}"
    return [*lines, [(more, "dim")]][:height]


def _in_window(label: str, value: float, low: float, high: float, width: int, charset: Charset, units: str) -> Line:
    """The window fills the middle half; a belt beyond it is pinned to the edge."""
    text = f" {show(value, Kind.LENGTH, units)}"
    room = max(8, width - 13 - 11)
    reach = (high - low) / 2 or 1e-3
    start, stop = room // 4, room - room // 4
    cells = [
        (charset.inside if start <= x < stop else charset.outside, "ok" if start <= x < stop else "rule")
        for x in range(room)
    ]
    at = min(room - 1, max(0, round((value - low + reach) / (high - low + 2 * reach) * room - 0.5)))
    inside = low <= value <= high
    cells[at] = (charset.reading, "mark strong" if inside else "stop strong")
    return [(fit(label, 13), "text"), *cells, (fit(text, 11), "dim")]
