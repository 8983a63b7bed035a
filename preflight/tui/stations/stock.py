"""Station 1: the job card, the thickest and thinnest piece, metal."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from preflight.quantities import Kind, QuantityError, parse, show
from preflight.tui.rows import Choice, Row, whole

if TYPE_CHECKING:
    from preflight.tui.run import Run

_SIZES = ("length", "length limit", "longest", "narrowest", "widest", "across", "tipping")
"""What the sizes on the card are judged by."""

CARD = "That stands on the job card: another card is picked with F7, the card itself is the lead's."


def rows(run: Run) -> list[Row]:
    """Job, thickest, thinnest, metal; moisture and shortest come from the card."""
    view = run.view
    if view is None:
        return []
    units = view.machine.units
    unit = Kind.LENGTH.unit_in(units)
    names = Counter(card.name for card in view.jobs.values())
    jobs = tuple(
        Choice(card.name if names[card.name] == 1 else f"{ref}  {card.name}", ((("job",), ref),))
        for ref, card in sorted(view.jobs.items())
    )
    asked = [
        Row(
            "stock.job",
            "job card",
            choices=jobs,
            hint="What is sanded now; F7 lists all cards.",
            subjects=("job", *_SIZES),
        ),
        Row(
            "stock.thickest",
            f"thickest piece, {unit}",
            ("stock", "thickness", 0),
            Kind.LENGTH,
            unit,
            hint="Caliper, two corners and the middle of the thick ones; beads aside.",
            subjects=("thickness", "thickness unit", "opening", "spread", "tipping"),
        ),
        Row(
            "stock.thinnest",
            f"thinnest piece, {unit}",
            ("stock", "thickness", 1),
            Kind.LENGTH,
            unit,
            hint="Of at least five pieces, or the square root of the lot.",
            subjects=("thickness", "thinnest", "thinnest unit", "opening", "spread"),
            doubt=_swapped(run, unit),
        ),
        Row(
            "stock.metal",
            "metal found, pieces",
            ("stock", "metal_found"),
            reads=whole,
            hint="Wand over the stack. 0 when none is left in.",
            subjects=("metal",),
        ),
        Row(
            "stock.resolution",
            f"caliper reads to, {unit}",
            ("stock", "instrument", "resolution"),
            Kind.LENGTH,
            unit,
            hint="Smallest step the caliper shows.",
            subjects=("instrument",),
            fact=True,
            optional=True,
        ),
    ]
    job = run.sheet and view.job(run.sheet)
    if job:
        shortest = min(part.length.value for part in job.parts)
        faces = f"{job.faces} faces" if job.faces > 1 else "1 face"
        target = show(job.target_thickness.value, Kind.LENGTH, units)
        asked += [
            Row(
                "stock.wants",
                "it wants",
                shown=f"{target}, {faces}, {sum(p.count for p in job.parts)} parts",
                set_by=CARD,
                subjects=_SIZES,
            ),
            Row(
                "stock.shortest",
                "shortest part",
                shown=show(shortest, Kind.LENGTH, units),
                set_by=CARD,
                subjects=("length", "length limit"),
            ),
        ]
    return asked


def _swapped(run: Run, unit: str) -> str:
    """Asks whether thickest and thinnest piece stand in each other's row."""
    typed = [run.typed.get(f"stock.{which}", "").strip() for which in ("thickest", "thinnest")]
    try:
        thickest, thinnest = (parse(text, Kind.LENGTH, unit) for text in typed)
    except QuantityError:
        return ""
    if thinnest.value <= thickest.value:
        return ""
    return f"Thinnest piece {thinnest} is thicker than the thickest, {thickest}: swapped? Type each in its own row."
