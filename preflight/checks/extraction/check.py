"""Station 7: is there air enough at this machine for the gates open now, and fast enough in every open run."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.extraction.air_evidence import evidence
from preflight.checks.extraction.dust_load import dust_findings
from preflight.checks.extraction.extraction_on import on_findings
from preflight.checks.extraction.filter_drop import filter_findings
from preflight.checks.extraction.gate_answers import answer_findings
from preflight.checks.extraction.gate_cure import AirNeeds, gate_cure
from preflight.checks.extraction.gate_flow import gate_findings
from preflight.checks.extraction.gate_words import BALANCE, advice_sentence
from preflight.checks.extraction.run_speed import excepted, speed_findings, speed_limit
from preflight.checks.finding import Finding, Verdict, worst
from preflight.checks.judge import missing
from preflight.quantities import Kind, show
from preflight.shop.defaults import PRACTICE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.extraction import Extraction
    from preflight.shop.view import ShopView


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Fan, reading, flow at each of this machine's gates, velocity in every open run, filter, bin, dust per air."""
    ducts = shop.extraction
    found = list(on_findings(sheet.extraction, ducts, shop.machine.sander_gates))
    if ducts is None:
        gap = missing(
            "extraction",
            "The machine profile names no extraction profile, so no air flow can be judged.",
            "Ask the lead to name the duct system in the machine profile.",
            basis="extraction",
        )
        return [*found, gap]
    known = evidence(sheet, shop)
    found += answer_findings(sheet.extraction, ducts)
    if known is not None:
        found += _air(sheet, shop, ducts, known)
        found += filter_findings(sheet.extraction.filter_drop, ducts, known, shop.machine.units)
    return [*found, *dust_findings(sheet, shop, known)]


def _air(sheet: SetupSheet, shop: ShopView, ducts: Extraction, known: AirEvidence) -> Iterator[Finding]:
    machine = shop.machine
    for gate, why in known.unread.items():
        yield missing(
            f"gate {gate} reading",
            f"The reading at {gate} gives no flow: {why}.",
            "Read hood static, velocity pressure or velocity at an open gate of this machine.",
            "extraction.readings",
        )
    yield from _strange(known, machine.units)
    if not machine.sander_gates:
        yield missing(
            "gates of this machine",
            "The profile does not say which gates serve this machine.",
            "Ask the lead to name them under sander_gates, with the flow each needs.",
            basis="sander_gates",
        )
    if known.opened and not known.model_holds:
        yield off_curve(ducts, known, machine.units)
    job, day = shop.job(sheet), sheet.at.date()
    damp = job is not None and job.damp
    flows = [one for gate in machine.sander_gates for one in gate_findings(gate, machine, ducts, known)]
    speeds = list(speed_findings(ducts, known, damp, day, machine.units))
    needs = AirNeeds(
        {gate: need.flow for gate, need in machine.sander_gates.items() if ducts.gate(gate)},
        speed_limit(ducts, damp).limit,
        frozenset(sheet.extraction.in_use) & known.opened,
        excepted(ducts, day),
    )
    yield from with_advice([*flows, *speeds], needs, ducts, known, machine.units)


def _strange(known: AirEvidence, units: str) -> Iterator[Finding]:
    """Readings that cannot be, with the slip that would explain one, and readings of one gate that do not agree."""
    for gate, wrong in known.impossible.items():
        remedy = "Look at the instrument and its unit, and read again."
        asking = missing(f"gate {gate} reading", wrong.said(gate, units), remedy, "extraction.readings", basis="fan")
        yield replace(asking, measured=wrong.read)
        if (asked := wrong.slipped(gate, units)) is not None:
            yield asked
    for gate, (least, most) in known.apart.items():
        low, high = (show(one.flow, Kind.AIR_FLOW, units) for one in (least, most))
        yield Finding(
            f"gate {gate} readings",
            Verdict.CAUTION,
            f"The readings at {gate} do not agree: {low} by one, {high} by another. The lower one counts.",
            "Read both again; if they stay apart, look for a block and have the instruments compared.",
            low,
            basis=f"gates.{gate}",
            source=PRACTICE,
            workings=f"{least.how}; {most.how}",
            actions=("both read again", "lead told"),
        )


def with_advice(
    found: Sequence[Finding],
    needs: AirNeeds,
    ducts: Extraction,
    known: AirEvidence,
    units: str,
    *,
    quick: bool = True,
) -> Sequence[Finding]:
    """The findings, with the gates to shut or open as the remedy of those that gates can help.

    `quick` is for an answer between two key presses, see `gate_cure`.
    """
    verdict = worst(one.verdict for one in found if _is_for_gates(one))
    if verdict is Verdict.OK:
        return found
    advice = gate_cure(known, needs, quick=quick)
    if advice.reason is not None and verdict is not Verdict.STOP:
        return found  # inside the limits: what the finding itself says is enough
    make_up = {gate.id for gate in ducts.gates if gate.make_up}
    sentence = advice_sentence(advice, units, known.opened, make_up, needs.flows)
    if not sentence:
        return found
    return [
        replace(one, remedy=sentence, workings=f"{one.workings}. {BALANCE}") if _is_for_gates(one) else one
        for one in found
    ]


def _is_for_gates(finding: Finding) -> bool:
    """A flow or velocity by the model that misses its limit; a plug or a block is not cured by gates."""
    return (
        finding.verdict in (Verdict.CAUTION, Verdict.STOP)
        and finding.basis.endswith((".flow", "velocity", "velocity_damp"))
        and finding.measured != "shut"
        and "plug" not in finding.remedy
    )


def off_curve(ducts: Extraction, known: AirEvidence, units: str) -> Finding:
    """No verdict from the model; the gates' design flows are all that is left to say."""
    fan = known.modelled.fan
    if not known.modelled.converged:
        why = "The duct model does not settle for these gates: no verdict from it."
    else:
        flow, end = (show(q, Kind.AIR_FLOW, units) for q in (fan.flow, known.network.fan.flows[-1]))
        why = f"The fan would work at {flow}, outside the points of its curve (to {end}): no verdict from the model."
    design = [gate.design_flow.value for gate in ducts.gates if gate.id in known.opened and gate.design_flow]
    asked = f" The open gates' design flows add up to {show(sum(design), Kind.AIR_FLOW, units)}." if design else ""
    return missing(
        "fan curve",
        why,
        f"Measure at this machine's gates, shut gates nobody uses, or ask for a fuller fan curve.{asked}",
        basis="fan",
    )
