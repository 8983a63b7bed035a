"""Velocity in every open run, the main included: too slow, and dust settles in the duct and may burn later."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import basis, judged
from preflight.quantities import Kind, computed
from preflight.shop.defaults import AIR_SPEED, AIR_SPEED_DAMP

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.checks.judge import Basis
    from preflight.shop.extraction import Extraction, Run


def speed_limit(ducts: Extraction, damp: bool) -> Basis:
    """The velocity that holds today: damp stock has its own."""
    default = AIR_SPEED_DAMP if damp else AIR_SPEED
    field = "velocity_damp" if damp else "velocity"
    found = basis(ducts.velocity_damp if damp else ducts.velocity, field, ducts.name, default)
    assert found is not None  # there is a default
    return found


def excepted(ducts: Extraction, day: date) -> frozenset[str]:
    """Runs that a lead allows to be slow on that day."""
    return frozenset(run.id for run in ducts.runs if run.exception and day <= run.exception.until)


def speed_findings(ducts: Extraction, known: AirEvidence, damp: bool, day: date, units: str) -> Iterator[Finding]:
    """One finding for each run that an open gate feeds, and one for each exception that stands there."""
    by = speed_limit(ducts, damp)
    fed = fed_runs(ducts, known.opened)
    for run in ducts.runs:
        if run.id not in fed:
            continue
        found = _speed(run, by, ducts, known, units)
        if found is not None:
            yield found if _is_plugged(run, ducts, known) else _with_exception(found, run, day)
        if run.exception is not None:
            yield _exception(run, day)


def fed_runs(ducts: Extraction, opened: frozenset[str]) -> set[str]:
    """Ids of the runs on the way of an open gate's air."""
    onward = {run.id: run.into for run in ducts.runs}
    fed: set[str] = set()
    for gate in ducts.gates:
        here = gate.run if gate.id in opened else ""
        while here in onward and here not in fed:
            fed.add(here)
            here = onward[here]
    return fed


def _speed(run: Run, by: Basis, ducts: Extraction, known: AirEvidence, units: str) -> Finding | None:
    gate = _only_gate(run, ducts)
    speed, how = known.modelled.runs[run.id].velocity, "duct model, V = Q/A"
    if gate and gate in known.measured and speed > 0:
        speed, how = speed * known.share_measured(gate), known.measured[gate].how
    elif not known.model_holds or known.is_doubtful(gate):
        return None
    too_low = "Dust settles in it and may burn later: open the make-up gate, or another one."
    if _is_plugged(run, ducts, known):
        too_low = "Dust settles in it and may burn later. The model expects more: look for a plug, then read again."
    return judged(
        f"run {run.id}",
        f"Air in run {run.id}{' (the main)' if run.into == 'collector' else ''}",
        computed(speed, Kind.AIR_SPEED, units),
        by,
        units,
        workings=how,
        too_low=too_low,
        near="Dust may settle: open the make-up gate where there is one, and look inside at the next clean-out.",
        actions=("clean-out planned", "looked inside at the clean-out", "lead told"),
    )


def _only_gate(run: Run, ducts: Extraction) -> str:
    """Id of the one gate whose air is all that a run carries; empty for a shared run."""
    gates = [gate.id for gate in ducts.gates if gate.run == run.id]
    return gates[0] if len(gates) == 1 and not any(other.into == run.id for other in ducts.runs) else ""


def _is_plugged(run: Run, ducts: Extraction, known: AirEvidence) -> bool:
    """Whether a plug, not the gates open, slows it: an exception for a slow run was not given for that."""
    gate = _only_gate(run, ducts)
    return bool(gate) and known.is_plugged(gate)


def _with_exception(found: Finding, run: Run, day: date) -> Finding:
    """A slow run under a lead's exception is a caution that says so."""
    if run.exception is None or found.verdict is Verdict.OK or day > run.exception.until:
        return found
    return replace(
        found,
        verdict=Verdict.CAUTION,
        remedy=f"Exception by {run.exception.by} until {run.exception.until}. Look inside at each clean-out.",
        basis=f"runs.{run.id}.exception",
        source=run.exception.by,
        actions=("exception read", "clean-out planned", "lead told"),
    )


def _exception(run: Run, day: date) -> Finding:
    """Shown at every run, slow or not."""
    assert run.exception is not None
    given = run.exception
    ended = day > given.until
    return Finding(
        f"run {run.id} exception",
        Verdict.CAUTION if ended else Verdict.OK,
        f"Exception for slow run {run.id} {'ended' if ended else 'until'} {given.until}, {given.by}: {given.reason}",
        "It holds no more. Ask the lead to end it or give a new one." if ended else "",
        basis=f"runs.{run.id}.exception",
        source=given.by,
        actions=("lead told", "clean-out planned") if ended else (),
    )
