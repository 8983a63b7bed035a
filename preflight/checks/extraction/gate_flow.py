"""Flow at this machine's gates: the reading if there is one, else the duct model, against what each gate needs."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import basis, judged, missing
from preflight.engine.refit import refit_k, relative_difference
from preflight.quantities import Kind, computed, show
from preflight.shop.defaults import AIR_DISAGREES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.checks.extraction.air_evidence import AirEvidence, Suction
    from preflight.engine.network import Network
    from preflight.shop.extraction import Extraction
    from preflight.shop.machine import Machine


def gate_findings(gate: str, machine: Machine, ducts: Extraction, known: AirEvidence) -> Iterator[Finding]:
    """Whether the gate is open and draws what it needs, whether its hood is blocked, how reading and model agree."""
    field, subject = f"sander_gates.{gate}.flow", f"gate {gate}"
    if gate not in known.modelled.gates:
        yield missing(
            subject,
            f"The profile's gate {gate} is not in the extraction profile.",
            "Ask the lead to correct sander_gates.",
            basis=field,
        )
        return
    if gate not in known.opened:
        yield Finding(
            subject,
            Verdict.STOP,
            f"Gate {gate} of this machine is shut.",
            "Open it, then read the air again.",
            "shut",
            allowed=("open",),
            basis=field,
            source=machine.source,
        )
        return
    yield from _flow(gate, machine, known)
    if gate in known.suctions and known.suctions[gate].is_high:
        yield _high_suction(gate, known.suctions[gate])
    if gate in known.measured and known.model_holds and known.modelled.gates[gate].flow > 0:
        yield from _against_model(gate, machine, ducts, known)


def design_findings(ducts: Extraction, known: AirEvidence, units: str) -> Iterator[Finding]:
    """Each open gate's modelled flow against its design flow, where no machine's need is asked; never a stop."""
    if not known.model_holds:
        return
    for gate in ducts.gates:
        if gate.id not in known.opened or gate.design_flow is None or not gate.design_flow.value:
            continue
        flow = known.modelled.gates[gate.id].flow
        share = relative_difference(flow, gate.design_flow.value)
        text = f"Gate {gate.id} draws {show(flow, Kind.AIR_FLOW, units)}"
        short = share < 0
        yield Finding(
            f"gate {gate.id}",
            Verdict.CAUTION if short else Verdict.OK,
            f"{text}, {abs(share):.0%} {'below' if short else 'over'} its design flow ({gate.design_flow}).",
            "Name the machine with its needs for a verdict." if short else "",
            computed(flow, Kind.AIR_FLOW, units),
            basis=f"gates.{gate.id}.design_flow",
            source=ducts.name,
            workings=f"duct model, open: {', '.join(sorted(known.opened))}",
            actions=("filter to be cleaned", "lead told") if short else (),
        )


def _flow(gate: str, machine: Machine, known: AirEvidence) -> Iterator[Finding]:
    units, field, subject = machine.units, f"sander_gates.{gate}.flow", f"gate {gate}"
    value, measured = known.flow(gate), known.measured.get(gate)
    if value is None and known.is_doubtful(gate):
        blocked = known.is_blocked(gate)
        yield missing(
            subject,
            f"Flow at gate {gate} is not known: "
            + ("its hood static shows a block before the tap." if blocked else "the reading there cannot be."),
            "Clear the hood and the hose before the tap, then read again."
            if blocked
            else "Look at the instrument and its unit, and read again.",
            "extraction.readings",
            basis=field,
        )
        return
    if value is None:
        yield missing(
            subject,
            f"Nothing tells the flow at gate {gate}: no reading there, and no verdict from the duct model.",
            "Read velocity or hood static there.",
            "extraction.readings",
            basis=field,
        )
        return
    flow, how = computed(value, Kind.AIR_FLOW, units), "measured" if measured else "by the duct model"
    need = basis(machine.sander_gates[gate].flow, field, machine.source)
    if need is None:
        yield missing(
            subject,
            f"Gate {gate} draws {flow} ({how}), but the profile names no flow it needs.",
            "Ask the lead for the maker's figure; for plausibility only, about 1000 cfm suits one head of about 25 in.",
            basis=field,
        )
        return
    too_low = "Too many other gates are open, or the filter is loaded: shut gates nobody uses, then read again."
    if known.is_plugged(gate):
        expected = show(known.modelled.gates[gate].flow, Kind.AIR_FLOW, units)
        too_low = f"The model expects {expected} with these gates: look for a plug and walk the gates, then read again."
    yield judged(
        subject,
        f"Flow at gate {gate}, {how},",
        flow,
        need,
        units,
        workings=measured.how if measured else f"duct model, open: {', '.join(sorted(known.opened))}",
        too_low=too_low,
        too_high="Others may be starved: ask the system's designer.",
        near="Shut gates nobody uses, or clean the filter soon.",
        actions=("filter to be cleaned", "read again, the same", "lead told"),
    )


def _high_suction(gate: str, suction: Suction) -> Finding:
    above = f"Hood static {suction.read} at {gate} is {suction.share - 1:.0%} above its baseline ({suction.baseline})"
    if suction.is_blocked:
        statement = f"{above}: blocked before the tap, so it tells no flow."
        remedy = "Clear the hood and the hose before the tap, then read again."
    else:
        statement = f"{above}, as the model expects with these gates."
        remedy = "No sign of a block by itself. Read it again with the gates that were open for the baseline."
    expected = "" if suction.expected is None else f"; with these gates the model expects {suction.expected:.2f} of it"
    return Finding(
        f"gate {gate} suction",
        Verdict.CAUTION,
        statement,
        remedy,
        suction.read,
        basis=f"gates.{gate}.hood_static",
        source=f"measured baseline of {suction.taken}",
        workings=f"{suction.share:.2f} of the baseline of {suction.taken}{expected}",
        actions=("hood and hose cleared", "looked in, nothing found", "lead told"),
    )


def _against_model(gate: str, machine: Machine, ducts: Extraction, known: AirEvidence) -> Iterator[Finding]:
    measured, model = known.measured[gate], known.modelled.gates[gate].flow
    apart = relative_difference(measured.flow, model)
    if abs(apart) <= AIR_DISAGREES:
        return
    units, run = machine.units, next(found.run for found in ducts.gates if found.id == gate)
    modelled = show(model, Kind.AIR_FLOW, units)
    k = refitted(known.network, known.opened, gate, measured.flow)
    if k is None:
        offer = f"No fitting loss of run {run} explains it: check the reading and the gates."
        fit = "no fit of the run meets it"
    else:
        now = next(found.k for found in known.network.runs if found.id == run)
        offer = "If the reading holds, ask the lead to fit this branch again."
        fit = f"fitted again, run {run} would have k {k:.2f} in place of {now:.2f}; not applied"
    yield Finding(
        f"gate {gate} model",
        Verdict.CAUTION,
        f"Measured at {gate} is {abs(apart):.0%} {'above' if apart > 0 else 'below'} the duct model "
        f"({modelled} with these gates); the reading counts.",
        f"Walk the gates{' and look for a plug' if apart < 0 else ''}. {offer}",
        computed(measured.flow, Kind.AIR_FLOW, units),
        basis=f"runs.{run}",
        source=ducts.name,
        workings=f"{measured.how}; model {modelled}, open: {', '.join(sorted(known.opened))}; {fit}",
        actions=("gates walked again", "plug cleared", "lead asked to fit the branch again"),
    )


@lru_cache(maxsize=64)
def refitted(air: Network, opened: frozenset[str], gate: str, flow: float) -> float | None:
    """Loss coefficient of the gate's run with which the model meets the reading (m³/s); None when none does."""
    try:
        return refit_k(air, opened, gate, flow)
    except ValueError:
        return None
