"""What-if on a removal plan: other grits, slower feed, one pass more; and the nearest thing that works.

Every option is planned by the same planner, so none can break a cap, a motor or a need.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Final

from preflight.engine.abrasives import neighbour
from preflight.engine.cutting_head import head_cap, head_scratch, why_barred
from preflight.engine.removal_job import PlanHead
from preflight.engine.removal_plan import NoPlan, RemovalPlan, plan_removal

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preflight.engine.abrasives import Grit
    from preflight.engine.cutting_head import Cut, CuttingHead
    from preflight.engine.removal_job import RemovalJob

SLOWER: Final = (0.75, 0.5)
"""Shares of the planned feed speed that are tried."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing done differently: a head's grit, the feed, or the number of passes; the others are None."""

    head: str = ""
    """id of the head whose grit changes"""
    grit: Grit | None = None
    feed_speed: float | None = None
    """m/s"""
    passes: int | None = None


@dataclass(frozen=True, slots=True)
class Option:
    """A plan that holds, with what it changes against what was asked."""

    changes: tuple[Change, ...]
    plan: RemovalPlan


@dataclass(frozen=True, slots=True)
class Advice:
    """The plan or why there is none, and what else would do."""

    plan: RemovalPlan | NoPlan
    options: tuple[Option, ...]
    """next-best alternatives; without a plan, the nearest changes that make one"""


def planned(
    job: RemovalJob, heads: Sequence[CuttingHead], cut: Cut, *, max_passes: int = 12, min_passes: int = 1
) -> RemovalPlan | NoPlan:
    """`plan_removal` for heads with belts on. Raises ValueError for values out of range."""
    return plan_removal(job, [plan_head(head, cut) for head in heads], max_passes=max_passes, min_passes=min_passes)


def plan_head(head: CuttingHead, cut: Cut) -> PlanHead:
    """A head with its belt on, reduced to what the planner needs."""
    limit = head_cap(head, cut)
    return PlanHead(
        id=head.id,
        grain_size=head.grit.grain_size,
        cap=limit.cap,
        scratch=head_scratch(head),
        comfort=limit.comfort,
        can_lift=head.can_lift,
        platen=head.platen,
        barred=why_barred(head),
    )


def advise(job: RemovalJob, heads: Sequence[CuttingHead], cut: Cut, *, max_passes: int = 12, count: int = 2) -> Advice:
    """The plan with its `count` best alternatives, or the nearest changes that make a plan.

    An alternative changes one thing: the grit of a head other than the finishing one by one grade, the feed,
    or one pass more. A slower feed counts only when it lowers the load or saves a pass; a feed factor among
    a head's factors is left as it is, which is on the safe side. Best: fewest passes, then the lowest peak
    load. When there is no plan, the finishing grit may change too and, if no single change helps, two
    changes are tried.
    """
    plan = planned(job, heads, cut, max_passes=max_passes)
    if isinstance(plan, RemovalPlan):
        changes: list[tuple[Change, ...]] = [(change,) for change in _grit_changes(heads[:-1])]
        changes += [(change,) for change in _feed_changes(cut)]
        changes.append((Change(passes=len(plan.passes) + 1),))
    else:
        single = [*_grit_changes(heads), *_feed_changes(cut)]
        changes = [(change,) for change in single]
        changes += [(a, b) for a, b in combinations(single, 2) if a.head != b.head]
    found: list[Option] = []
    fewest_changes = 0
    for change in changes:
        if found and len(change) > fewest_changes:
            break
        other = _changed(job, heads, cut, change, max_passes)
        if isinstance(other, RemovalPlan) and all(_matters(one, other, plan) for one in change):
            found.append(Option(change, other))
            fewest_changes = len(change)
    # Sorting is stable: equals stay in the order grit, feed, passes.
    found.sort(key=lambda option: _rank(option.plan))
    feeds = [option for option in found if option.changes[0].feed_speed is not None]
    found = [option for option in found if option not in feeds[1:]]
    return Advice(plan, tuple(found[:count]))


def _matters(change: Change, other: RemovalPlan, plan: RemovalPlan | NoPlan) -> bool:
    if change.grit is not None:
        return any(share.head == change.head for one in other.passes for share in one.shares)
    return change.passes is not None or isinstance(plan, NoPlan) or _rank(other) < _rank(plan)


def _rank(plan: RemovalPlan) -> tuple[int, float]:
    return len(plan.passes), round(plan.peak_load, 9)


def _grit_changes(heads: Sequence[CuttingHead]) -> Iterator[Change]:
    for head in heads:
        for steps in (-1, 1):
            other = neighbour(head.grit, steps)
            if other is not None:
                yield Change(head.id, grit=other)


def _feed_changes(cut: Cut) -> Iterator[Change]:
    for share in SLOWER:
        yield Change(feed_speed=share * cut.feed_speed)


def _changed(
    job: RemovalJob, heads: Sequence[CuttingHead], cut: Cut, changes: tuple[Change, ...], max_passes: int
) -> RemovalPlan | NoPlan | None:
    min_passes = 1
    for change in changes:
        if change.grit is not None:
            heads = [replace(head, grit=change.grit) if head.id == change.head else head for head in heads]
        elif change.feed_speed is not None:
            cut = replace(cut, feed_speed=change.feed_speed)
        elif change.passes is not None:
            min_passes, max_passes = change.passes, max(max_passes, change.passes)
    if any(after.grit.coarser_than(before.grit) for before, after in pairwise(heads)):
        return None
    # Caps that cannot hold the total are not worth a search: without this a hopeless job costs a second.
    if max_passes * math.fsum(head_cap(head, cut).cap for head in heads) < job.total:
        return None
    return planned(job, heads, cut, max_passes=max_passes, min_passes=min_passes)
