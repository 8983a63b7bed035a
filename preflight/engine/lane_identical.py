"""One size of board: the least peak on a worn belt, found exactly instead of searched for."""

from __future__ import annotations

from bisect import bisect_left
from math import floor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preflight.engine.lane_cells import Cells


def identical_places(count: int, load: float, cells: Cells, low: float, high: float) -> dict[int, int]:
    """Boards by place with the least peak on these cells; `low` is a lower bound, `high` a peak that is reached.

    Under a given peak every strip takes ⌊(peak − wear)/load⌋ more boards, and taking the leftmost place as
    often as it goes fits the most boards of one width. The least peak is one of wear + n·load.
    """
    levels = set()
    for wear in set(cells.floor):
        n = max(0, floor((low - wear) / load * (1.0 - 1e-9)))
        while wear + n * load <= high * (1.0 + 1e-9):
            levels.add(wear + n * load)
            n += 1
    peaks = sorted(x for x in levels if x >= low * (1.0 - 1e-9))
    at = bisect_left(range(len(peaks)), True, key=lambda i: _fit(count, load, cells, peaks[i]) is not None)
    places = _fit(count, load, cells, peaks[at] if at < len(peaks) else high)
    if places is None:
        raise ValueError("the peak given as reached is not reached by these boards")
    return places


def _fit(count: int, load: float, cells: Cells, peak: float) -> dict[int, int] | None:
    """All boards at or below the peak, leftmost places first; None when they do not fit."""
    (window,) = cells.windows
    room = [floor((peak - wear) / load + 1e-9) for wear in cells.floor]
    places: dict[int, int] = {}
    for place, (a, b) in enumerate(zip(window.starts, window.ends, strict=True)):
        fits = min(count, *room[a:b])
        if fits > 0:
            room[a:b] = [r - fits for r in room[a:b]]
            places[place] = fits
            count -= fits
            if not count:
                return places
    return None
