"""What `preflight airflow` prints: lines that read well aloud, or one JSON document in SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.checks.extraction.gate_words import BALANCE, advice_sentence
from preflight.checks.extraction.run_speed import fed_runs
from preflight.checks.finding import Finding, Verdict, as_json
from preflight.cli.assessment_text import MARKS, finding_lines
from preflight.quantities import Kind, show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.checks.extraction.gate_cure import AirNeeds
    from preflight.engine.gate_advice import GateAdvice
    from preflight.shop.extraction import Extraction
    from preflight.shop.files import Loaded
    from preflight.shop.machine import Machine

NO_CHANGE = "No gate needs to change."


@dataclass(frozen=True, slots=True)
class Airflow:
    """One set of open gates, solved and judged."""

    ducts: Loaded[Extraction]
    machine: Loaded[Machine] | None
    units: str
    known: AirEvidence
    needs: AirNeeds
    findings: tuple[Finding, ...]
    verdict: Verdict
    advice: GateAdvice

    @property
    def sentence(self) -> str:
        """The advice in words."""
        make_up = {gate.id for gate in self.ducts.value.gates if gate.make_up}
        said = advice_sentence(self.advice, self.units, self.known.opened, make_up, self.needs.flows)
        return said or NO_CHANGE

    def verdict_on(self, subject: str) -> Verdict | None:
        """The verdict on a gate or run; None where nothing was judged."""
        return next((one.verdict for one in self.findings if one.subject == subject), None)


def document(found: Airflow) -> dict[str, Any]:
    """Stable keys; flows m3/s, velocities m/s, pressures Pa against the room (a suction is negative)."""
    known, ducts, reason = found.known, found.ducts.value, found.advice.reason
    result = known.modelled

    def word(subject: str) -> str | None:
        verdict = found.verdict_on(subject)
        return None if verdict is None else verdict.word

    return {
        "verdict": found.verdict.word,
        "extraction": found.ducts.path.stem,
        "extraction_sha256": found.ducts.sha256,
        "machine": found.machine.path.stem if found.machine else None,
        "profile_sha256": found.machine.sha256 if found.machine else None,
        "open": [gate.id for gate in ducts.gates if gate.id in known.opened],
        "gates": [
            {
                "id": gate.id,
                "open": result.gates[gate.id].open,
                "flow": result.gates[gate.id].flow,
                "velocity": result.gates[gate.id].velocity,
                "static_pressure": result.gates[gate.id].static_pressure,
                "verdict": word(f"gate {gate.id}"),
            }
            for gate in ducts.gates
        ],
        "runs": [
            {
                "id": run.id,
                "into": run.into,
                "flow": result.runs[run.id].flow,
                "velocity": result.runs[run.id].velocity,
                "static_pressure": result.runs[run.id].static_in,
                "loss": result.runs[run.id].loss,
                "verdict": word(f"run {run.id}"),
            }
            for run in ducts.runs
        ],
        "fan": {
            "flow": result.fan.flow,
            "pressure": result.fan.pressure,
            "on_curve": result.fan.on_curve,
            "converged": result.converged,
        },
        "filter": {"drop": result.filter_drop, "times_clean": known.network.filter.scale},
        "findings": [as_json(one) for one in found.findings],
        "advice": {
            "sentence": found.sentence,
            "options": [{"close": sorted(o.close), "open": sorted(o.open)} for o in found.advice.options],
            "search": found.advice.search,
            "reason": None
            if reason is None
            else {"kind": reason.kind, "subject": reason.subject, "best": reason.best, "needed": reason.needed},
            "note": BALANCE,
        },
    }


def lines(found: Airflow, exit_status: int) -> Iterator[str]:
    """Fan, gates, runs, what is not ok, the advice, the verdict."""
    known, ducts, units = found.known, found.ducts.value, found.units
    result = known.modelled

    def air(flow: float, velocity: float) -> str:
        return f"{show(flow, Kind.AIR_FLOW, units)}, {show(velocity, Kind.AIR_SPEED, units)}"

    def judged(subject: str) -> tuple[str, str]:
        verdict = found.verdict_on(subject)
        return (" ", "") if verdict is None else (MARKS[verdict], f", {verdict.word}")

    whom = f", for {found.machine.value.name}" if found.machine else ""
    yield f"{ducts.name}{whom}: {len(known.opened)} of {len(ducts.gates)} gates open"
    doubt = "" if known.model_holds else ", outside the points of its curve"
    yield (
        f"fan: {show(result.fan.flow, Kind.AIR_FLOW, units)} at "
        f"{show(result.fan.pressure, Kind.DUCT_PRESSURE, units)}{doubt}; filter drop "
        f"{show(result.filter_drop, Kind.DUCT_PRESSURE, units)}, {known.network.filter.scale:.1f} times clean"
    )
    for gate in ducts.gates:
        at = result.gates[gate.id]
        mark, word = judged(f"gate {gate.id}")
        static = show(at.static_pressure, Kind.DUCT_PRESSURE, units)
        leak = "" if at.open or not at.flow else f", leaks {show(at.flow, Kind.AIR_FLOW, units)}"
        state = f"open, {air(at.flow, at.velocity)}, static {static}" if at.open else f"shut{leak}"
        yield f"{mark} gate {gate.id}: {state}{word}"
    fed = fed_runs(ducts, known.opened)
    for run in ducts.runs:
        mark, word = judged(f"run {run.id}")
        if run.id in fed:
            yield f"{mark} run {run.id}: {air(result.runs[run.id].flow, result.runs[run.id].velocity)}{word}"
    for one in sorted(found.findings, key=lambda one: -one.verdict):
        if one.verdict is not Verdict.OK:
            yield from finding_lines(one)
    yield f"Advice: {found.sentence}"
    if found.sentence != NO_CHANGE:
        for option in found.advice.options:
            parts = [
                f"{word} {', '.join(sorted(gates))}"
                for word, gates in (("shut", option.close), ("open", option.open))
                if gates
            ]
            yield f"  - {' and '.join(parts)}"
        yield f"  {BALANCE}"
    yield f"Verdict: {found.verdict.word} (exit status {exit_status})."
