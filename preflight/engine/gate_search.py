"""The search behind `gate_advice`: sets of open gates as bits, what is wrong with each, and the smallest that holds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.engine.airflow import Flows, flows
from preflight.engine.gate_change import GateChange, NotByGates

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from preflight.engine.gate_change import Thoroughness
    from preflight.engine.network import Network


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that does not hold for a set of gates."""

    shortfall: float
    """Share of the needed value that is missing."""

    cures: int
    """Gates whose change can help, as bits; changing any others makes it worse or does nothing."""

    is_slow_run: bool = False
    """A run without its velocity, rather than a gate without its flow or a fan off its curve."""


class OutOfSolvesError(Exception):
    """The solves allowed are used up; a signal between these modules, never seen outside them."""


class GateSearch:
    """One question about gates, and what has been solved for it so far.

    Sets of open gates are bits of an int, in the order of the network's gates.
    """

    def __init__(
        self,
        network: Network,
        open_gates: Collection[str],
        needs: Mapping[str, float],
        floor_velocity: float,
        in_use: Collection[str],
        exempt_runs: Collection[str],
        may_open: Collection[str] | None,
        max_solves: int,
    ) -> None:
        """Arguments as in `gate_advice.advise`. ValueError for an unknown gate or run, or a need that is no flow."""
        ids, runs = [gate.id for gate in network.gates], {run.id for run in network.runs}
        named = {*open_gates, *needs, *in_use, *(may_open or ())}
        if unknown := sorted(named - set(ids)) + sorted(set(exempt_runs) - runs):
            raise ValueError(f"the duct system has no {', '.join(map(repr, unknown))}")
        for subject, wanted in {**needs, "the ducts' floor velocity": floor_velocity}.items():
            if not 0.0 <= wanted < math.inf:
                raise ValueError(f"what {subject} needs must not be negative, got {wanted:g}")
        self.network = network

        def bits(names: Collection[str]) -> int:
            return sum(1 << j for j, name in enumerate(ids) if name in names)

        every = (1 << len(ids)) - 1
        self.now = bits(open_gates)
        self.needs = [(ids.index(name), flow) for name, flow in needs.items()]
        needed = bits(needs)
        staying = bits([gate.id for gate in network.gates if gate.stays_open])
        self.keep = needed | (self.now & (bits(in_use) | staying))
        self.start = self.now | needed
        self.may_open = (every if may_open is None else bits(may_open)) & ~self.start
        self.may_change = (self.start & ~self.keep) | self.may_open
        self.floor = floor_velocity
        area = [run.area for run in network.runs]
        self.watched = [
            (i, area[i], network.topology.serving[i]) for i, run in enumerate(network.runs) if run.id not in exempt_runs
        ]
        self.max_solves = self.solves_left = max_solves
        self.known: dict[int, list[Fault]] = {}
        self.friction: list[float] | None = None

    def change(self, mask: int) -> GateChange:
        """The changes from the gates open now to a set."""
        gates = self.network.gates
        return GateChange(
            close=frozenset(gates[j].id for j in each_bit(self.now & ~mask)),
            open=frozenset(gates[j].id for j in each_bit(mask & ~self.now)),
        )

    def order(self, change: GateChange) -> tuple[int, list[str], list[str]]:
        """Sorting key: fewest gates opened that are no make-up gates, then by name."""
        strangers = sum(1 for gate in self.network.gates if gate.id in change.open and not gate.make_up)
        return strangers, sorted(change.close), sorted(change.open)

    def hopeless(self) -> NotByGates | None:
        """A need or a velocity that fails even with every change in its favour."""
        least = self.solve(self.keep)
        for j, wanted in self.needs:
            best = self.gate_flow(least, j)
            if best < wanted:
                return NotByGates("flow", self.network.gates[j].id, best, wanted)
        for i, area, serving in self.watched:
            if serving & self.keep:
                best = self.solve(self.keep | (serving & (self.start | self.may_open))).run[i] / area
                if best < self.floor:
                    return NotByGates("velocity", self.network.runs[i].id, best, self.floor)
        return None

    def smallest(self) -> tuple[list[int], Thoroughness]:
        """The smallest sets that hold; "size not proven", and none, when the solves do not suffice."""
        found: list[int] = []
        try:
            for size in range(self.may_change.bit_count() + 1):
                self.cut_short = False
                self.descend(self.start, self.may_change, size, found)
                if found or not self.cut_short:
                    return found, "complete"
        except OutOfSolvesError:
            if found:
                return found, "ties cut short"
        return [], "size not proven"

    def descend(self, mask: int, free: int, size: int, found: list[int]) -> None:
        """All sets that hold, `size` changes of the free gates away from `mask`.

        Whatever cures a fault must be in its `cures`, so only those branch; a gate tried in one branch is no
        longer free in the next, so each set is met once. The last change must cure every fault by itself.
        """
        faults = self.faults(mask)
        if not faults:
            found.append(mask)
            return
        cures = min((fault.cures & free for fault in faults), key=int.bit_count)
        if size == 0:
            self.cut_short |= cures != 0
            return
        if size == 1:
            remaining = cures
            for fault in faults:
                cures &= fault.cures
            # A fault that one change cannot cure may still be cured by more of them.
            self.cut_short |= cures != remaining
        for j in each_bit(cures):
            bit = 1 << j
            free &= ~bit
            self.descend(mask ^ bit, free, size - 1, found)

    def shortfall(self, mask: int) -> float:
        """All shortfalls of a set, summed."""
        return sum(fault.shortfall for fault in self.faults(mask))

    def faults(self, mask: int) -> list[Fault]:
        """What does not hold for a set; nothing when it holds. Raises `OutOfSolvesError`."""
        if mask not in self.known:
            self.known[mask] = self.judge(mask)
        return self.known[mask]

    def judge(self, mask: int) -> list[Fault]:
        """`faults`, solved anew."""
        if self.solves_left <= 0:
            raise OutOfSolvesError
        self.solves_left -= 1
        flow = self.solve(mask)
        closable, openable = mask & self.may_change, self.may_change & ~mask
        faults = []
        for j, wanted in self.needs:
            own = self.gate_flow(flow, j)
            if own < wanted:
                faults.append(Fault(1.0 - own / wanted, closable))
        for i, area, serving in self.watched:
            feeding = serving & mask
            if feeding and flow.run[i] < self.floor * area:
                cures = (closable & ~serving) | (openable & serving)
                if not feeding & ~closable:
                    cures |= feeding  # with all of them closed the run carries nothing and counts no more
                faults.append(Fault(1.0 - flow.run[i] / (self.floor * area), cures, is_slow_run=True))
        if not (flow.converged and self.network.fan.on_curve(flow.total)):
            faults.append(Fault(1.0, self.may_change))
        return faults

    def solve(self, mask: int) -> Flows:
        """The flows with a set of gates open."""
        count = len(self.network.gates)
        flow = flows(self.network, [bool(mask >> j & 1) for j in range(count)], start=self.friction)
        self.friction = flow.friction
        return flow

    def gate_flow(self, flow: Flows, j: int) -> float:
        """Flow at the gate of that position, taken as open, m³/s."""
        t = self.network.topology
        return t.gate_open[j] * flow.root_suction[t.gate_run[j]]


def each_bit(mask: int) -> Iterator[int]:
    """Positions of the bits that are set."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
