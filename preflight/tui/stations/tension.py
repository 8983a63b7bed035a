"""Station 6: the tension gauge of each head; the band is shown after the reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.quantities import Kind
from preflight.shop.defaults import TENSION
from preflight.tui.rows import Row

if TYPE_CHECKING:
    from preflight.tui.run import Run


def rows(run: Run) -> list[Row]:
    """One number a head; supply and leak fall are weekly and may stay empty."""
    view = run.view
    if view is None:
        return []
    unit = Kind.PRESSURE.unit_in(view.machine.units)
    asked: list[Row] = []
    for head in view.machine.heads:
        card = view.belt(run.sheet.belt_on(head.id)) if run.sheet else None
        band = head.tension.get(card.backing) or TENSION.get(card.backing) if card else None
        asked.append(
            Row(
                f"tension.{head.id}",
                f"head {head.id} gauge, {unit}",
                ("tension", head.id),
                Kind.PRESSURE,
                unit,
                hint="Tension on, belt at rest; tap the gauge, then read it.",
                subjects=(f"head {head.id}", f"head {head.id} tension"),
                band=band,
            )
        )
    asked.append(
        Row(
            "tension.supply",
            f"air supply, {unit}",
            ("tension", "supply"),
            Kind.PRESSURE,
            unit,
            hint="Weekly, and after the air was off.",
            subjects=("supply",),
            band=view.machine.air.supply,
            optional=True,
        )
    )
    asked.append(
        Row(
            "tension.leak",
            f"fall in 2 minutes, {unit}",
            ("tension", "leak_fall"),
            Kind.PRESSURE,
            unit,
            hint="Weekly: isolate the air at the machine and wait two minutes.",
            subjects=("leak", "leak fall"),
            optional=True,
        )
    )
    return asked
