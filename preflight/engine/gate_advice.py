"""Which gates to close, and which to open, so that a machine gets its air and no duct runs slow.

All sets of changes are tried by size, so the answer is the smallest, with every tie; taking the best single gate
again and again misses sets and closes too much once velocity counts. What makes the search short is that the
network is monotone: a gate's flow rises only when *other* gates close, and a run's flow only when gates upstream
of it open or gates elsewhere close.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from preflight.engine.gate_change import GateAdvice, GateChange, NotByGates, Thoroughness
from preflight.engine.gate_search import GateSearch
from preflight.engine.some_gates import quick_set, some_set

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from preflight.engine.network import Network

__all__ = ["GateAdvice", "GateChange", "NotByGates", "Thoroughness", "advise", "advise_quickly"]


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
    search = GateSearch(network, open_gates, needs, floor_velocity, in_use, exempt_runs, may_open, max_solves)
    if reason := search.hopeless():
        return GateAdvice((), reason, "complete")
    found, thoroughness = search.smallest()
    if thoroughness == "size not proven":
        found = some_set(search)
    return _answer(search, found, thoroughness)


def advise_quickly(
    network: Network,
    open_gates: Collection[str],
    needs: Mapping[str, float],
    *,
    floor_velocity: float,
    in_use: Collection[str] = (),
    exempt_runs: Collection[str] = (),
    may_open: Collection[str] | None = None,
    max_solves: int = 30,
) -> GateAdvice:
    """The same within a few solves more than `max_solves`, for an answer between two key presses.

    Proven as by `advise` when that many solves suffice; else one set that holds, "size not proven", or none and
    the reason "not found".
    """
    search = GateSearch(network, open_gates, needs, floor_velocity, in_use, exempt_runs, may_open, max_solves)
    if reason := search.hopeless():
        return GateAdvice((), reason, "complete")
    found, thoroughness = search.smallest()
    if thoroughness == "size not proven":
        found = quick_set(search)
    return _answer(search, found, thoroughness)


def _answer(search: GateSearch, found: list[int], thoroughness: Thoroughness) -> GateAdvice:
    if not found:
        kind: Literal["combination", "not found"] = "combination" if thoroughness == "complete" else "not found"
        return GateAdvice((), NotByGates(kind), thoroughness)
    options = sorted((search.change(mask) for mask in found), key=search.order)
    return GateAdvice(tuple(options), None, thoroughness)
