"""Station 8: the cut shared over the heads and why, what else would do, what-if on grits and feed, the head test."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.removal.planned_removal import plan_for
from preflight.checks.removal.removal_choices import alternatives, what_if
from preflight.checks.running.weekly import asked_today
from preflight.engine.abrasives import neighbour
from preflight.engine.cutting_head import CAP_CAUTION
from preflight.engine.removal_plan import NoPlan, RemovalPlan
from preflight.quantities import Kind, show
from preflight.tui.painting import fit
from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from preflight.engine.abrasives import Grit
    from preflight.engine.removal_plan import Share
    from preflight.shop.machine import Head
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run

AS_FITTED = "as fitted"
OTHER_WAY = "A next-best way: fit that belt, set that feed, or plan that many passes."
PLANNED = "Worked out from belts, stock and feed: another share is typed below, at the head that takes it."
OF_HEAD = ("", " need", " motor")
"""What a head's share is judged by, as in the findings' subjects."""
_WHOLE = ("plan", "passes", "caps", "thickest piece", "job")
"""What is judged of the shares together, or keeps them from being judged."""
MOST_SHOWN = 6
"""Lines of the plan; a longer one is counted."""


def rows(run: Run) -> list[Row]:
    """The computed plan stands unless a share is typed; under it what else would do, and the head test when due."""
    view = run.view
    if view is None:
        return []
    units = view.machine.units
    fine, feed = ("in" if units == "inch" else "mm"), Kind.FEED_SPEED.unit_in(units)
    asked = [
        Row(
            f"removal.{head.id}",
            f"head {head.id} takes, {fine}",
            ("removal", "share", head.id),
            Kind.LENGTH,
            fine,
            hint="Empty: the plan above. Type one share, and you type them all.",
            subjects=(*(f"head {head.id}{what}" for what in OF_HEAD), *_WHOLE),
            optional=True,
        )
        for head in view.machine.heads
    ]
    asked.append(
        Row(
            "removal.feed",
            f"feed speed, {feed}",
            ("removal", "feed_speed"),
            Kind.FEED_SPEED,
            feed,
            hint="Empty: the usual one. Another one plans anew. Slower spares the motor, not a dull belt.",
            subjects=("feed speed",),
            band=view.machine.conveyor.feed_speed,
            optional=True,
        )
    )
    if run.sheet is not None and "removal test" in asked_today(run.sheet, view.machine, run.history):
        asked += _test(run, fine)
    return [*_plan_rows(run), *asked, *_what_if(run)]


def _plan_rows(run: Run) -> list[Row]:
    view, sheet = run.view, run.sheet
    found = plan_for(sheet, view) if sheet is not None and view is not None else None
    if found is None or found.plan is None or view is None or sheet is None:
        return []
    units, plan = view.machine.units, found.plan
    shown: list[Row] = []
    if isinstance(plan, NoPlan):
        why = f"{plan.reason[0].upper()}{plan.reason[1:]}."
        shown.append(Row("removal.plan.none", "no plan", shown=why, hint=why[:112], subjects=("plan",), set_by=PLANNED))
    passes = plan.passes if isinstance(plan, RemovalPlan) else ()
    lines = [(number, share) for number, one in enumerate(passes, 1) for share in one.shares]
    for number, share in lines[:MOST_SHOWN]:
        label = f"pass {number}, head {share.head}"
        subjects = (*(f"head {share.head}{what}" for what in OF_HEAD), "plan")
        text = f"{_of(share, units)}, {share.load:.0%}"
        key = f"removal.plan.{number}.{share.head}"
        shown.append(Row(key, label, shown=text, hint=_reason(share, units), subjects=subjects, set_by=PLANNED))
    if len(lines) > MOST_SHOWN:
        shown.append(Row("removal.plan.more", "", shown=f"and {len(lines) - MOST_SHOWN} shares more", set_by=PLANNED))
    for number, (label, text) in enumerate(alternatives(sheet, view), 1):
        key, name = f"removal.or.{number}", f"or {label}"[:26]
        shown.append(Row(key, name, shown=text, hint=OTHER_WAY, subjects=("plan",), set_by=PLANNED))
    return shown


def _test(run: Run, fine: str) -> list[Row]:
    assert run.view is not None
    lowered = [head for head in run.view.machine.heads if not _is_lifted(run, head)]
    at = ("removal", "test")
    subjects = ("removal test", *(f"head {head.id} take" for head in lowered))
    before = Row(
        "removal.test.before",
        f"head test: before, {fine}",
        (*at, "before"),
        Kind.LENGTH,
        fine,
        hint="Weekly and after an adjustment: one board, the caliper always at the same place.",
        subjects=subjects,
    )
    after = [
        Row(
            f"removal.test.{head.id}",
            f"  after head {head.id}, {fine}",
            (*at, "after", index),
            Kind.LENGTH,
            fine,
            hint="The others lifted." if index == 0 else f"Head {head.id} lowered too, the same opening.",
            subjects=(f"head {head.id} take", "removal test"),
        )
        for index, head in enumerate(lowered)
    ]
    return [before, *after]


def _is_lifted(run: Run, head: Head) -> bool:
    on = run.sheet.belt_on(head.id) if run.sheet is not None else None
    return on is not None and on.lifted


def _what_if(run: Run) -> list[Row]:
    """Another grit tried on paper: it changes nothing that is judged."""
    view, sheet = run.view, run.sheet
    if view is None or sheet is None or sheet.removal.share is not None:
        return []
    asked: list[Row] = []
    tried: dict[str, Grit] = {}
    for head in view.machine.heads:
        card = view.belt(sheet.belt_on(head.id))
        if card is None or _is_lifted(run, head):
            continue
        near = [grit for steps in (-2, -1, 1, 2) if (grit := neighbour(card.grit, steps)) is not None]
        key = f"removal.whatif.{head.id}"
        asked.append(
            Row(
                key,
                f"try on head {head.id}",
                choices=(Choice(AS_FITTED), *(Choice(str(grit)) for grit in near)),
                hint="Only tried here: fit the belt and name its card to have it judged.",
                optional=True,
            )
        )
        for grit in near:
            if str(grit) == run.typed.get(key):
                tried[head.id] = grit
    if tried:
        text = what_if(sheet, view, tried)
        short, _, _ = text.partition(":")
        asked.append(Row("removal.whatif", "then", shown=short, hint=text[:112], set_by=PLANNED))
    return asked


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """Each pass: a bar a head, what it takes against what it may take; what it must take is marked."""
    plan = _plan(run)
    if plan is None or run.view is None or width < 36:
        return []
    lines: list[Line] = []
    for number, one in enumerate(plan.passes, 1):
        lifted = "".join(f", head {head} lifted" for head in one.lifted)
        total = show(one.total, Kind.LENGTH, run.view.machine.units)
        lines.append([(f"pass {number}: {total}{lifted}"[:width], "strong")])
        lines += [_bar(share, run.view.machine.units, width, charset) for share in one.shares]
    lines.append([(f"{charset.vertical} least it must take; the bar's end is its cap"[:width], "dim")])
    return lines[:height]


def _plan(run: Run) -> RemovalPlan | None:
    found = plan_for(run.sheet, run.view) if run.sheet is not None and run.view is not None else None
    return found.plan if found is not None and isinstance(found.plan, RemovalPlan) else None


def _reason(share: Share, units: str) -> str:
    """Why this head takes this: "All heads loaded alike. It could take 0.2 mm more; 0.05 mm erases head 1"."""
    what = f"erases head {share.erases}'s scratches" if share.erases else "clears the stock's marks and spread"
    margin, need = (show(value, Kind.LENGTH, units) for value in (share.margin, share.need))
    why = f"{share.reason[0].upper()}{share.reason[1:]}."
    return f"{why} It could take {margin} more; at least {need} {what}."[:112]


def _of(share: Share, units: str) -> str:
    unit = Kind.LENGTH.unit_in(units)
    take = show(share.take, Kind.LENGTH, units).removesuffix(unit).strip()
    return f"{take} of {show(share.cap, Kind.LENGTH, units)}"


def _bar(share: Share, units: str, width: int, charset: Charset) -> Line:
    name = fit(f"head {share.head}", 8)
    text = f" {_of(share, units)}, {share.load:.0%}"
    room = max(4, width - len(name) - len(text))
    taken = min(room, round(share.load * room))
    need = min(room - 1, round(share.need / share.cap * room))
    full = "caution" if share.load > CAP_CAUTION else "wood"
    cells = [(charset.inside if x < taken else charset.outside, full if x < taken else "rule") for x in range(room)]
    cells[need] = (charset.vertical, "mark")
    return [(name, "text"), *cells, (text, "dim")]
