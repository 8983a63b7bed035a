"""Part sizes against the machine: length, width, width on the bed with skew, and what tips over."""

from __future__ import annotations

import math
from operator import attrgetter
from typing import TYPE_CHECKING

from preflight.checks.carrier import carrier_words
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, basis, judged, missing, said
from preflight.checks.slips import slip
from preflight.quantities import Kind, Quantity, computed, show_beside
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.sheet import SetupSheet
    from preflight.shop.cards import JobCard
    from preflight.shop.machine import Machine
    from preflight.shop.view import ShopView

SIZE_CARE = ("carrier board used", "fed one at a time, watched", "lead told")


def part_sizes(sheet: SetupSheet, shop: ShopView, job: JobCard | None) -> list[Finding]:
    """Findings of the sizes that the job card names and the operator measured; the machine must take both."""
    machine, stock = shop.machine, sheet.stock
    bed = machine.conveyor
    lengths = [part.length for part in job.parts] if job is not None else []
    widths = [part.width for part in job.parts] if job is not None else []
    found: list[Finding] = []
    if stock.shortest is None and job is None:  # the card's parts answer it, and nothing is asked twice
        what = "The shortest piece is not measured yet, and no job card names it."
        found.append(missing("length", what, "Measure the shortest piece.", "stock.shortest"))
    length_by = basis(bed.part_length, "conveyor.part_length", machine.source, _from_hold_down(bed.hold_down_spacing))
    if length_by is None:
        what = "The profile has neither a shortest part nor the hold-down spacing."
        remedy = "Have the lead take them from the machine book."
        found.append(missing("length limit", what, remedy, basis="conveyor.part_length"))
    width_by = basis(bed.part_width, "conveyor.part_width", machine.source, defaults.PART_WIDTH)
    narrowest, widest = _least(widths, stock.narrowest), _most(widths, stock.widest)
    for subject, what, reading, by, end, asks in (
        ("length", "Shortest piece", _least(lengths, stock.shortest), length_by, "low", "stock.shortest"),
        ("longest", "Longest piece", _most(lengths, stock.shortest), length_by, "high", "stock.shortest"),
        ("narrowest", "Narrowest piece", narrowest, width_by, "low", "stock.narrowest"),
        ("widest", "Widest piece", widest, width_by, "high", "stock.widest"),
    ):
        found += _size(subject, what, reading, by, end, asks, machine)
    if job is not None:
        found += _across(shop, job, widest)
    return found + _tipping(sheet, shop, narrowest)


def _size(
    subject: str, what: str, reading: Quantity | None, by: Basis | None, end: str, asks: str, machine: Machine
) -> list[Finding]:
    one_end = one_end_of(by, end) if by is not None else None
    if reading is None or one_end is None:
        return []
    # a part too short or too narrow can be: nothing longer is offered for it
    asked = slip(subject, what, reading, one_end.limit, machine.units, asks) if end == "high" else None
    return [
        judged(
            subject,
            what,
            reading,
            one_end,
            machine.units,
            too_low=f"{carrier_words(machine)} A part that the rollers do not hold is thrown back.",
            too_high="It does not pass this machine: use a larger one.",
            near="Go by the machine book for parts of this size; feed one at a time, and stand out of line with it.",
            actions=SIZE_CARE,
        ),
        *([asked] if asked is not None else []),
    ]


def _across(shop: ShopView, job: JobCard, widest: Quantity | None) -> list[Finding]:
    """The widest part as it lies on the bed, skew counted, against the bed."""
    machine = shop.machine
    bed, skew = machine.conveyor, math.radians(job.skew_degrees)
    if widest is None:
        return []
    skewed_parts = [part.width.value * math.cos(skew) + part.length.value * math.sin(skew) for part in job.parts]
    occupied = computed(max(*skewed_parts, widest.value * math.cos(skew)), Kind.LENGTH, machine.units)
    free = bed.working_width.value - 2 * bed.edge_margin.value
    limit = Limit(
        high=bed.working_width,
        caution_high=computed(min(max(free, 0.0), bed.working_width.value), Kind.LENGTH, machine.units),
    )
    by = Basis(limit, "conveyor.working_width", machine.source)
    skewed = f" at {job.skew_degrees:g}° skew" if skew else ""
    return [
        judged(
            "across",
            f"Width taken on the bed{skewed}",
            occupied,
            by,
            machine.units,
            too_high="Feed it with less skew, or use a wider machine.",
            near="It reaches into the margin kept free at the edges: less skew, or the wider machine.",
            workings=f"w cos(skew) + l sin(skew) = {occupied}",
            actions=("less skew", "middle of the bed only", "lead told"),
        )
    ]


def _tipping(sheet: SetupSheet, shop: ShopView, narrowest: Quantity | None) -> list[Finding]:
    if narrowest is None or not sheet.stock.thickness:
        return []
    units = shop.machine.units
    thickest = max(sheet.stock.thickness, key=attrgetter("value"))
    least = defaults.WIDTH_PER_THICKNESS * thickest.value
    if narrowest.value >= least:
        return []
    short = show_beside(least - narrowest.value, 0.0, Kind.LENGTH, units)
    return [
        Finding(
            "tipping",
            Verdict.CAUTION,
            f"Narrowest piece {said(narrowest, units)} is {short} under "
            f"{defaults.WIDTH_PER_THICKNESS:g} times its thickness: it tips over.",
            "Feed it on a carrier, or flat side by side.",
            measured=narrowest,
            low=computed(least, Kind.LENGTH, units),
            basis="part width against thickness",
            source=defaults.PRACTICE,
            actions=SIZE_CARE,
        )
    ]


def _least(from_card: Sequence[Quantity], reading: Quantity | None) -> Quantity | None:
    """The smaller of what the card says and what is read: the machine must take both."""
    return min([*from_card, *([reading] if reading else [])], key=attrgetter("value"), default=None)


def _most(from_card: Sequence[Quantity], reading: Quantity | None) -> Quantity | None:
    return max([*from_card, *([reading] if reading else [])], key=attrgetter("value"), default=None)


def one_end_of(by: Basis, end: str) -> Basis | None:
    """The one end of a limit that this piece can break; None when the profile leaves it open.

    A window of 3 to 160 mm is two limits of different meaning, not a band to stay in the middle of: a board of
    18 mm is in order. So its edge is the stated caution bound, else a tenth of that end.
    """
    limit = by.limit
    if end == "low":
        one = Limit(low=limit.low, caution_low=limit.caution_low, source=limit.source)
    else:
        one = Limit(high=limit.high, caution_high=limit.caution_high, source=limit.source)
    return Basis(one, by.field, by.source) if any((one.low, one.high, one.caution_low, one.caution_high)) else None


def _from_hold_down(spacing: Quantity | None) -> Limit | None:
    if spacing is None:
        return None
    least = spacing.value + defaults.LENGTH_OVER_HOLD_DOWN.value
    return Limit(low=computed(least, Kind.LENGTH), source=defaults.PRACTICE)
