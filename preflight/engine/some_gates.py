"""A set of gates that holds where there are too many sets to try them all, or no time to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.engine.gate_search import OutOfSolvesError, each_bit

if TYPE_CHECKING:
    from preflight.engine.airflow import Flows
    from preflight.engine.gate_search import GateSearch

_ORDERS = 4
_TRIES = 6
"""Sets tried in each order from the first one with enough flow."""
_SPARES = 10
"""Changes that a quick answer tries to spare."""


def some_set(search: GateSearch) -> list[int]:
    """A set that holds, with every change that can be spared undone; empty if none is met."""
    search.solves_left = search.max_solves
    mask = _steepest_descent(search)
    search.solves_left = search.may_change.bit_count() + 2
    if search.faults(mask):
        mask = search.keep
        if search.faults(mask):
            return quick_set(search)
    return [_spared(search, mask, search.may_change.bit_count())]


def quick_set(search: GateSearch) -> list[int]:
    """A set that holds, the smallest of a few; empty if none is met.

    Gates are closed in a few sensible orders, each as far as the flow asks for: since closing never lowers it,
    bisection finds how far in log₂(gates) solves. The velocities decide among the next few sets of that order.
    Where none holds, the same with the make-up gates opened.
    """
    count = len(search.network.gates)
    search.solves_left = _ORDERS * 2 * (count.bit_length() + _TRIES) + _SPARES + 2
    make_up = sum(1 << j for j, gate in enumerate(search.network.gates) if gate.make_up) & search.may_open
    orders = _orders(search)
    for opened in dict.fromkeys((0, make_up)):
        found = [mask for order in orders for mask in _as_far_as_it_takes(search, search.start | opened, order)]
        if found:
            best = min(found, key=lambda mask: (mask ^ search.start).bit_count())
            return [_spared(search, best, _SPARES)]
    return []


def _as_far_as_it_takes(search: GateSearch, mask: int, order: list[int]) -> list[int]:
    """The first set that holds when gates are closed in that order; empty if none is met."""
    nested = [mask]
    for j in order:
        nested.append(nested[-1] & ~(1 << j))
    low, high = 0, len(nested) - 1
    while low < high:
        middle = (low + high) // 2
        if all(fault.is_slow_run for fault in search.faults(nested[middle])):
            high = middle
        else:
            low = middle + 1
    return next(([one] for one in nested[low : low + _TRIES] if not search.faults(one)), [])


def _orders(search: GateSearch) -> list[list[int]]:
    """Orders to close gates in: make-up gates, then slow ducts; most in this machine's way first; the same,
    branch by branch in turn, so that no branch runs slow; whole branches, this machine's last.
    """
    network, t = search.network, search.network.topology
    flow = search.solve(search.start)
    closable = list(each_bit(search.start & search.may_change))
    gives_back = _suction_given_back(search, flow)
    own = sum(1 << j for j, _ in search.needs)
    main = len(network.runs) - 1

    def speed(j: int) -> tuple[bool, float]:
        return not network.gates[j].make_up, flow.run[t.gate_run[j]] / network.runs[t.gate_run[j]].area

    def branch(j: int) -> int:
        here = t.gate_run[j]
        while here != main and t.into[here] != main:
            here = t.into[here]
        return here

    most = sorted(closable, key=lambda j: -gives_back[j])
    turn: dict[int, int] = {}
    place: dict[int, int] = {}
    for j in most:
        place[j] = turn.get(branch(j), 0)
        turn[branch(j)] = place[j] + 1
    by_branch = sorted(most, key=lambda j: (bool(t.serving[branch(j)] & own), branch(j)))
    return [sorted(closable, key=speed), most, sorted(most, key=lambda j: place[j]), by_branch]


def _suction_given_back(search: GateSearch, flow: Flows) -> list[float]:
    """How much suction closing each gate gives back to this machine, to first order, in Pa/2.

    A run shared with the machine loses ΔP ∝ Q², so taking away q gives back 2·q·ΔP/Q.
    """
    network, t = search.network, search.network.topology
    needed = sum(1 << j for j, _ in search.needs)
    pull = [suction**2 for suction in flow.root_suction] + [network.fan.pressure(flow.total)]
    per_flow = [
        max(0.0, pull[t.into[i]] - pull[i]) / flow.run[i] if t.serving[i] & needed and flow.run[i] > 0.0 else 0.0
        for i in range(len(network.runs))
    ]
    return [
        search.gate_flow(flow, j) * sum(loss for loss, s in zip(per_flow, t.serving, strict=True) if s >> j & 1)
        for j in range(len(network.gates))
    ]


def _spared(search: GateSearch, mask: int, most: int) -> int:
    """The set with changes undone that it holds without; the first `most` changes are tried."""
    for j in list(each_bit(mask ^ search.start))[:most]:
        if not search.faults(mask ^ (1 << j)):
            mask ^= 1 << j
    return mask


def _steepest_descent(search: GateSearch) -> int:
    """Always the one change that lowers the shortfalls most, until none does or the solves are used up."""
    mask = search.start
    try:
        while search.faults(mask):
            better = min((mask ^ (1 << j) for j in each_bit(search.may_change)), key=search.shortfall, default=mask)
            if search.shortfall(better) >= search.shortfall(mask):
                break
            mask = better
    except OutOfSolvesError:
        pass
    return mask
