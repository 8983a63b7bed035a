"""Which gates to shut or open for this machine: the question put to the engine, with today's readings in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.engine.gate_advice import GateAdvice, advise, advise_quickly

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preflight.checks.extraction.air_evidence import AirEvidence
    from preflight.engine.network import Network
    from preflight.shop.limits import Limit

QUICK_WORK = 800
"""Runs times solves that the exact search may take between two key presses."""


@dataclass(frozen=True, slots=True)
class AirNeeds:
    """What has to hold."""

    flows: Mapping[str, Limit | None]
    """By gate that has to be open."""
    velocity: Limit
    in_use: frozenset[str]
    excepted: frozenset[str]
    """Runs that may be slow."""


def gate_cure(known: AirEvidence, needs: AirNeeds, *, quick: bool) -> GateAdvice:
    """Changes that bring everything well inside its limits, else just inside them, else why there are none.

    `quick` gives an answer within about 60 solves. A gate's need is scaled by its reading over the model, so that
    what was measured counts here too; not where a plug is likely, which no gate cures.
    """
    well = {gate: _bound(limit, careful=True) for gate, limit in needs.flows.items()}
    just = {gate: _bound(limit, careful=False) for gate, limit in needs.flows.items()}
    found = None
    for flows, floor in (
        (well, _bound(needs.velocity, careful=True)),
        (just, _bound(needs.velocity, careful=False)),
    ):
        scaled = tuple(sorted((gate, flow / _share(known, gate)) for gate, flow in flows.items()))
        found = _solved(known.network, known.opened, scaled, floor, needs.in_use, needs.excepted, quick)
        if found.options:
            return found
    assert found is not None
    reason = found.reason
    if reason is not None and reason.kind == "flow" and reason.subject and reason.best and reason.needed:
        share = _share(known, reason.subject)
        return replace(found, reason=replace(reason, best=reason.best * share, needed=reason.needed * share))
    return found


def _share(known: AirEvidence, gate: str) -> float:
    share = known.share_measured(gate)
    return 1.0 if known.is_plugged(gate) or share <= 0 else share


def _bound(limit: Limit | None, *, careful: bool) -> float:
    if limit is None:
        return 0.0
    inner, _ = limit.edges()
    return (inner if careful or limit.floor is None else limit.floor) or 0.0


@lru_cache(maxsize=64)
def _solved(
    air: Network,
    opened: frozenset[str],
    needs: Iterable[tuple[str, float]],
    floor: float,
    in_use: frozenset[str],
    excepted: frozenset[str],
    quick: bool,
) -> GateAdvice:
    asked = dict(needs)
    if not quick:
        return advise(air, opened, asked, floor_velocity=floor, in_use=in_use, exempt_runs=excepted)
    most = max(10, QUICK_WORK // len(air.runs))
    return advise_quickly(
        air, opened, asked, floor_velocity=floor, in_use=in_use, exempt_runs=excepted, max_solves=most
    )
