"""Slips of the unit on the test board: a reading ten or 25.4 times away from the others is asked about first."""

from __future__ import annotations

from dataclasses import replace
from statistics import median
from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Verdict
from preflight.checks.slips import READ_FIRST, slip
from preflight.quantities import Kind, computed
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.checks.finding import Finding
    from preflight.sheet import SetupSheet

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
            "test_board.readings",
        )
        if asked is not None:
            found.append(asked)
    return found


def read_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings without advice on what to move: it would rest on a reading that is asked about."""
    return [one if one.verdict is Verdict.OK else replace(one, remedy=READ_FIRST) for one in findings]
