"""The removal test: thickness after each head alone says what every head really takes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import judged, missing
from preflight.engine.head_balance import HeadTake, head_takes, idle_heads
from preflight.engine.instrument import reading_uncertainty
from preflight.quantities import Kind, computed, show

if TYPE_CHECKING:
    from preflight.checks.removal.head_cut import HeadCuts
    from preflight.checks.removal.planned_removal import PlannedRemoval
    from preflight.engine.cutting_head import CuttingHead
    from preflight.sheet import SetupSheet


def takes(sheet: SetupSheet, cuts: HeadCuts, planned: PlannedRemoval | None, *, asked: bool = False) -> list[Finding]:
    """Each head's take against its plan and its cap; open when the test is due and not made."""
    test = sheet.removal.test
    if test is None:
        due = "The removal test of each head is due (weekly, and after an adjustment)."
        how = "One board: measure it, pass it with the first head alone, then with each further one, measure each time."
        return [missing("removal test", due, how, "removal.test")] if asked else []
    if planned is None or not planned.passes or sheet.stock.instrument is None:
        what = "The removal test cannot be judged: shares or instrument are not known."
        return [missing("removal test", what, "Answer stock and removal first.", "stock.instrument")]
    first = planned.passes[0]
    heads = [head for head in cuts.facts.heads if head.id in first]
    if len(test.after) != len(heads):
        what = f"The removal test has {len(test.after)} readings after, and {len(heads)} heads are lowered."
        return [missing("removal test", what, "Read after the first head, then with each further one.", "removal.test")]
    after = [reading.value for reading in test.after]
    resolution = sheet.stock.instrument.resolution.value
    if not (after and resolution > 0 and test.before.value > after[-1]):
        what = "The removal test shows no removal: the board is no thinner than before."
        return [missing("removal test", what, "Make it again with all the heads at their setting.", "removal.test")]
    found = head_takes(test.before.value, after, [first[head.id] for head in heads], reading_uncertainty(resolution))
    idle = idle_heads(found)
    return [_take(cuts, head, take, n in idle) for n, (head, take) in enumerate(zip(heads, found, strict=True))]


def _take(cuts: HeadCuts, head: CuttingHead, take: HeadTake, idle: bool) -> Finding:
    by, note = cuts.cap(head)
    units = cuts.units
    taken = computed(max(take.take, 0.0), Kind.LENGTH, units)
    plan = show(take.planned, Kind.LENGTH, units)
    finding = judged(
        f"head {head.id} take",
        f"Head {head.id} really takes",
        taken,
        by,
        units,
        too_high="The heads before it take too little: set them level to each other, then test again.",
        near="Set the heads level to each other, so that each takes its share; then test again.",
        workings=(
            f"take = thickness before - after this head = {taken.text}; planned {plan}; "
            f"{take.share:.0%} of the removal; {note}"
        ),
        actions=("heads set level, tested again", "kept, first boards watched", "lead told"),
    )
    if finding.verdict is Verdict.STOP:
        return finding
    statement = f"Head {head.id} really takes {taken.text}, planned {plan}."
    if not idle:
        return replace(finding, statement=statement)
    return replace(
        finding,
        verdict=Verdict.CAUTION,
        statement=f"{statement[:-1]}: other heads do its work.",
        remedy="Lower this head or raise the others until each takes its share; then test again.",
        actions=("heads set level, tested again", "lead told"),
    )
