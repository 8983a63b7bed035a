"""What else than the plan would do: the next-best alternatives in words, and what another grit would make of it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from preflight.checks.removal.planned_removal import job_of, under_bead
from preflight.checks.removal.removal_facts import facts_of
from preflight.engine.removal_options import Advice, Option, advise, planned
from preflight.engine.removal_plan import NoPlan
from preflight.quantities import Kind, show

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.checks.removal.removal_facts import RemovalFacts
    from preflight.engine.abrasives import Grit
    from preflight.engine.cutting_head import Cut, CuttingHead
    from preflight.engine.removal_job import RemovalJob
    from preflight.engine.removal_plan import RemovalPlan
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView


def advice_for(facts: RemovalFacts) -> Advice | None:
    """The plan with its alternatives, or why there is none and what is nearest; None while facts are missing."""
    job = job_of(facts)
    if facts.gaps or job is None or not facts.heads:
        return None
    return _advice(job, tuple(under_bead(facts)), facts.cut)


@lru_cache(maxsize=32)  # asked by check, rows and picture after each key, mostly for the same facts
def _advice(job: RemovalJob, heads: tuple[CuttingHead, ...], cut: Cut) -> Advice:
    return advise(job, heads, cut)


def alternatives(sheet: SetupSheet, shop: ShopView) -> list[tuple[str, str]]:
    """The two next-best ways, (what changes, what comes of it); none when shares are given or facts missing."""
    advice = advice_for(facts_of(sheet, shop)) if sheet.removal.share is None else None
    options, units = advice.options if advice is not None else (), shop.machine.units
    return [(" and ".join(_changes(option, units)) or "one pass more", _outcome(option.plan)) for option in options]


def what_if(sheet: SetupSheet, shop: ShopView, grits: Mapping[str, Grit]) -> str:
    """The plan with other grits on some heads, in one line."""
    facts, units = facts_of(sheet, shop), shop.machine.units
    job = job_of(facts)
    if facts.gaps or job is None or not facts.heads:
        return "not known yet: answer stock and belts first"
    heads = [replace(head, grit=grits.get(head.id, head.grit)) for head in under_bead(facts)]
    return plan_words(planned(job, heads, facts.cut), units)


def plan_words(plan: RemovalPlan | NoPlan, units: str) -> str:
    """A plan, or why there is none: "1 pass, heads 74% loaded: head 1 0.3 mm, head 2 0.05 mm"."""
    if isinstance(plan, NoPlan):
        return f"no plan: {plan.reason}"
    takes = ", ".join(f"head {s.head} {show(s.take, Kind.LENGTH, units)}" for s in plan.passes[0].shares)
    first = "" if len(plan.passes) == 1 else "first "
    return f"{_outcome(plan)}: {first}{takes}"


def option_words(option: Option, units: str) -> str:
    """What changes and what comes of it: "P80 on head 1 and 1 pass, heads 62% loaded"."""
    return " and ".join([*_changes(option, units), _outcome(option.plan)])


def _changes(option: Option, units: str) -> list[str]:
    words = []
    for change in option.changes:
        if change.grit is not None:
            words.append(f"{change.grit} on head {change.head}")
        elif change.feed_speed is not None:
            words.append(f"feed {show(change.feed_speed, Kind.FEED_SPEED, units)}")
    return words


def _outcome(plan: RemovalPlan) -> str:
    return f"{passes_words(len(plan.passes))}, heads {plan.peak_load:.0%} loaded"


def passes_words(count: int) -> str:
    """ "1 pass", "2 passes"."""
    return "1 pass" if count == 1 else f"{count} passes"
