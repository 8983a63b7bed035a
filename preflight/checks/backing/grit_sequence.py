"""Grit sequence: coarse to fine, and every head able to erase the scratches of the one before it.

No grade is counted: what the next head must take (its need) is set against what it may take (its cap).
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from preflight.checks.backing.head_cap import head_cap, platen_is_down, scratch_factor, scratch_left
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing, verdict_of
from preflight.engine.abrasives import grain_ratio
from preflight.quantities import Kind, computed, show, show_beside
from preflight.shop import defaults
from preflight.shop.limits import Limit

if TYPE_CHECKING:
    from preflight.engine.abrasives import Grit
    from preflight.sheet import BeltOnHead, SetupSheet
    from preflight.shop.machine import Head, Machine
    from preflight.shop.view import ShopView

ACTIONS = ("finer grit on the head before", "test board looked at first", "lead told")


def sequence(sheet: SetupSheet, shop: ShopView) -> list[Finding]:
    """Findings over each pair of heads that cut one after the other; lifted heads are passed over."""
    cutting: list[tuple[Head, BeltOnHead, Grit]] = []
    for head in shop.machine.heads:
        on = sheet.belt_on(head.id)
        card = shop.belt(on)
        if on is not None and card is not None and cuts(head, on):
            cutting.append((head, on, card.grit))
    found: list[Finding] = []
    for (first, first_on, first_grit), (second, second_on, second_grit) in pairwise(cutting):
        subject = f"heads {first.id} and {second.id}"
        found.append(_order(subject, first.id, first_grit, second.id, second_grit))
        if not second_grit.coarser_than(first_grit):
            found.append(_erasing(subject, shop, (first, first_on, first_grit), (second, second_on, second_grit)))
    return found


def cuts(head: Head, on: BeltOnHead) -> bool:
    """Whether a head touches the wood: not lifted, and not a mere platen that is lifted."""
    return not on.lifted and not (head.kind == "platen" and on.platen == "lifted")


def first_to_cut(sheet: SetupSheet, machine: Machine) -> Head | None:
    """The first head that is not lifted; None when the sheet lifts them all."""
    return next((head for head in machine.heads if (on := sheet.belt_on(head.id)) is None or cuts(head, on)), None)


def _order(subject: str, first: str, first_grit: Grit, second: str, second_grit: Grit) -> Finding:
    ratio = grain_ratio(first_grit, second_grit)
    sizes = [show(grit.grain_size, Kind.LENGTH, unit="µm") for grit in (first_grit, second_grit)]
    common = f"{first_grit} ({sizes[0]} grains) on head {first}, then {second_grit} ({sizes[1]}) on head {second}"
    actions: tuple[str, ...] = ()
    if ratio < 1:
        verdict, statement = Verdict.STOP, f"{common}: the coarser one comes second."
        remedy = "Change the belts over: coarse to fine in feed order. Or lift one head."
    elif ratio < defaults.GRIT_STEP_LEAST:
        verdict, statement = Verdict.CAUTION, f"{common}: hardly a step, the second head refines nothing."
        remedy = "Go one grade finer on the second head, or lift one head."
        actions = ("finer grit put on", "one head lifted", "lead told")
    else:
        verdict, statement, remedy = Verdict.OK, f"{common}: coarse to fine.", ""
    return Finding(
        f"{subject} order",
        verdict,
        statement,
        remedy,
        measured=f"{first_grit}, {second_grit}",
        basis="belt cards",
        source=defaults.PRACTICE,
        workings=f"grain ratio = {sizes[0]} / {sizes[1]} = {ratio:.2f}",
        actions=actions,
    )


def _erasing(
    subject: str, shop: ShopView, before: tuple[Head, BeltOnHead, Grit], after: tuple[Head, BeltOnHead, Grit]
) -> Finding:
    machine, (first, first_on, first_grit), (second, second_on, second_grit) = shop.machine, before, after
    units = machine.units
    try:
        cap = head_cap(machine, second, second_on, second_grit)
    except ValueError as error:
        what = f"What head {second.id} may take cannot be worked out: {error}."
        return missing(f"{subject} scratches", what, "Have the lead mend the profile.", basis="removal_caps")
    need = computed(scratch_left(first, first_on, first_grit), Kind.LENGTH, units)
    most = computed(cap.cap, Kind.LENGTH, units)
    verdict, _ = verdict_of(need.value, Limit(high=most))
    factor, factor_source = scratch_factor(first, first_on)
    down = platen_is_down(second, second_on)
    by = f"the platen of head {second.id}" if down else f"head {second.id}"
    remedy = ""
    if verdict is Verdict.STOP:
        over = show_beside(need.value - most.value, 0.0, Kind.LENGTH, units)
        statement = (
            f"Head {first.id} leaves scratches {need} deep in {first_grit}, {over} over the {most} that {by} takes."
        )
        lift = ", or lift the platen and finish on the drum" if down and second.kind != "platen" else ""
        remedy = f"Put a finer grit on head {first.id}, or a middle grit between{lift}."
    elif verdict is Verdict.CAUTION:
        statement = f"Scratches {need} deep from head {first.id} use up nearly all of the {most} that {by} takes."
        remedy = f"Better a finer grit on head {first.id}; look for its scratches in raking light on the test board."
    else:
        statement = f"Head {first.id} leaves scratches {need} deep; {by} takes up to {most} and erases them."
    return Finding(
        f"{subject} scratches",
        verdict,
        statement,
        remedy,
        measured=need,
        high=most,
        basis=cap.basis,
        source=cap.source,
        workings=(
            f"need = scratch factor {factor:g} ({factor_source}) x grain "
            f"{show(first_grit.grain_size, Kind.LENGTH, unit='µm')} = {need}; cap of {second_grit} = {most}"
        ),
        actions=ACTIONS if verdict is Verdict.CAUTION else (),
    )
