"""Which gates to close, and which to open, so that a machine gets its air and no duct runs slow.

All sets of changes are tried by size, so the answer is the smallest, with every tie; taking the best single gate
again and again misses sets and closes too much once velocity counts. What makes the search short is that the
network is monotone: a gate's flow rises only when *other* gates close, and a run's flow only when gates upstream
of it open or gates elsewhere close.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from preflight.engine.airflow import Flows, flows

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from preflight.engine.network import Network

Thoroughness = Literal["complete", "ties cut short", "size not proven"]


@dataclass(frozen=True)
class GateChange:
    """One set of changes that makes everything hold. Both empty: nothing needs to change."""

    close: frozenset[str]
    open: frozenset[str]


@dataclass(frozen=True)
class NotByGates:
    """Why no set of gates helps."""

    kind: Literal["flow", "velocity", "combination", "not found"]
    """flow: a gate falls short however many others close. velocity: a run stays slow whatever opens.
    combination: flow and velocity exclude each other, or the fan leaves its curve. not found: too many sets to
    try them all, and none of those tried holds."""

    subject: str | None = None
    """The gate (flow) or run (velocity) that cannot be helped."""

    best: float | None = None
    """The most it can have, m³/s or m/s."""

    needed: float | None = None


@dataclass(frozen=True)
class GateAdvice:
    """The answer: options, or the reason why there are none."""

    options: tuple[GateChange, ...]
    """Equally small sets of changes; those that open no gate but make-up gates come first."""

    reason: NotByGates | None
    search: Thoroughness
    """complete: the smallest size and every tie. ties cut short: the size is the smallest, more ties may exist.
    size not proven: too many sets to try; the one option holds and none of its changes can be spared."""


def advise(
    network: Network,
    open_gates: Collection[str],
    needs: Mapping[str, float],
    *,
    floor_velocity: float,
    in_use: Collection[str] = (),
    exempt_runs: Collection[str] = (),
    may_open: Collection[str] | None = None,
    max_solves: int = 4000,
) -> GateAdvice:
    """Smallest changes of the open gates so that every need and every velocity holds.

    `needs` gives the least flow (m³/s) of each gate of this machine; these gates end up open. `floor_velocity`
    (m/s) must hold in every run that an open gate feeds, except `exempt_runs`. Gates that are open and `in_use`,
    or made to stay open, are never closed; `may_open` limits what may be opened (default: any gate). A set whose
    fan point lies off the given curve is never advised. ValueError for an unknown gate or run.
    """
    gates, runs = {gate.id for gate in network.gates}, {run.id for run in network.runs}
    named = {*open_gates, *needs, *in_use, *(may_open or ())}
    if unknown := sorted(named - gates) + sorted(set(exempt_runs) - runs):
        raise ValueError(f"the duct system has no {', '.join(map(repr, unknown))}")
    for subject, wanted in {**needs, "the ducts' floor velocity": floor_velocity}.items():
        if not 0.0 <= wanted < math.inf:
            raise ValueError(f"what {subject} needs must not be negative, got {wanted:g}")
    search = _Search(network, open_gates, needs, floor_velocity, in_use, exempt_runs, may_open, max_solves)
    if reason := search.hopeless():
        return GateAdvice((), reason, "complete")
    found, thoroughness = search.smallest()
    if not found:
        kind: Literal["combination", "not found"] = "combination" if thoroughness == "complete" else "not found"
        return GateAdvice((), NotByGates(kind), thoroughness)
    options = sorted((search.change(mask) for mask in found), key=search.order)
    return GateAdvice(tuple(options), None, thoroughness)
