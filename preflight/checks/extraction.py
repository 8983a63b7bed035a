"""Station 7: is there air enough at this machine for the gates open now, and fast enough in every open run."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.checks.air_evidence import AirEvidence, evidence
from preflight.checks.dust_load import dust_findings
from preflight.checks.finding import Finding, Verdict, worst
from preflight.checks.gate_words import advice_sentence
from preflight.checks.judge import basis, judged, missing
from preflight.engine.gate_advice import GateAdvice, advise
from preflight.engine.refit import relative_difference
from preflight.quantities import Kind, computed, show
from preflight.shop.defaults import AIR_SPEED, AIR_SPEED_DAMP
from preflight.shop.duct_network import clean_filter

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.checks.judge import Basis
    from preflight.engine.network import Network
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.extraction import Extraction, Run
    from preflight.shop.view import ShopView

DISAGREE = 0.15
"""Measured and modelled further apart than this is said."""
BLOCKED = 1.15
"""Hood static above this share of its baseline: blocked before the tap."""
DIRTY = 1.5
"""Filter drop above this share of the clean one asks for cleaning."""


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Fan, reading, flow at each of this machine's gates, velocity in every open run, filter, bin, dust per air."""
    answers, ducts = sheet.extraction, shop.extraction
    found = list(_fan_and_detector(sheet))
    if ducts is None:
        return [
            *found,
            missing(
                "extraction",
                "The machine profile names no extraction profile, so no air flow can be judged.",
                "Ask the lead to name the duct system in the machine profile.",
                basis="extraction",
            ),
        ]
    if answers.open is None:
        found.append(
            missing(
                "gates",
                "Nobody has said which gates are open now.",
                "Walk the gates and mark each one open or shut.",
                "extraction.open",
            )
        )
    known = evidence(sheet, shop)
    if known is not None:
        found += _gates(sheet, shop, ducts, known)
        found += _filter(sheet, shop, ducts, known)
    if not sheet.extraction.readings:
        found.append(
            Finding(
                "reading",
                Verdict.OPEN,
                "No air reading was taken at this machine today.",
                "Read the hood static, or the velocity at the collar, with these gates open.",
                takes_override=False,
                asks="extraction.readings",
            )
        )
    return [*found, *dust_findings(sheet, shop, known)]


def _fan_and_detector(sheet: SetupSheet) -> Iterator[Finding]:
    if sheet.extraction.fan == "off":
        yield Finding(
            "fan",
            Verdict.STOP,
            "The extraction fan is off.",
            "Start extraction first, the machine second, feed last.",
            "off",
            allowed=("on",),
            takes_override=False,
        )
    if sheet.extraction.spark_detection == "fault":
        yield Finding(
            "spark detection",
            Verdict.STOP,
            "The spark detection shows a fault.",
            "Do not sand. Call maintenance; it clears with a repair entry.",
            "fault",
            allowed=("healthy", "none fitted"),
            takes_override=False,
        )


def _gates(sheet: SetupSheet, shop: ShopView, ducts: Extraction, known: AirEvidence) -> list[Finding]:
    units = shop.machine.units
    opened = frozenset(sheet.extraction.open or ())
    found = [
        missing(
            f"gate {gate}",
            f"Gate {gate} is not in the extraction profile {ducts.name}.",
            "Correct the gate's name, or add it to the profile.",
            "extraction.open",
            basis="gates",
        )
        for gate in sorted(opened - {g.id for g in ducts.gates})
    ]
    found += [
        missing(
            f"gate {gate} reading",
            f"The reading at {gate} gives no flow: {why}.",
            "Read hood static, velocity pressure or velocity there.",
            "extraction.readings",
        )
        for gate, why in known.unread.items()
    ]
    flows = [f for gate in shop.machine.sander_gates for f in _flow(gate, sheet, shop, known)]
    speeds = list(_velocities(sheet, shop, ducts, known))
    if worst(f.verdict for f in (*flows, *speeds)) is Verdict.STOP:
        advice = _advice(sheet, shop, ducts, known.network)
        sentence = advice_sentence(advice, units)
        flows, speeds = ([_advised(f, sentence) for f in group] for group in (flows, speeds))
    if not shop.machine.sander_gates:
        found.append(
            missing(
                "gates of this machine",
                "The profile does not say which gates serve this machine.",
                "Ask the lead to name them under sander_gates, with the flow each needs.",
                basis="sander_gates",
            )
        )
    if known.modelled.fan.flow > 0 and not known.modelled.fan.on_curve:
        flow = show(known.modelled.fan.flow, Kind.AIR_FLOW, units)
        found.append(
            missing(
                "fan",
                f"The fan would work at {flow}, outside the points of its curve: no verdict from the model.",
                "Measure at the machine's gates, or ask for a fuller fan curve.",
                basis="fan",
            )
        )
    return [*found, *flows, *speeds]


def _flow(gate: str, sheet: SetupSheet, shop: ShopView, known: AirEvidence) -> Iterator[Finding]:
    units, field = shop.machine.units, f"sander_gates.{gate}.flow"
    subject = f"gate {gate}"
    if gate not in known.modelled.gates:
        yield missing(
            subject,
            f"The profile's gate {gate} is not in the extraction profile.",
            "Ask the lead to correct sander_gates.",
            basis=field,
        )
        return
    if gate not in (sheet.extraction.open or ()):
        yield Finding(
            subject,
            Verdict.STOP,
            f"Gate {gate} of this machine is shut.",
            "Open it, then read the air again.",
            "shut",
            allowed=("open",),
            basis=field,
            source=shop.machine.book,
        )
        return
    measured = known.measured.get(gate)
    model = known.modelled.gates[gate].flow
    need = basis(shop.machine.sander_gates[gate].flow, field, shop.machine.book)
    flow = computed(measured.flow if measured else model, Kind.AIR_FLOW, units)
    how = measured.how if measured else f"duct model, gates open: {', '.join(sorted(sheet.extraction.open or ()))}"
    if need is None:
        yield missing(
            subject,
            f"Gate {gate} draws {flow}, but the profile names no flow it needs.",
            "Ask the lead for the maker's figure; about 1000 cfm suits one head of about 25 in, no more.",
            basis=field,
        )
    elif measured or known.modelled.fan.on_curve:
        what = f"Flow at gate {gate}, {'measured' if measured else 'modelled'},"
        yield judged(
            subject,
            what,
            flow,
            need,
            units,
            workings=how,
            too_low="Too many other gates are open, or the filter is loaded: shut gates nobody uses.",
            too_high="Other gates may be starved: open them, or ask the system's designer.",
            near="Shut gates nobody uses, or clean the filter soon.",
            actions=("unused gates shut", "filter cleaned", "lead told"),
        )
    if measured and measured.suction_share is not None and measured.suction_share > BLOCKED:
        yield Finding(
            f"{subject} suction",
            Verdict.CAUTION,
            f"Hood static at {gate} is {measured.suction_share - 1:.0%} above its baseline: the flow is less than it looks.",
            "Look for a blocked hood or hose before the tap.",
            f"{measured.suction_share:.2f} of baseline",
            workings=measured.how,
            basis=f"gates.{gate}.hood_static",
            actions=("hood and hose cleared", "lead told"),
        )
    if measured and model > 0 and known.modelled.fan.on_curve:
        apart = relative_difference(measured.flow, model)
        if abs(apart) > DISAGREE:
            yield Finding(
                f"{subject} model",
                Verdict.CAUTION,
                f"Measured at {gate} is {abs(apart):.0%} {'above' if apart > 0 else 'below'} the duct model ({show(model, Kind.AIR_FLOW, units)}).",
                "Check which gates are open and look for a plug; if the reading holds, have that branch fitted again.",
                flow,
                workings=measured.how,
                basis="extraction profile",
                actions=("gates walked again", "lead told"),
            )


def _velocities(sheet: SetupSheet, shop: ShopView, ducts: Extraction, known: AirEvidence) -> Iterator[Finding]:
    job, units = shop.job(sheet), shop.machine.units
    damp = job is not None and job.damp
    limit, field = (ducts.velocity_damp, "velocity_damp") if damp else (ducts.velocity, "velocity")
    by = basis(limit, field, ducts.name, AIR_SPEED_DAMP if damp else AIR_SPEED)
    assert by is not None
    for run in ducts.runs:
        if known.modelled.runs[run.id].flow > 0 and _feeds(run, sheet, ducts):
            yield from _velocity(run, by, sheet, units, known, ducts)


def _velocity(
    run: Run, by: Basis, sheet: SetupSheet, units: str, known: AirEvidence, ducts: Extraction
) -> Iterator[Finding]:
    own = [gate.id for gate in ducts.gates if gate.run == run.id and gate.id in (sheet.extraction.open or ())]
    alone = len(own) == 1 and not any(other.into == run.id for other in ducts.runs)
    model = known.modelled.runs[run.id]
    speed, how = model.velocity, "duct model, V = Q/A"
    if alone and own[0] in known.measured and model.flow > 0:
        speed, how = model.velocity * known.measured[own[0]].flow / model.flow, known.measured[own[0]].how
    elif not known.modelled.fan.on_curve:
        return
    main = " (the main)" if run.into == "collector" else ""
    finding = judged(
        f"run {run.id}",
        f"Air in run {run.id}{main}",
        computed(speed, Kind.AIR_SPEED, units),
        by,
        units,
        workings=how,
        too_low="Dust settles in it and may burn later: open the make-up gate, or another one.",
        near="Dust may settle: open the make-up gate when there is one, and look inside at the next clean-out.",
        actions=("make-up gate opened", "lead told"),
    )
    if finding.verdict is Verdict.STOP and run.exception and sheet.at.date() <= run.exception.until:
        yield Finding(
            finding.subject,
            Verdict.CAUTION,
            finding.statement,
            f"Exception by {run.exception.by} until {run.exception.until}: {run.exception.reason}",
            finding.measured,
            finding.low,
            finding.high,
            basis=f"runs.{run.id}.exception",
            source=run.exception.by,
            workings=how,
            actions=("exception read",),
        )
        return
    yield finding


def _feeds(run: Run, sheet: SetupSheet, ducts: Extraction) -> bool:
    """Whether an open gate sends its air through this run."""
    onward = {r.id: r.into for r in ducts.runs}
    for gate in ducts.gates:
        if gate.id in (sheet.extraction.open or ()):
            at: str | None = gate.run
            while at is not None and at != run.id:
                at = onward.get(at)
            if at == run.id:
                return True
    return False


def _advice(sheet: SetupSheet, shop: ShopView, ducts: Extraction, air: Network) -> GateAdvice:
    needs = tuple(
        sorted(
            (gate, need.flow.low.value if need.flow and need.flow.low else 0.0)
            for gate, need in shop.machine.sander_gates.items()
            if ducts.gate(gate)
        )
    )
    job = shop.job(sheet)
    limit = (ducts.velocity_damp or AIR_SPEED_DAMP) if job and job.damp else (ducts.velocity or AIR_SPEED)
    day = sheet.at.date()
    exempt = frozenset(run.id for run in ducts.runs if run.exception and day <= run.exception.until)
    in_use = frozenset(sheet.extraction.in_use)
    opened = frozenset(sheet.extraction.open or ()) & {gate.id for gate in ducts.gates}
    careful, floor = (limit.caution_low or limit.low), (limit.low or limit.caution_low)
    first = _advised_sets(air, opened, needs, careful.value if careful else 0.0, in_use, exempt)
    if first.options or careful is floor:
        return first
    return _advised_sets(air, opened, needs, floor.value if floor else 0.0, in_use, exempt)


@lru_cache(maxsize=64)
def _advised_sets(
    air: Network,
    opened: frozenset[str],
    needs: tuple[tuple[str, float], ...],
    floor: float,
    in_use: frozenset[str],
    exempt: frozenset[str],
) -> GateAdvice:
    return advise(air, opened, dict(needs), floor_velocity=floor, in_use=in_use, exempt_runs=exempt)


def _advised(finding: Finding, sentence: str) -> Finding:
    if finding.verdict is not Verdict.STOP or not sentence or finding.measured == "shut":
        return finding
    from dataclasses import replace

    return replace(finding, remedy=sentence)


def _filter(sheet: SetupSheet, shop: ShopView, ducts: Extraction, known: AirEvidence) -> Iterator[Finding]:
    read, units = sheet.extraction.filter_drop, shop.machine.units
    if read is None:
        return
    if known.filter_note:
        yield missing(
            "filter",
            f"The filter drop {read} cannot be used: {known.filter_note}.",
            "Read it again with the fan running.",
            "extraction.filter_drop",
        )
        return
    clean = clean_filter(ducts.filter).drop(known.modelled.fan.flow)
    if clean <= 0:
        yield missing(
            "filter",
            f"The profile names no clean drop to hold {read} against.",
            "Ask the lead for the filter's clean drop.",
            basis="filter",
        )
        return
    share, change = abs(read.value) / clean, None
    if ducts.filter.change_drop and ducts.filter.at_flow:
        change = ducts.filter.change_drop.value / clean_filter(ducts.filter).drop(ducts.filter.at_flow.value)
    text = f"Filter drop {read} is {share:.1f} times the clean drop at this flow"
    how = (
        f"clean drop {show(clean, Kind.DUCT_PRESSURE, units)} at {show(known.modelled.fan.flow, Kind.AIR_FLOW, units)}"
    )
    if change is not None and share > change:
        yield Finding(
            "filter",
            Verdict.STOP,
            f"{text}, beyond the change point ({change:.1f} times).",
            "Clean the filter media, or have them changed; then read again.",
            read,
            basis="filter.change_drop",
            source=ducts.name,
            workings=how,
        )
    elif share > DIRTY:
        yield Finding(
            "filter",
            Verdict.CAUTION,
            f"{text}.",
            "Pulse or shake the filter with the machine off, then read again.",
            read,
            basis="filter",
            source=ducts.name,
            workings=how,
            actions=("filter pulsed", "cleaning planned", "lead told"),
        )
    else:
        yield Finding("filter", Verdict.OK, f"{text}.", "", read, basis="filter", source=ducts.name, workings=how)
