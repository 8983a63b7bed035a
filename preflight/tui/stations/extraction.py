"""Station 7: the gates open now, one reading, the bin; the ducts with flow and velocity as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.extraction.air_evidence import evidence
from preflight.checks.extraction.run_speed import fed_runs, speed_limit
from preflight.checks.finding import Verdict
from preflight.quantities import Kind, show
from preflight.tui.rows import APPEND, Choice, Row, share
from preflight.tui.stations.duct_picture import duct_lines, shared_runs

if TYPE_CHECKING:
    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.checks.finding import Finding
    from preflight.shop.extraction import Extraction, Gate
    from preflight.shop.view import ShopView
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Picture
    from preflight.tui.rows import Path
    from preflight.tui.run import Run

OPEN: Path = ("extraction", "open", APPEND)
SHUT: Path = ("extraction", "shut", APPEND)
IN_USE: Path = ("extraction", "in_use", APPEND)
READ_AT = ("", " suction", " model", " reading", " readings", " reading unit")
"""Findings about the reading at a gate."""


def rows(run: Run) -> list[Row]:
    """This machine's gates and the make-up gates, one reading, the bin; then the others as last time, then shared runs.

    What is looked at and read every day so stands on one small screen.
    """
    view = run.view
    if view is None or view.extraction is None:
        return []
    ducts, units = view.extraction, view.machine.units
    known = evidence(run.sheet, view) if run.sheet is not None else None
    own = set(view.machine.sander_gates)
    gates = sorted(ducts.gates, key=lambda gate: (gate.id not in own, not gate.make_up))
    fed = fed_runs(ducts, known.opened) if known is not None else ()
    shared = [] if known is None else [_shared(o.id, known, units, fed=o.id in fed) for o in shared_runs(ducts)]
    worst = _worst(run)
    near, far = ([g for g in gates if (g.id in own or g.make_up) is here] for here in (True, False))
    asked = [[_gate(run, gate, gate.id in own, known, worst, units) for gate in group] for group in (near, far)]
    return [*asked[0], *_readings(view, ducts), *asked[1], *shared]


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """Runs from the collector to the gates, each with its flow, velocity and verdict."""
    if run.view is None or run.view.extraction is None or run.sheet is None or height < 2:
        return []
    known, ducts = evidence(run.sheet, run.view), run.view.extraction
    if known is None:
        return []
    verdicts = {
        f.subject.removeprefix("run "): f.verdict for f in run.findings("extraction") if f.subject.startswith("run ")
    }
    job = run.view.job(run.sheet)
    limit = speed_limit(ducts, job is not None and job.damp).limit
    return duct_lines(ducts, known, verdicts, limit, run.view.machine.units, width, height, charset)


def _shared(name: str, known: AirEvidence, units: str, *, fed: bool) -> Row:
    found = known.modelled.runs[name]
    leaks = "" if fed else "leaks only, "
    return Row(
        f"extraction.run.{name}",
        f"run {name}"[:26],
        shown=f"{leaks}{_air(found.flow, found.velocity, units)}",
        hint="Air of several gates: too few of them open, and dust settles in it.",
        set_by="Worked out from the gates above and the reading: open or shut a gate to change it.",
        subjects=(f"run {name}", f"run {name} exception"),
    )


def _gate(run: Run, gate: Gate, own: bool, known: AirEvidence | None, worst: Finding | None, units: str) -> Row:
    note = ""
    if known is not None and gate.id in known.opened:
        found = known.modelled.gates[gate.id]
        note = _air(known.flow(gate.id) or found.flow, found.velocity * known.share_measured(gate.id), units)
    is_open = Choice("open", ((OPEN, gate.id), (SHUT, None)))
    is_shut = Choice("shut", ((OPEN, None), (SHUT, gate.id)))
    in_use = Choice("in use", ((OPEN, gate.id), (SHUT, None), (IN_USE, gate.id)))
    key = f"extraction.gate.{gate.id}"
    choices: tuple[Choice, ...]
    if own:
        choices, hint = (is_open, is_shut), "This machine's own."
    elif gate.make_up:
        choices, hint = (is_shut, is_open), "Make-up gate: open only to keep the main fast."
    elif gate.stays_open:
        choices, hint = (is_open, is_shut), "Stays open always."
    else:
        choices, hint = (is_shut, is_open, in_use), f"{gate.machine or 'A neighbour'}'s. In use: somebody works there."
    subjects = tuple(f"gate {gate.id}{what}" for what in ("", " stays open", " answer"))
    subjects += (f"run {gate.run}", f"run {gate.run} exception", *(() if run.typed.get(key) else ("gates",)))
    if worst is not None and worst.subject not in subjects:
        hint = f"{_named(worst.subject)}, {worst.verdict.word}: {worst.remedy}"
    return Row(
        key,
        f"gate {gate.id}"[:26],
        choices=choices,
        hint=hint,
        subjects=subjects,
        fact=True,
        note=note,
    )


def _named(subject: str) -> str:
    """A finding's subject in words: what is judged beside the flow of a gate is named."""
    for key, words in ((" model", " against the duct model"), (" suction", " hood static"), (" stays open", "")):
        subject = subject.removesuffix(key) + words if subject.endswith(key) else subject
    return subject


def _worst(run: Run) -> Finding | None:
    """What is worst at gates and runs: its remedy is said where a gate is toggled, whichever that is."""
    return next(
        (
            one
            for one in run.findings("extraction")
            if one.verdict in (Verdict.STOP, Verdict.CAUTION) and one.subject.startswith(("gate ", "run "))
        ),
        None,
    )


def _readings(view: ShopView, ducts: Extraction) -> list[Row]:
    pressure = Kind.DUCT_PRESSURE.unit_in(view.machine.units)
    asked = _air_reading(view, ducts)
    if ducts.bin is not None:
        asked.append(
            Row(
                "extraction.bin",
                "bin full, %",
                ("extraction", "bin_full"),
                reads=share,
                hint="Its window or level mark, from outside; never open it.",
                subjects=("bin", "dust per air"),
            )
        )
    asked.append(
        Row(
            "extraction.filter",
            f"filter drop, {pressure}",
            ("extraction", "filter_drop"),
            Kind.DUCT_PRESSURE,
            pressure,
            hint="Weekly: the gauge across the filter, fan running.",
            subjects=("filter",),
            optional=True,
        )
    )
    if ducts.detects_sparks:
        asked.append(
            Row(
                "extraction.spark",
                "spark detection lamp",
                choices=tuple(
                    Choice(word, ((("extraction", "spark_detection"), word),)) for word in ("healthy", "fault")
                ),
                hint="A fault stops sanding until it is repaired.",
                subjects=("spark detection",),
            )
        )
    return asked


def _air_reading(view: ShopView, ducts: Extraction) -> list[Row]:
    """Hood static where there is a baseline, else air speed; the other one may be given too."""
    gates = [gate for name in view.machine.sander_gates if (gate := ducts.gate(name))]
    gates.sort(key=lambda gate: gate.hood_static is None)
    if not gates:
        return []
    gate, units = gates[0], view.machine.units
    pressure, speed = Kind.DUCT_PRESSURE.unit_in(units), Kind.AIR_SPEED.unit_in(units)
    at = ("extraction", "readings", 0)
    named = (((*at, "gate"), gate.id),)
    subjects = ("fan", "reading", *(f"gate {gate.id}{what}" for what in READ_AT), "fan curve")
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
        hint=f"Vane or pitot in the collar behind gate {gate.id}, mean over the pipe.",
        subjects=subjects,
        also=named,
        optional=gate.hood_static is not None,
    )
    return [static, velocity] if gate.hood_static else [velocity, static]


def _air(flow: float, speed: float, units: str) -> str:
    return f"{show(flow, Kind.AIR_FLOW, units)} {show(speed, Kind.AIR_SPEED, units)}"
