"""Station 8: the cut shared over the heads within caps and motors, each head erasing the one before."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import basis, judged, missing
from preflight.checks.removal.head_cut import HeadCuts
from preflight.checks.removal.head_test import takes
from preflight.checks.removal.planned_removal import PlannedRemoval, passes_needed, plan_for
from preflight.checks.removal.removal_choices import advice_for, option_words
from preflight.checks.removal.removal_facts import RemovalFacts, facts_of
from preflight.checks.running.weekly import asked_today
from preflight.engine.cutting_head import CuttingHead, head_cap, head_scratch
from preflight.engine.removal_plan import NoPlan, RemovalPlan
from preflight.quantities import Kind, computed, show, show_beside
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.engine.removal_options import Option
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine
    from preflight.shop.view import ShopView

__all__ = ["PlannedRemoval", "check", "plan_for"]


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Judge the shares given, or plan them: caps, platen, needs, motors, passes."""
    facts = facts_of(sheet, shop)
    asked = "removal test" in asked_today(sheet, shop.machine, history)
    found = list(facts.gaps)
    if facts.total is not None and facts.total <= 0:
        found.append(_nothing_to_take(sheet, shop, facts))
        return found
    if not facts.heads and not facts.gaps:
        found.append(
            missing("plan", "Every head is lifted: nothing cuts.", "Lower the heads that are to cut.", "belts")
        )
    station = _Station(sheet, shop.machine, facts)
    if sheet.removal.share is not None:
        found += station.given()
    planned = plan_for(sheet, shop)
    if planned is not None and not planned.given:
        found += station.planned(planned)
    return [*found, *takes(sheet, station.cuts, planned, asked=len(facts.heads) > 1 and asked)]


def _nothing_to_take(sheet: SetupSheet, shop: ShopView, facts: RemovalFacts) -> Finding:
    units, job = shop.machine.units, shop.job(sheet)
    assert job is not None
    thickest = max(sheet.stock.thickness, key=lambda reading: reading.value)
    under = job.target_thickness.value - thickest.value
    how = f"{show(under, Kind.LENGTH, units)} below" if under > 0 else "already at"
    return Finding(
        "plan",
        Verdict.STOP,
        f"The thickest piece, {thickest.text}, is {how} the target, {job.target_thickness.text}: nothing to take.",
        "Read it again, check the target on the job card, or pick thicker stock.",
        measured=thickest,
        basis="job card.target_thickness",
        source="job card",
    )


@dataclass(frozen=True, slots=True)
class _Station:
    sheet: SetupSheet
    machine: Machine
    facts: RemovalFacts

    @property
    def cuts(self) -> HeadCuts:
        return HeadCuts(self.machine, self.facts)

    @property
    def units(self) -> str:
        return self.machine.units

    def length(self, value: float) -> str:
        return show(value, Kind.LENGTH, self.units)

    def given(self) -> list[Finding]:
        shares = self.sheet.removal.share or {}
        found: list[Finding] = []
        for head_id, share in shares.items():
            if self.machine.head(head_id) is None or head_id in self.facts.lifted:
                why = "is lifted" if head_id in self.facts.lifted else "is not on this machine"
                found.append(
                    missing(
                        f"head {head_id}",
                        f"Head {head_id} {why}, but {share.text} is given for it.",
                        "Take the share away, or say that the head is lowered.",
                        f"removal.share.{head_id}",
                    )
                )
        before: CuttingHead | None = None
        for head in self.facts.heads:
            if head.id not in shares:
                found.append(
                    missing(
                        f"head {head.id}",
                        f"Head {head.id} is lowered, but no share is given for it.",
                        "Give it a share, mark the head as lifted, or accept the computed plan.",
                        f"removal.share.{head.id}",
                    )
                )
                continue
            share = shares[head.id]
            found += self.cuts.cut(head, share, typed=True)
            need = self.facts.spread if before is None else head_scratch(before)
            found.append(self.cuts.need(head, share, need, before))
            before = head
        if self.facts.total is not None and shares:
            found.append(self.total(math.fsum(share.value for share in shares.values())))
        return found

    def planned(self, planned: PlannedRemoval) -> list[Finding]:
        advice = advice_for(self.facts)
        assert advice is not None
        if isinstance(planned.plan, NoPlan):
            return [self.infeasible(planned.plan, advice.options)]
        plan = planned.plan
        assert plan is not None
        found = [self.accepted(plan, advice.options)]
        heads = {head.id: head for head in self.facts.heads}
        for head_id, most in planned.most.items():
            found += self.cuts.cut(heads[head_id], computed(most, Kind.LENGTH, self.units), typed=False)
        for head in self.facts.heads:
            shares = [(one, share) for one in plan.passes for share in one.shares if share.head == head.id]
            if shares:
                tightest = min(shares, key=lambda pair: pair[1].take - pair[1].need)[1]
                quantity = computed(tightest.take, Kind.LENGTH, self.units)
                found.append(self.cuts.need(head, quantity, tightest.need, heads.get(tightest.erases)))
        return found

    def total(self, one_pass: float) -> Finding:
        """How many passes it takes; whether they leave wood standing or take too much."""
        total = self.facts.total or 0.0
        needed = passes_needed(total, one_pass)
        count = self.sheet.removal.passes or needed
        if one_pass <= 0:
            return missing("passes", "The shares add up to nothing.", "Give the heads a share each.", "removal.share")
        # In the last of several passes the opening stands at the target: only a whole pass too many is too much.
        beyond = count * one_pass - total
        error = min(beyond, 0.0) or max(beyond - (one_pass if count > 1 else 0.0), 0.0)
        by = basis(
            self.machine.test_board.removal_error,
            "test_board.removal_error",
            self.machine.source,
            defaults.REMOVAL_ERROR,
        )
        assert by is not None
        result = judged(
            "passes",
            "",
            computed(abs(error), Kind.LENGTH, self.units),
            by,
            self.units,
            too_high=f"Plan {needed} {_word(needed)}, or other shares.",
            near="Plan it nearer, or say why the boards may come out so.",
            workings=(
                f"passes = removal per face / sum of the shares, rounded up: {self.length(total)} / "
                f"{self.length(one_pass)} = {needed}"
            ),
            actions=("kept, target checked", "lead told"),
        )
        statement = f"{self.length(total)} a face at {self.length(one_pass)} a pass: {count} {_word(count)}"
        if result.verdict is not Verdict.OK:
            how = "leave" if error < 0 else "take"
            what = "standing" if error < 0 else "too much"
            statement += f" {how}{'s' if count == 1 else ''} {self.length(abs(error))} {what}"
        return replace(result, statement=f"{statement}.")

    def accepted(self, plan: RemovalPlan, options: tuple[Option, ...]) -> Finding:
        count = len(plan.passes)
        total = self.facts.total or 0.0
        passes = "; ".join(
            f"pass {number}: "
            + ", ".join(f"head {s.head} {self.length(s.take)} ({s.reason})" for s in one.shares)
            + (f", lifted {', '.join(one.lifted)}" if one.lifted else "")
            for number, one in enumerate(plan.passes, start=1)
        )
        others = "; ".join(f"or {option_words(option, self.units)}" for option in options)
        return Finding(
            "plan",
            Verdict.OK if plan.comfortable else Verdict.CAUTION,
            f"Plan: {count} {_word(count)} for {self.length(total)} a face at "
            f"{show(self.facts.cut.feed_speed, Kind.FEED_SPEED, self.units)}"
            + ("." if plan.comfortable else f", a head at {plan.peak_load:.0%} of its cap."),
            ""
            if plan.comfortable
            else f"It holds. Easier: {option_words(options[0], self.units)}."
            if options
            else "It holds.",
            measured=computed(total, Kind.LENGTH, self.units),
            basis="removal_caps",
            source=self.machine.source if self.machine.removal_caps else defaults.PRACTICE,
            workings=f"shares = fewest passes within every cap and need, load level: {passes}"
            + (f"; {others}" if others else ""),
            actions=() if plan.comfortable else ("plan kept", "one more pass", "other grit fitted"),
        )

    def infeasible(self, plan: NoPlan, options: tuple[Option, ...]) -> Finding:
        if options:
            remedy = f"Nearest that works: {option_words(options[0], self.units)}."
        elif plan.nearest_total is not None:
            thinner = show_beside(plan.nearest_total, self.facts.total or 0.0, Kind.LENGTH, self.units)
            remedy = f"Nearest that works: {thinner} a face. Sort or resaw the stock, or ask for other belts."
        elif plan.nearest_spread:
            remedy = f"Sort the lot to within {self.length(plan.nearest_spread)} of thickness, the thick group first."
        else:
            remedy = "Fit belts that run coarse to fine and that each head may carry, or sort the lot."
        return Finding(
            "plan",
            Verdict.STOP,
            f"No plan for {self.length(self.facts.total or 0.0)} a face: {plan.reason}.",
            remedy,
            measured=computed(self.facts.total or 0.0, Kind.LENGTH, self.units),
            basis=self.machine.head_key(plan.head) if plan.head else "removal_caps",
            source=self.machine.source,
            workings="caps = "
            + ", ".join(
                f"head {head.id} ({head.grit}) {self.length(head_cap(head, self.facts.cut).cap)}"
                for head in self.facts.heads
            )
            + "; needs = "
            + ", ".join(f"after head {head.id} {self.length(head_scratch(head))}" for head in self.facts.heads[:-1]),
        )


def _word(count: int) -> str:
    return "pass" if count == 1 else "passes"
