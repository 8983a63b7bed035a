"""Station 6: the tension gauge of each head; the band is shown after the reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.belts.belt_change import other_belts
from preflight.checks.running.weekly import asked_today
from preflight.checks.tension.check import band_of
from preflight.quantities import Kind, show
from preflight.shop.defaults import AIR_LEAK
from preflight.tui.painting import fit
from preflight.tui.rows import Row

if TYPE_CHECKING:
    from preflight.shop.limits import Limit
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run


def rows(run: Run) -> list[Row]:
    """One number a head that is not lifted; supply and leak fall may stay empty until they are due."""
    view = run.view
    if view is None:
        return []
    unit = Kind.PRESSURE.unit_in(view.machine.units)
    asked: list[Row] = []
    changed = other_belts(run.sheet, run.history) if run.sheet else ()
    due = asked_today(run.sheet, view.machine, run.history) if run.sheet is not None else frozenset()
    for head in view.machine.heads:
        on = run.sheet.belt_on(head.id) if run.sheet else None
        card = view.belt(on)
        band = band_of(head, card.backing) if card else None
        asked.append(
            Row(
                f"tension.{head.id}",
                f"head {head.id} gauge, {unit}",
                ("tension", head.id),
                Kind.PRESSURE,
                unit,
                hint="Tension on, belt at rest; tap the gauge, then read it.",
                subjects=tuple(f"head {head.id}{what}" for what in ("", " unit", " drift", " creep", " line tension")),
                band=band,
                optional=on is not None and on.lifted,
            )
        )
        if head.id in changed and not (on is not None and on.lifted):
            asked.append(
                Row(
                    f"tension.running.{head.id}",
                    f"head {head.id} running, {unit}",
                    ("tension", "running", head.id),
                    Kind.PRESSURE,
                    unit,
                    hint="Another belt is on: after two or three minutes' run, door shut, once more.",
                    subjects=(f"head {head.id} running", f"head {head.id} running unit"),
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
            subjects=("supply", "supply unit"),
            band=view.machine.air.supply,
            optional="air supply" not in due,
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
            subjects=("leak", "leak unit"),
            band=view.machine.air.leak_fall or AIR_LEAK,
            optional="leak test" not in due,
        )
    )
    return asked


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """Every head that was read on its band, all bands drawn to one width: too low left, too high right."""
    view, sheet = run.view, run.sheet
    if view is None or sheet is None or width < 36:
        return []
    lines: list[Line] = []
    for head in view.machine.heads:
        card, reading = view.belt(sheet.belt_on(head.id)), sheet.tension.gauge.get(head.id)
        band = band_of(head, card.backing) if card else None
        if reading is None or band is None or band.floor is None or band.ceiling is None:
            continue
        lines.append(_bar(f"head {head.id}", reading.value, band, width, charset, view.machine.units))
    if lines:
        ends = f"{fit('', _NAME)}too low{fit('', max(0, width - _NAME - _ENDS - 15))}too high"
        lines.append([(ends[:width], "dim")])
    return lines[:height]


_NAME, _ENDS = 9, 16


def _bar(name: str, value: float, band: Limit, width: int, charset: Charset, units: str) -> Line:
    """The band fills the middle half; what lies beyond either end is pinned to the edge."""
    low, high = band.floor or 0.0, band.ceiling or 0.0
    room = max(8, width - _NAME - _ENDS)
    reach = (high - low) / 2 or 1.0
    inner_low, inner_high = band.edges()
    cells = []
    for x in range(room):
        here = low - reach + (high - low + 2 * reach) * (x + 0.5) / room
        inside = low <= here <= high
        near = inside and not ((inner_low or low) <= here <= (inner_high or high))
        glyph, role = (
            (charset.edge, "caution") if near else (charset.inside, "ok") if inside else (charset.outside, "rule")
        )
        cells.append((glyph, role))
    at = round((value - low + reach) / (high - low + 2 * reach) * room - 0.5)
    cells[min(room - 1, max(0, at))] = (charset.reading, "mark strong")
    unit = Kind.PRESSURE.unit_in(units)
    span = f" {show(low, Kind.PRESSURE, units).removesuffix(unit).strip()} to {show(high, Kind.PRESSURE, units)}"
    return [(fit(name, _NAME), "text"), *cells, (fit(span, _ENDS), "dim")]
