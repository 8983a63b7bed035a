"""Slips of the unit: a reading that would be right ten times larger or smaller, or in the other unit.

Every check that refuses a number asks about it here; the question stands beside the stop, never in its place. A reading
that can be as typed, however bad, gets no friendlier one offered; one that cannot be at all is `impossible`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.quantities import Kind, show
from preflight.shop.defaults import PRACTICE
from preflight.units import BY_SPELLING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.quantities import Quantity
    from preflight.shop.limits import Limit

PLAUSIBLE: Final = 3.0
"""With a limit at one end only, a likely reading lies within this factor of it."""


READ_FIRST: Final = (
    "First look at the instrument and its unit and type the reading again; set nothing by it until it stands."
)
"""What to do about a finding that rests on a reading somebody likely mistyped."""


def asked_first(findings: Sequence[Finding], asked: Finding | None) -> list[Finding]:
    """The findings with the question about a slip of their reading, if there is one: then that is all they advise."""
    if asked is None:
        return list(findings)
    return [*(replace(one, remedy=READ_FIRST) if one.verdict is not Verdict.OK else one for one in findings), asked]


def slip(
    subject: str,
    what: str,
    reading: Quantity,
    limit: Limit,
    units: str,
    asks: str,
    *,
    plausible: Limit | None = None,
    possible: Limit | None = None,
) -> Finding | None:
    """The question whether a unit slipped, or None when the reading is inside `limit` or no slip explains it.

    Tried in this order: ten times smaller, ten times larger, the same number in the other unit (mm for inch,
    psi for bar). `units` is the shop's system, `asks` the sheet key to type again. `plausible` is where a reading may
    well lie though outside its limit: in the band of another backing; without it the limit says that too. `possible`
    is where it can lie at all: nothing else is offered for what is bad and can be.
    """
    likely = plausible or limit
    if any(_inside(reading.value, bounds, closed=False) for bounds in (limit, likely, possible) if bounds):
        return None
    for meant in _meant(reading, units):
        value, text = meant
        if _inside(value, likely, closed=True):
            return Finding(
                f"{subject} unit",
                Verdict.OPEN,
                f"{what}: {reading.text} read; was {text} meant?",
                "Look at the instrument and its unit, and type the reading again.",
                measured=reading,
                low=limit.low,
                high=limit.high,
                asks=asks,
                meant=text,
            )
    return None


def impossible(subject: str, reading: Quantity | str, statement: str, remedy: str, asks: str, basis: str) -> Finding:
    """The question about a reading that cannot be: open, whatever it would be judged as."""
    asked = missing(subject, statement, remedy, asks, basis=basis, source=PRACTICE)
    return replace(asked, measured=reading)


def _meant(reading: Quantity, units: str) -> Iterator[tuple[float, str]]:
    kind, unit = reading.kind, reading.unit
    if kind is not Kind.TEMPERATURE:
        for value in (reading.value / 10, reading.value * 10):
            yield value, show(value, kind, units, unit, more=1)
    number = reading.to(unit)
    for other in (kind.metric, kind.inch):
        if other != unit:
            found = BY_SPELLING[other]
            value = number * float(found.factor) + float(found.offset)
            yield value, f"{number:g} {other}"


def _inside(value: float, limit: Limit, *, closed: bool) -> bool:
    """Inside the limit; `closed` also bounds the open end, so that only a likely value counts."""
    floor, ceiling = limit.floor, limit.ceiling
    if closed and floor is None and ceiling is not None:
        floor = ceiling / PLAUSIBLE
    if closed and ceiling is None and floor is not None:
        ceiling = floor * PLAUSIBLE
    slack = 1e-9 * abs(value)
    return (floor is None or value >= floor - slack * closed) and (ceiling is None or value <= ceiling + slack * closed)
