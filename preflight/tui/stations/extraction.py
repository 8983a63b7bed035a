"""Station 7: the gates open now, one reading, the bin; the ducts with flow and velocity as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.air_evidence import evidence
from preflight.quantities import Kind, show
from preflight.tui.rows import APPEND, Choice, Row, share
from preflight.tui.stations.duct_picture import duct_lines

if TYPE_CHECKING:
    from preflight.shop.extraction import Extraction, Gate
    from preflight.shop.view import ShopView
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Picture
    from preflight.tui.run import Run

OPEN = ("extraction", "open", APPEND)


def rows(run: Run) -> list[Row]:
    """One reading at this machine, the bin, then every gate as last time; only those that differ are touched."""
    view = run.view
    if view is None or view.extraction is None:
        return []
    ducts = view.extraction
    asked = [*_reading(view, ducts)]
    if ducts.bin is not None:
        asked.append(
            Row(
                "extraction.bin",
                "bin full, %",
                ("extraction", "bin_full"),
                reads=share,
                hint="Its window or level mark, from outside; never open it.",
                subjects=("bin",),
            )
        )
    asked.append(
        Row(
            "extraction.filter",
            f"filter drop, {Kind.DUCT_PRESSURE.unit_in(view.machine.units)}",
            ("extraction", "filter_drop"),
            Kind.DUCT_PRESSURE,
            Kind.DUCT_PRESSURE.unit_in(view.machine.units),
            hint="Weekly: the gauge across the filter, fan running.",
            subjects=("filter",),
            optional=True,
        )
    )
    own = set(view.machine.sander_gates)
    return [*asked, *(_gate(run, gate, gate.id in own) for gate in sorted(ducts.gates, key=lambda g: g.id not in own))]


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """Runs from the gates to the collector, each with its flow, velocity and verdict."""
    if run.view is None or run.view.extraction is None or run.sheet is None:
        return []
    known = evidence(run.sheet, run.view)
    if known is None:
        return []
    verdicts = {
        f.subject.removeprefix("run "): f.verdict for f in run.findings("extraction") if f.subject.startswith("run ")
    }
    return duct_lines(run.view.extraction, known, verdicts, run.view.machine.units, width, height, charset)


def _reading(view: ShopView, ducts: Extraction) -> list[Row]:
    gates = [gate for name in view.machine.sander_gates if (gate := ducts.gate(name))]
    gates.sort(key=lambda gate: gate.hood_static is None)
    if not gates:
        return []
    gate, units = gates[0], view.machine.units
    pressure, speed = Kind.DUCT_PRESSURE.unit_in(units), Kind.AIR_SPEED.unit_in(units)
    at = ("extraction", "readings", 0)
    named = (((*at, "gate"), gate.id),)
    subjects = (f"gate {gate.id}", f"gate {gate.id} suction", f"gate {gate.id} model", "reading")
    static = Row(
        "extraction.static",
        f"hood static, {pressure}",
        (*at, "hood_static"),
        Kind.DUCT_PRESSURE,
        pressure,
        hint=f"U-tube on the tap behind gate {gate.id}, fan on, drums still.",
        subjects=subjects,
        also=named,
        optional=gate.hood_static is None,
    )
    velocity = Row(
        "extraction.velocity",
        f"or air speed there, {speed}",
        (*at, "velocity"),
        Kind.AIR_SPEED,
        speed,
        hint=f"Vane or pitot in the collar behind gate {gate.id}.",
        subjects=subjects,
        also=named,
        optional=gate.hood_static is not None,
    )
    return [static, velocity] if gate.hood_static else [velocity, static]


def _gate(run: Run, gate: Gate, own: bool) -> Row:
    assert run.view is not None
    note = ""
    if run.sheet is not None and (known := evidence(run.sheet, run.view)) and gate.id in known.modelled.gates:
        flow = known.modelled.gates[gate.id]
        if flow.open:
            units = run.view.machine.units
            note = f"{show(flow.flow, Kind.AIR_FLOW, units)} {show(flow.velocity, Kind.AIR_SPEED, units)}"
    states = ("open", "shut") if own or gate.stays_open else ("shut", "open")
    return Row(
        f"extraction.gate.{gate.id}",
        f"gate {gate.id}"[:26],
        choices=tuple(Choice(word, ((OPEN, gate.id if word == "open" else None),)) for word in states),
        hint="This machine's."
        if own
        else f"Serves {gate.machine or 'another machine'}." + (" Make-up gate." if gate.make_up else ""),
        subjects=(f"gate {gate.id}", f"run {gate.run}"),
        fact=True,
        note=note,
    )
