"""Shares, passes and feed speed that a run goes by: as the sheet states them, or planned where it is silent.

The removal check judges them; the feed and extraction checks and the screens need the same ones, so they are
worked out here once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from preflight.checks.removal.removal_facts import facts_of
from preflight.engine.removal import clamped_factor
from preflight.engine.removal_job import RemovalJob
from preflight.engine.removal_options import planned
from preflight.engine.removal_plan import LEAST_CUT, NoPlan, RemovalPlan

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.checks.removal.removal_facts import RemovalFacts
    from preflight.engine.cutting_head import CuttingHead
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView

_ROUNDING: Final = 1e-9
MOST_PASSES: Final = 50
"""More are not listed one by one."""


@dataclass(frozen=True, slots=True)
class PlannedRemoval:
    """Shares, passes and feed speed that the run goes by."""

    passes: tuple[Mapping[str, float], ...]
    """Removal per head id in each pass over one face, m; empty when no plan holds."""
    feed_speed: float
    """m/s"""
    cut_width: float
    """Widest row of wood that the job's parts fill, m."""
    given: bool
    """The sheet states the shares; otherwise they are planned."""
    plan: RemovalPlan | NoPlan | None = None
    """The computed plan, where the sheet is silent."""

    @property
    def first_pass(self) -> float:
        """Removal of the first pass over all heads, m: what a test board should lose."""
        return math.fsum(self.passes[0].values()) if self.passes else 0.0

    @property
    def most(self) -> Mapping[str, float]:
        """Most that each head takes in any pass, m: what motor and dust must bear."""
        return {head: max(one.get(head, 0.0) for one in self.passes) for one in self.passes for head in one}


def plan_for(sheet: SetupSheet, shop: ShopView) -> PlannedRemoval | None:
    """Planned share per head, passes and feed speed; None while a fact they need is open."""
    facts = facts_of(sheet, shop)
    speed, width = facts.cut.feed_speed, facts.cut.width
    if sheet.removal.share is not None:
        one = {head: share.value for head, share in sheet.removal.share.items()}
        count = sheet.removal.passes or min(passes_needed(facts.total, math.fsum(one.values())), MOST_PASSES)
        return PlannedRemoval((one,) * count, speed, width, given=True)
    job = job_of(facts)
    if facts.gaps or job is None or not facts.heads:
        return None
    plan = planned(job, under_bead(facts), facts.cut)
    passes = plan.passes if isinstance(plan, RemovalPlan) else ()
    return PlannedRemoval(
        tuple({share.head: share.take for share in one.shares} for one in passes),
        speed,
        width,
        given=False,
        plan=plan,
    )


def job_of(facts: RemovalFacts) -> RemovalJob | None:
    """What the planner is asked for; None when there is nothing to take off or it is not known."""
    if facts.total is None or facts.total <= 0:
        return None
    return RemovalJob(facts.total, facts.spread)


def under_bead(facts: RemovalFacts) -> list[CuttingHead]:
    """The heads, the first with less room by the beads that it meets on top of its share."""
    heads = list(facts.heads)
    if heads and facts.bead > 0:
        first = heads[0]
        room = min(first.maximum or math.inf, first.caps.cap(first.grit).cap * clamped_factor(first.factors))
        heads[0] = replace(first, maximum=max(room - facts.bead, LEAST_CUT))
    return heads


def passes_needed(total: float | None, one_pass: float) -> int:
    """⌈total / pass⌉, at least 1; both m, an unknown total counts as one pass.

    >>> passes_needed(0.45e-3, 0.40e-3), passes_needed(0.45e-3, 0.45e-3)
    (2, 1)
    """
    if total is None or one_pass <= 0:
        return 1
    return max(1, math.ceil(total / one_pass * (1 - _ROUNDING)))
