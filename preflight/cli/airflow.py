"""`preflight airflow`: flows, velocities and advice for a set of open gates, as lines or as one JSON document."""

from __future__ import annotations

import difflib
import json
from typing import TYPE_CHECKING

from preflight import clock
from preflight.checks.extraction.air_evidence import modelled
from preflight.checks.extraction.check import off_curve, with_advice
from preflight.checks.extraction.filter_drop import filter_findings
from preflight.checks.extraction.gate_cure import AirNeeds, gate_cure
from preflight.checks.extraction.gate_flow import design_findings, gate_findings
from preflight.checks.extraction.run_speed import excepted, speed_findings, speed_limit
from preflight.checks.finding import worst
from preflight.cli.airflow_text import Airflow, document, lines
from preflight.cli.assess import EXIT_STATUS
from preflight.cli.shop_files import shop_files
from preflight.errors import PreflightError
from preflight.outside_text import joined
from preflight.quantities import Kind, parse
from preflight.shop.consistency import extraction_problems, machine_problems
from preflight.shop.extraction import Extraction
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError
from preflight.units import BY_SPELLING

if TYPE_CHECKING:
    import argparse
    from datetime import date

    from preflight.quantities import Quantity
    from preflight.shop.files import Loaded
    from preflight.shop.folder import Shop


class AirflowInputError(PreflightError):
    """Gates, a machine or a duct system that do not fit together."""


def run(arguments: argparse.Namespace) -> int:
    """Solve, judge and print. Raises `PreflightError` for input that cannot be used."""
    ducts, machine = _profiles(shop_files(arguments.shop), arguments.extraction, arguments.machine)
    opened = _gates(arguments.open, ducts.value)
    in_use = _gates(arguments.in_use or [], ducts.value)
    drop = parse(arguments.filter_drop, Kind.DUCT_PRESSURE) if arguments.filter_drop else None
    found = airflow(
        ducts,
        machine,
        opened,
        in_use=in_use,
        filter_drop=drop,
        damp=arguments.damp,
        day=clock.now().date(),
    )
    status = EXIT_STATUS[found.verdict]
    print(json.dumps(document(found), indent=2) if arguments.json else joined(lines(found, status)))
    return status


def airflow(
    ducts: Loaded[Extraction],
    machine: Loaded[Machine] | None,
    opened: frozenset[str],
    *,
    in_use: frozenset[str] = frozenset(),
    filter_drop: Quantity | None = None,
    damp: bool = False,
    day: date,
) -> Airflow:
    """The network solved and judged: by the machine's needs, or without one by the gates' design flows.

    Without a machine no open gate is advised to be shut: nobody has said whose air counts.
    """
    known = modelled(ducts.value, opened, filter_drop.value if filter_drop else None)
    if known.filter_note:
        raise AirflowInputError(f"The filter drop {filter_drop} cannot be used: {known.filter_note}.")
    own = machine.value.sander_gates if machine else {}
    units = machine.value.units if machine else _units(ducts.value)
    needs = AirNeeds(
        {gate: need.flow for gate, need in own.items()},
        speed_limit(ducts.value, damp).limit,
        in_use & opened if machine else opened,
        excepted(ducts.value, day),
    )
    if machine:
        flows = [one for gate in own for one in gate_findings(gate, machine.value, ducts.value, known)]
    else:
        flows = list(design_findings(ducts.value, known, units))
    speeds = speed_findings(ducts.value, known, damp, day, units)
    findings = [
        *([off_curve(ducts.value, known, units)] if opened and not known.model_holds else []),
        *with_advice([*flows, *speeds], needs, ducts.value, known, units, quick=False),
        *filter_findings(filter_drop, ducts.value, known, units),
    ]
    return Airflow(
        ducts=ducts,
        machine=machine,
        units=units,
        known=known,
        needs=needs,
        findings=tuple(findings),
        verdict=worst(one.verdict for one in findings),
        advice=gate_cure(known, needs, quick=False),
    )


def _profiles(
    shop: Shop, extraction: str | None, machine: str | None
) -> tuple[Loaded[Extraction], Loaded[Machine] | None]:
    """The duct system, named or the machine's own or the only one there, and the machine if one is named."""
    profile = shop.load(Machine, machine) if machine else None
    around = shop.with_home_of(profile.path) if profile else shop
    ref, near = extraction, None
    if ref is None and profile is not None:
        ref, near = profile.value.extraction, profile.path.parent
    if ref is None:
        known = shop.ids(Extraction)
        if profile is not None:
            raise AirflowInputError(
                f"{profile.path}: names no extraction profile.", f"Name it with --extraction: {', '.join(known)}."
            )
        if len(known) != 1:
            raise AirflowInputError(
                "Which duct system?",
                f"Name it with --extraction, or a machine that has one. Known here: {', '.join(known)}.",
            )
        ref = known[0]
    ducts = around.load(Extraction, ref, near)
    if found := extraction_problems(ducts.value):
        raise FileProblemsError(str(ducts.path), found)
    if profile is not None and (found := machine_problems(profile.value, ducts.value)):
        raise FileProblemsError(str(profile.path), found)
    return ducts, profile


def _gates(listed: list[str], ducts: Extraction) -> frozenset[str]:
    """Gate ids from "A,B" and repeated options; an unknown one is refused with a suggestion."""
    known = [gate.id for gate in ducts.gates]
    named = [name.strip() for text in listed for name in text.split(",") if name.strip()]
    for name in named:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"Did you mean {near[0]!r}?" if near else f"Its gates: {', '.join(known)}."
            raise AirflowInputError(f"{ducts.name} has no gate {name!r}.", hint)
    return frozenset(named)


def _units(ducts: Extraction) -> str:
    """The system that the profile's own lengths are written in."""
    return "inch" if ducts.runs[0].diameter.unit in (BY_SPELLING["in"].name, BY_SPELLING["ft"].name) else "metric"
