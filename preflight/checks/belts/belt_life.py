"""A belt's joint step, how it was kept, and how long it has run by its card and the records. Never a stop: economy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.belts.belt_change import card_id
from preflight.checks.condition.due_items import seconds_of_use
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import Basis, judged
from preflight.quantities import Kind, computed, show
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.cards import BeltCard
    from preflight.shop.machine import Head, Machine

KEPT_BADLY = {
    "straight from the box": "it has not taken the shop's air yet and may creep or curl",
    "folded or flat": "a crease prints a line at every turn",
}


def kept_and_joined(head: Head, card: BeltCard, machine: Machine) -> list[Finding]:
    """The step at the joint and the way the belt was kept, where the card says them."""
    found = []
    if card.joint_step is not None:
        finishing = (head is machine.heads[-1] and len(machine.heads) > 1) or head.has_platen
        limit = defaults.JOINT_STEP_FINISHING if finishing else defaults.JOINT_STEP
        found.append(
            judged(
                f"head {head.id} joint step",
                f"Joint of belt {card.id} is thicker than its body by",
                card.joint_step,
                Basis(limit, f"belt card {card.id}.joint_step", limit.source),
                machine.units,
                near="Look for evenly spaced lines on the test board; they name it. Better another belt on this head.",
                actions=("test board looked at first", "other belt put on", "lead told"),
            )
        )
    if card.stored in KEPT_BADLY:
        found.append(
            Finding(
                f"head {head.id} store",
                Verdict.CAUTION,
                f"Belt {card.id} comes {card.stored}: {KEPT_BADLY[card.stored]}.",
                "Hang belts a day at 40 to 60 % humidity on a round peg of 150 mm (6 in) or more, in a loop.",
                measured=card.stored,
                allowed=("hung a day or more",),
                basis=f"belt card {card.id}.stored",
                source=defaults.PRACTICE,
                actions=("hung belt put on", "creases looked for", "lead told"),
            )
        )
    return found


def hours_run(head: Head, card: BeltCard, sheet: SetupSheet, history: History | None) -> list[Finding]:
    """Hours by the card and by the records since the belt went on; shown, not judged."""
    if history is None or not history.times or len(history.times) != len(history.sheets):
        return []
    on_it = [
        any(on.get("head") == head.id and card_id(on.get("card")) == card.id for on in one.get("belts", ()))
        for one in history.sheets
    ]
    spans = zip(on_it, history.times, [*history.times[1:], sheet.at], strict=True)
    seconds = sum(seconds_of_use(start, stop, history, only=start) for on, start, stop in spans if on)
    if seconds <= 0:
        return []
    area = sum(
        run.area
        for run in history.runs
        if (starts := [n for n, start in enumerate(history.times) if start < run.at]) and on_it[starts[-1]]
    )
    hours = show(seconds, Kind.HOURS, unit="h")
    own = f", {card.hours} on its card" if card.hours else ""
    fed = f", {show(area, Kind.AREA, 'metric')} of wood" if area else ""
    return [
        Finding(
            f"head {head.id} hours",
            Verdict.OK,
            f"Belt {card.id} on head {head.id} has run about {hours} by the records{fed}{own}.",
            measured=computed(seconds, Kind.HOURS),
            basis=f"belt card {card.id}.hours",
            source="run records; a start-up without one counts up to the next, at most a shift",
            workings=f"sum over {sum(on_it)} start-ups with this belt on = {hours}",
        )
    ]
