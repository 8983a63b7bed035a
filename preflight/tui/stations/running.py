"""Station 10: one timed stop, no restart by itself, limit bar, tracking, idle current."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from preflight.checks.running.check import head_of_the_day, run_down_limit
from preflight.checks.running.repairs import CLEARED, MISTYPED, still_stopped
from preflight.checks.running.stop_rotation import station_of_the_day, waiting
from preflight.checks.running.weekly import asked_today
from preflight.quantities import Kind, QuantityError, parse
from preflight.tui.rows import Choice, Row

REPAIRED = "repaired"
_RESTARTS, _RUNS_ON, _STARTS_OPEN = "starts by itself", "does not stop the feed", "starts with a door open"
_DEVICES = (
    ("restart", "running.restart", _RESTARTS),
    ("limit bar", "running.bar", _RUNS_ON),
    ("interlock", "running.interlock", _STARTS_OPEN),
)
"""Subject, row, and the answer of a safety device that nobody may override."""

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.history import OpenStop
    from preflight.shop.machine import Head, Machine
    from preflight.tui.rows import Path
    from preflight.tui.run import Run


def rows(run: Run) -> list[Row]:
    """Seconds per head after one stop of all; the idle current of the head whose day it is."""
    view = run.view
    if view is None:
        return []
    machine = view.machine
    day = run.sheet.at.date() if run.sheet is not None else date.min
    station = station_of_the_day(machine, day, run.history)
    due = asked_today(run.sheet, machine, run.history) if run.sheet is not None else frozenset()
    stopped = still_stopped("running", run.sheet, run.history)
    turning = [head for head in machine.heads if not _is_lifted(run, head)]
    stop = ("running", "stop")
    # with the first seconds typed a stop was tried: they name the station, and what they replace
    named = (((*stop, "station"), station or "panel"), *_failed(run, machine))
    asked = [
        Row(
            "running.station",
            "stop station today",
            shown=station or "any; the profile names none",
            subjects=("stop", "stop station"),
            set_by="The stop of the day goes round by itself; the machine profile names the stops.",
        )
    ]
    asked += [
        Row(
            f"running.stop.{head.id}",
            f"head {head.id} still after, s",
            (*stop, "seconds", head.id),
            Kind.TIME,
            "s",
            hint="One stop of all heads; from the button to a drum that stands.",
            subjects=("stop", f"head {head.id} stop", f"head {head.id} stop unit"),
            also=named,
            band=run_down_limit(head),
        )
        for head in turning
    ]
    asked += _rotation(run, machine)
    asked.append(
        Row(
            "running.restart",
            "after the reset",
            choices=(
                Choice("stays still", (*named, (("running", "restarts_by_itself"), False))),
                Choice(_RESTARTS, (*named, (("running", "restarts_by_itself"), True))),
            ),
            hint="Reset the stop and wait: nothing may move.",
            subjects=("restart",),
        )
    )
    asked.append(
        Row(
            "running.bar",
            "thickness limit bar",
            choices=tuple(Choice(word, ((("running", "limit_bar"), word),)) for word in ("stops the feed", _RUNS_ON)),
            hint="Push it with a stick or a test piece, never a hand.",
            subjects=("limit bar",),
        )
    )
    if "interlock" in due or any(one.subject == "interlock" for one in stopped):
        asked.append(
            Row(
                "running.interlock",
                "door open, start pressed",
                choices=tuple(
                    Choice(word, ((("running", "interlock"), word),)) for word in ("start refused", _STARTS_OPEN)
                ),
                hint="Heads at rest first. Never open a door on running heads.",
                subjects=("interlock",),
            )
        )
    asked += _repairs(run, stopped)
    asked.append(
        Row(
            "running.tracking",
            "belts swing",
            choices=_tracking(turning),
            hint="Ten swings each: evenly, both ways, clear of the frame.",
            subjects=tuple(f"head {head.id} tracking" for head in turning),
        )
    )
    if "swing" in due:
        asked += [row for head in turning if head.oscillation_stroke for row in _swing(head.id)]
    today = head_of_the_day(turning, day)
    asked += [
        Row(
            f"running.current.{head.id}",
            f"head {head.id} idle current, A",
            ("running", "idle_current", head.id),
            Kind.CURRENT,
            "A",
            hint="No wood under the head.",
            subjects=(f"head {head.id} idle current", *(("idle current",) if head.id == today else ())),
            optional=head.id != today,
        )
        for head in sorted(turning, key=lambda head: head.id != today)
        if head.motor is not None
    ]
    if "feed by stopwatch" in due:
        asked += _feed(machine)
    return asked


def _failed(run: Run, machine: Machine) -> tuple[tuple[Path, Any], ...]:
    """What was accepted earlier in this run and stops the machine: written beside the answers that stand."""
    found = [
        {"subject": subject, "reading": bad}
        for subject, key, bad in _DEVICES
        if any(text == bad for _, text in run.earlier.get(key, ()))
    ]
    for head in machine.heads:
        limit = run_down_limit(head)
        for _, text in run.earlier.get(f"running.stop.{head.id}", ()):
            try:
                reading = parse(text, Kind.TIME, "s")
            except QuantityError:
                continue
            if limit is not None and limit.ceiling is not None and reading.value > limit.ceiling:
                found.append({"subject": f"head {head.id} stop", "reading": reading.text})
    return ((("running", "failed"), found),) if found else ()


def _rotation(run: Run, machine: Machine) -> list[Row]:
    """Stations whose week is over: a row only when there are any."""
    late = waiting(run.sheet, machine, run.history) if run.sheet is not None else ()
    if not late:
        return []
    return [
        Row(
            "running.also",
            "stop tried too at",
            choices=(Choice(", ".join(late), ((("running", "stop", "also"), list(late)),)), Choice("not tried")),
            hint=f"A week without it: {', '.join(late)}. The heads must stop there too."[:112],
            subjects=("stop rotation",),
        )
    ]


def _repairs(run: Run, stopped: Sequence[OpenStop]) -> list[Row]:
    """Whether each stop that nobody may override was repaired or mistyped, and by whom; it is read again above."""
    asked = []
    for index, one in enumerate(one for one in stopped if not one.done):
        at, subject = ("repairs", index), f"{CLEARED}{one.subject}"
        own = (((*at, "check"), one.check), ((*at, "subject"), one.subject))
        key = f"repair.{one.subject}"
        before = f"{one.reading} earlier in this run" if one.reading else f"Stopped on {one.since:%Y-%m-%d}"
        asked.append(
            Row(
                f"{key}.how",
                f"{one.subject} was",
                choices=(Choice(MISTYPED, (*own, ((*at, "what"), MISTYPED))), Choice(REPAIRED)),
                hint=f"{before}. Either way it needs a good new reading, and the earlier one stays in the record.",
                subjects=(subject,),
            )
        )
        typed = f"{key}.what"
        if run.typed.get(f"{key}.how") == REPAIRED or (run.typed.get(typed) and not run.typed.get(f"{key}.how")):
            hint = "What was done, in a few words."
            asked.append(Row(typed, "  repaired, how", (*at, "what"), hint=hint, subjects=(subject,), also=own))
        hint = "Who did the repair, or typed it wrongly."
        asked.append(Row(f"{key}.who", "  by", (*at, "who"), hint=hint, subjects=(subject,), also=own))
    return asked


def _swing(head: str) -> list[Row]:
    return [
        Row(
            f"running.swing.{head}.{way}",
            f"head {head} swing {way}, s",
            ("running", "swing", head, way),
            Kind.TIME,
            "s",
            hint="Weekly: five swings, door shut; the mean of one.",
            subjects=(f"head {head} swing",),
        )
        for way in ("out", "back")
    ]


def _feed(machine: Machine) -> list[Row]:
    inch = machine.units == "inch"
    distance = "3 ft" if inch else "1 m"
    return [
        Row(
            "running.feed_timed",
            f"conveyor over {distance}, s",
            ("running", "feed_timed", "seconds"),
            Kind.TIME,
            "s",
            hint="Weekly: a chalk mark on the conveyor beside a tape, no wood under the heads.",
            subjects=("feed by stopwatch",),
            also=((("running", "feed_timed", "distance"), distance),),
        )
    ]


def _is_lifted(run: Run, head: Head) -> bool:
    """A lifted head is switched off: nothing is read on it."""
    on = run.sheet.belt_on(head.id) if run.sheet is not None else None
    return on is not None and on.lifted


def _tracking(heads: Sequence[Head]) -> tuple[Choice, ...]:
    def state(odd: str, word: str) -> tuple[tuple[tuple[str, ...], str], ...]:
        return tuple((("running", "tracking", h.id), word if h.id == odd else "even") for h in heads)

    choices = [Choice("evenly, all heads" if len(heads) > 1 else "evenly", state("", "even"))]
    odd = [(head.id, word) for head in heads for word in ("uneven", "touches the frame", "no oscillation")]
    return (*choices, *(Choice(f"{word}, head {head}", state(head, word)) for head, word in odd))
