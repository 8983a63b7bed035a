"""Readings of the test board that cannot be: slips of the unit, no thickness, wood added, left read for right."""

from __future__ import annotations

from dataclasses import replace
from statistics import median
from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Verdict
from preflight.checks.slips import READ_FIRST, impossible, slip
from preflight.quantities import Kind, computed, show
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.checks.finding import Finding
    from preflight.checks.test_board.board_readings import Board
    from preflight.sheet import SetupSheet

READINGS: Final = "test_board.readings"
NEAR: Final = 1.5
"""Thicknesses of one board lie within this factor of one another."""


def slipped(sheet: SetupSheet, units: str) -> list[Finding]:
    """A question for each reading that a slip of the unit would explain; its neighbours' median is what it is held to.

    The neighbours are the readings after the pass at the other places and all before it, else the stock's.
    """
    found = []
    readings = sheet.test_board.readings
    for index, one in enumerate(readings):
        others = [other for n, other in enumerate(readings) if n != index]
        same = [r.before.value for r in (one, *others) if r.before is not None] + [r.after.value for r in others]
        same += [thickness.value for thickness in sheet.stock.thickness] if len(same) < 2 else []
        if not same or median(same) <= 0:
            continue
        low, high = (computed(median(same) * by, Kind.LENGTH, units) for by in (1 / NEAR, NEAR))
        asked = slip(
            f"board at {one.x}",
            f"Test board at {one.x}",
            one.after,
            Limit(low=low, high=high),
            units,
            READINGS,
        )
        if asked is not None:
            found.append(asked)
    return found


def not_measured(sheet: SetupSheet) -> list[Finding]:
    """The question about a board of no thickness."""
    for one in sheet.test_board.readings:
        ends = one.ends or ()
        zero = next((q for q in (one.before, one.after, one.second, *ends) if q is not None and q.value <= 0), None)
        if zero is not None:
            return [
                impossible(
                    "thickness",
                    zero,
                    f"The board reads {zero} at {one.x}: that cannot be.",
                    "Close the caliper: 0? Then read that place again.",
                    READINGS,
                    "thickness",
                )
            ]
    return []


def second_swapped(board: Board, limit: Limit, units: str) -> Finding | None:
    """The question about a second pass that made the board thicker: read left for right, or read wrongly."""
    pairs = [(one, one.second) for one in sorted(board.readings, key=lambda one: one.x.value) if one.second is not None]
    allowed = limit.ceiling or 0.0
    grown = [(second.value - one.after.value, one, second) for one, second in pairs]
    more, place, reading = max(grown, key=lambda grew: grew[0])
    if more <= allowed:
        return None
    (left, left_again), (right, right_again) = pairs[0], pairs[-1]
    mirrored = [abs(right_again.value - left.after.value), abs(left_again.value - right.after.value)]
    thicker = f"After a second pass the board is {show(more, Kind.LENGTH, units)} thicker at {place.x}"
    if len(pairs) > 1 and max(mirrored) <= allowed:
        what = f"{thicker}, and as much thinner across: left and right swapped?"
    else:
        what = f"{thicker}: a pass adds no wood."
    remedy = "Lay the board as it was fed, and read left and right of the second pass again."
    return impossible("second pass", reading, what, remedy, f"{READINGS}.second", "second pass")


def read_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings without advice on what to move: it would rest on a reading that is asked about."""
    return [one if one.verdict is Verdict.OK else replace(one, remedy=READ_FIRST) for one in findings]
