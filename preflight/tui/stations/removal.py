"""Station 8: the cut shared over the heads, passes, feed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.planned_removal import plan_for
from preflight.engine.removal_plan import RemovalPlan
from preflight.quantities import Kind, show
from preflight.tui.painting import fit
from preflight.tui.rows import Row

if TYPE_CHECKING:
    from preflight.engine.removal_plan import Pass, Share
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Picture
    from preflight.tui.run import Run


def rows(run: Run) -> list[Row]:
    """The computed plan stands unless a share is typed."""
    view = run.view
    if view is None:
        return []
    plan = _plan(run)
    passes = plan.passes if plan else ()
    shown = [
        Row(f"removal.pass.{number}", f"pass {number}", shown=_pass(one, view.machine.units))
        for number, one in enumerate(passes[:4], 1)
    ]
    fine = "in" if view.machine.units == "inch" else "mm"
    feed = Kind.FEED_SPEED.unit_in(view.machine.units)
    asked = [
        Row(
            f"removal.{head.id}",
            f"head {head.id} takes, {fine}",
            ("removal", "share", head.id),
            Kind.LENGTH,
            fine,
            hint="Empty: the plan below. Type one share, and you type them all.",
            subjects=(f"head {head.id}", f"head {head.id} cap", f"head {head.id} need"),
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
            hint="Empty: the plan's. Slower spares the motor, not a dull belt.",
            subjects=("feed speed",),
            band=view.machine.conveyor.feed_speed,
            optional=True,
        )
    )
    return [*shown, *asked]


def picture(run: Run, width: int, height: int, charset: Charset) -> Picture:
    """Each pass: a bar a head, what it takes against what it may take; what it must take is marked."""
    plan = _plan(run)
    if plan is None or run.view is None:
        return []
    lines: list[Line] = []
    for number, one in enumerate(plan.passes, 1):
        lines.append([(f"pass {number}", "strong")])
        lines += [_bar(share, run.view.machine.units, width, charset) for share in one.shares]
        lines += [[(f"head {head} lifted", "dim")] for head in one.lifted]
    return lines[:height]


def _plan(run: Run) -> RemovalPlan | None:
    found = plan_for(run.sheet, run.view) if run.sheet is not None and run.view is not None else None
    return found.plan if found is not None and isinstance(found.plan, RemovalPlan) else None


def _pass(one: Pass, units: str) -> str:
    takes = ", ".join(f"head {s.head} {show(s.take, Kind.LENGTH, units)}" for s in one.shares)
    return takes + "".join(f", head {head} lifted" for head in one.lifted)


def _bar(share: Share, units: str, width: int, charset: Charset) -> Line:
    name = fit(f"head {share.head}", 8)
    text = f" {show(share.take, Kind.LENGTH, units)} of {show(share.cap, Kind.LENGTH, units)}"
    room = max(4, width - len(name) - len(text))
    taken = min(room, round(share.load * room))
    need = min(room - 1, round(share.need / share.cap * room))
    cells = [(charset.inside if x < taken else charset.outside, "wood" if x < taken else "rule") for x in range(room)]
    cells[need] = (charset.vertical, "mark")
    return [(name, "text"), *cells, (text, "dim")]
