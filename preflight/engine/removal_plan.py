"""Share a total over heads and passes: fewest passes, every lowered head within its cap and at its need.

The rules, one by one:

- A pass lowers a set of heads, coarse to fine in the order of the machine. A head that cannot lift is in
  every set; one that may not run (`barred`) is in none.
- A lowered head takes at least the scratch depth of the head that cut before it *in time*: the lowered head
  before it in the pass or, for the first one, the last lowered head of the pass before.
- The very first cut meets the stock: it takes at least the saw or planer marks plus the spread of
  thickness, or the thinnest pieces would come to the finer heads uncut.
- No lowered head takes less than `LEAST_CUT`: less is rubbing.
- The last pass has the last head (the finishing one) lowered.

Among plans of equal passes: first one where no head goes beyond its comfort, then the fewest lowerings, then
the most level load. A platen takes its need and more only when the drums are full.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Final

from preflight.engine.removal_job import PlanHead, RemovalJob
from preflight.engine.removal_reach import LEAST_CUT, ROUNDING, STOCK, Reach
from preflight.engine.share_levels import Bound, level_shares

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.engine.removal_reach import Lowered

# What a caller of the planner needs, from one place.
__all__ = ["LEAST_CUT", "NoPlan", "Pass", "PlanHead", "RemovalJob", "RemovalPlan", "Share", "plan_removal"]

_CANDIDATES: Final = 64  # sequences of lowered heads that are compared for a level load


@dataclass(frozen=True, slots=True)
class Share:
    """What one lowered head takes in one pass, and why."""

    head: str
    take: float
    """m"""
    need: float
    """least it must take, m"""
    cap: float
    """m"""
    erases: str
    """id of the head whose scratches it erases; empty for the marks and spread of the stock"""
    reason: str

    @property
    def load(self) -> float:
        """take / cap"""
        return self.take / self.cap

    @property
    def margin(self) -> float:
        """cap - take, m"""
        return self.cap - self.take


@dataclass(frozen=True, slots=True)
class Pass:
    """One run through the machine at one opening."""

    shares: tuple[Share, ...]
    lifted: tuple[str, ...]

    @property
    def total(self) -> float:
        """m"""
        return math.fsum(share.take for share in self.shares)


@dataclass(frozen=True, slots=True)
class RemovalPlan:
    """A total shared over passes and heads."""

    passes: tuple[Pass, ...]
    comfortable: bool
    """no head goes beyond its comfort, apart from a need that already lies beyond it"""

    @property
    def peak_load(self) -> float:
        """The highest take / cap of any head in any pass."""
        return max(share.load for one in self.passes for share in one.shares)


@dataclass(frozen=True, slots=True)
class NoPlan:
    """Why nothing fits, and the nearest that would."""

    reason: str
    nearest_total: float | None
    """the total nearest to the wanted one that these heads can take, m; None when they can take none"""
    head: str = ""
    """the head that stands in the way, when it is one"""
    nearest_spread: float | None = None
    """the widest spread of thickness the first cut could level, m, when that is what stands in the way"""


def plan_removal(
    job: RemovalJob, heads: Sequence[PlanHead], *, max_passes: int = 12, min_passes: int = 1
) -> RemovalPlan | NoPlan:
    """The plan with the fewest passes, not fewer than `min_passes`, or why there is none.

    Raises ValueError for no heads, two heads of one id, or passes out of range.

    >>> drum = PlanHead("1", 201e-6, 0.61e-3, 60e-6, 0.488e-3)
    >>> finish = PlanHead("2", 100e-6, 0.165e-3, 30e-6, 0.132e-3)
    >>> plan = plan_removal(RemovalJob(0.45e-3), [drum, finish])
    >>> [(s.head, round(s.take * 1e6)) for one in plan.passes for s in one.shares]
    [('1', 354), ('2', 96)]
    """
    if not heads or len({head.id for head in heads}) != len(heads):
        raise ValueError("a plan needs at least one head, each with its own id")
    if not 1 <= min_passes <= max_passes:
        raise ValueError("passes: 1 ≤ min_passes ≤ max_passes")
    caps = Reach(job, tuple(heads), [head.cap for head in heads])
    count = next((n for n in range(1, max_passes + 1) if n >= min_passes and caps.ends_at(n)), None)
    if count is None:
        return _why_not(job, caps, max_passes)
    easy = Reach(job, caps.heads, [head.comfort for head in heads])
    comfortable = easy.ends_at(count)
    reach = easy if comfortable else caps
    _, plan = min(
        (_shared_out(job, reach, sequence, comfortable) for sequence in islice(reach.sequences(count), _CANDIDATES)),
        key=lambda scored: scored[0],
    )
    return plan


def _shared_out(
    job: RemovalJob, reach: Reach, sequence: tuple[Lowered, ...], comfortable: bool
) -> tuple[tuple[float, tuple[Lowered, ...]], RemovalPlan]:
    heads = reach.heads
    before, rows, bounds = STOCK, [], []
    for lowered in sequence:
        for index, (low, high) in zip(lowered, reach.bounds(before, lowered), strict=True):
            rows.append((index, before, low))
            bounds.append(Bound(low, high, weight=heads[index].comfort, last_resort=heads[index].platen))
            before = index
    takes = level_shares(job.total, bounds)
    drums = not all(bound.last_resort for bound in bounds)
    shares = iter(
        Share(
            head=heads[index].id,
            take=take,
            need=need,
            cap=heads[index].cap,
            erases="" if before == STOCK else heads[before].id,
            reason=_reason(heads[index], take, need, drums=drums),
        )
        for (index, before, need), take in zip(rows, takes, strict=True)
    )
    passes = tuple(
        Pass(
            shares=tuple(islice(shares, len(lowered))),
            lifted=tuple(head.id for index, head in enumerate(heads) if index not in lowered),
        )
        for lowered in sequence
    )
    plan = RemovalPlan(passes, comfortable)
    return (plan.peak_load, sequence), plan


def _reason(head: PlanHead, take: float, need: float, *, drums: bool) -> str:
    if take >= head.cap - ROUNDING:
        return "as much as it may"
    if take <= need + ROUNDING:
        return "the least that erases what came before"
    if head.platen and drums:
        return "more than a platen needs: the drums can give no more"
    return "all heads loaded alike"


def _why_not(job: RemovalJob, reach: Reach, max_passes: int) -> NoPlan:
    heads = reach.heads
    finish = heads[-1]
    for head in heads:
        if head.barred and (head is finish or not head.can_lift):
            return NoPlan(f"head {head.id} cannot be used: {head.barred}", None, head.id)
    if all(heads[lowered[-1]] is not finish for lowered in reach.sets):
        return NoPlan("the heads do not run coarse to fine, and not all of them can lift", None)
    first = max((heads[lowered[0]] for lowered in reach.sets), key=lambda head: head.cap)
    if reach.need(STOCK) > first.cap:
        reason = f"spread and marks are more than head {first.id} may take at first: sort the lot"
        return NoPlan(reason, None, first.id, nearest_spread=max(0.0, first.cap - job.marks))
    totals = reach.totals(max_passes)
    if not totals:
        reason = f"head {finish.id} may not take enough to erase the scratches before it"
        return NoPlan(reason, None, finish.id)
    nearest = min((min(max(job.total, low), high) for low, high in totals), key=lambda point: abs(point - job.total))
    if job.total < totals[0][0]:
        reason = "there is less to take off than these heads need to erase each other's scratches"
        return NoPlan(reason, nearest)
    if job.total > totals[-1][1]:
        return NoPlan(f"there is more to take off than {max_passes} passes can", nearest)
    return NoPlan("this total falls between what fewer and more lowered heads can take", nearest)
