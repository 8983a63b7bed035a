"""A reading against a limit: the one place where a number becomes a verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from preflight.checks.finding import Finding, Verdict
from preflight.quantities import Kind, Quantity, computed, show, show_beside

if TYPE_CHECKING:
    from preflight.shop.limits import Limit

Side = Literal["low", "high", ""]


@dataclass(frozen=True, slots=True)
class Basis:
    """A limit with the field it stands in and where its value comes from."""

    limit: Limit
    field: str
    source: str


def basis(limit: Limit | None, field: str, source: str, default: Limit | None = None) -> Basis | None:
    """The profile's limit, else the default; None when there is neither.

    The source is the limit's own, else `source`, as of its file; a default says that nobody has confirmed it.
    """
    if limit is not None:
        return Basis(limit, field, limit.source or source)
    return Basis(default, field, default.source) if default is not None else None


def verdict_of(value: float, limit: Limit, resolution: float = 0.0) -> tuple[Verdict, Side]:
    """Verdict of an SI value, and which end of the limit decided. A value exactly on a limit is inside it."""
    floor, ceiling = limit.floor, limit.ceiling
    if floor is not None and value < floor:
        return Verdict.STOP, "low"
    if ceiling is not None and value > ceiling:
        return Verdict.STOP, "high"
    inner_low, inner_high = limit.edges(resolution)
    if inner_low is not None and value < inner_low:
        return Verdict.CAUTION, "low"
    if inner_high is not None and value > inner_high:
        return Verdict.CAUTION, "high"
    return Verdict.OK, ""


def undecided(value: float, limit: Limit, resolution: float) -> bool:
    """Whether the nearest limit is nearer than the instrument can tell."""
    ends = [end for end in (limit.floor, limit.ceiling) if end is not None]
    return resolution > 0 and any(abs(value - end) < resolution * (1 - 1e-9) for end in ends)


def judged(
    subject: str,
    what: str,
    reading: Quantity,
    by: Basis,
    units: str,
    *,
    too_low: str = "",
    too_high: str = "",
    near: str = "",
    resolution: float = 0.0,
    unit: str | None = None,
    workings: str = "",
    takes_override: bool = True,
    actions: tuple[str, ...] = (),
) -> Finding:
    """The finding for one reading: says by how much, and what to do at that end.

    `what` starts the sentence ("Belt length, left edge"); `too_low`/`too_high` are the remedies beyond an end,
    `near` the one inside but close; `units` is the shop's system; `resolution` is the instrument's, in SI.
    """
    kind, limit = reading.kind, by.limit
    verdict, side = verdict_of(reading.value, limit, resolution)
    blurred = verdict is not Verdict.STOP and undecided(reading.value, limit, resolution)
    if blurred:
        verdict = Verdict.CAUTION
    text = said(reading, units, unit)
    span = span_of(limit, kind, units, unit)
    if verdict is Verdict.STOP:
        end = limit.floor if side == "low" else limit.ceiling
        assert end is not None
        by_how_much = show_beside(abs(reading.value - end), 0.0, kind, units, unit)
        word = "below" if side == "low" else "over"
        statement = f"{what} {text} is {by_how_much} {word} the limit ({span})."
        remedy = too_low if side == "low" else too_high
    elif blurred:
        can_tell = show(resolution, kind, units, unit)
        statement = (
            f"{what} {text} is nearer to the limit ({span}) than the instrument can tell ({can_tell}): "
            "the reading cannot decide."
        )
        remedy = near or "Read it again with a finer instrument, or move it away from the limit."
    elif verdict is Verdict.CAUTION:
        mark = limit.caution_low if side == "low" else limit.caution_high
        where = f"near its {'lower' if side == 'low' else 'upper'} end"
        if mark is not None:
            where = f"{'below' if side == 'low' else 'over'} {show(mark.value, kind, units, unit)}, where care is asked"
        statement = f"{what} {text} is inside the limit ({span}), but {where}."
        remedy = near or (too_low if side == "low" else too_high)
    else:
        statement = f"{what} {text} is inside the limit ({span})."
        remedy = ""
    return Finding(
        subject=subject,
        verdict=verdict,
        statement=statement,
        remedy=remedy,
        measured=reading,
        low=limit.low,
        high=limit.high,
        basis=by.field,
        source=by.source,
        workings=workings,
        takes_override=takes_override,
        actions=actions if verdict is Verdict.CAUTION else (),
    )


def said(reading: Quantity, units: str, unit: str | None = None) -> str:
    """A reading as typed, with the shop's unit behind it where it was typed in another."""
    shown_in = unit or reading.kind.unit_in(units)
    if reading.unit == shown_in:
        return reading.text
    return f"{reading.text} ({show(reading.value, reading.kind, units, unit)})"


def span_of(limit: Limit, kind: Kind, units: str, unit: str | None = None) -> str:
    """A limit in words: "3.2 to 3.9 bar", "at most 0.05 mm", "at least 2300 m3/h"."""
    low = show(limit.low.value, kind, units, unit) if limit.low else ""
    high = show(limit.high.value, kind, units, unit) if limit.high else ""
    if low and high:
        name = unit or kind.unit_in(units)
        return f"{low.removesuffix(name).strip()} to {high}"
    if low:
        return f"at least {low}"
    if high:
        return f"at most {high}"
    inner = limit.caution_low or limit.caution_high
    assert inner is not None
    return f"better {'above' if limit.caution_low else 'below'} {show(inner.value, kind, units, unit)}"


def apart(one: Quantity, other: Quantity, units: str) -> Quantity:
    """How far two readings are apart, without the rounding of their difference.

    1900.5 mm and 1899.5 mm differ by 1 mm: their floats by a little more, which would break a limit of 1 mm.
    """
    return computed(round(abs(one.value - other.value), 12), one.kind, units)


def missing(subject: str, statement: str, remedy: str, asks: str = "", **more: str) -> Finding:
    """An item that nobody has answered yet: open, never ok."""
    return Finding(
        subject,
        Verdict.OPEN,
        statement,
        remedy,
        asks=asks,
        basis=more.get("basis", ""),
        source=more.get("source", ""),
    )
