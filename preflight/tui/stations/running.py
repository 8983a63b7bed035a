"""Station 10: one timed stop, no restart by itself, limit bar, tracking, idle current."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from preflight.checks.running import head_of_the_day, station_of_the_day
from preflight.quantities import Kind
from preflight.shop.defaults import RUN_DOWN
from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from preflight.shop.machine import Machine
    from preflight.tui.run import Run


def rows(run: Run) -> list[Row]:
    """Seconds per head after one stop of all; the idle current of the head whose day it is."""
    view = run.view
    if view is None:
        return []
    machine = view.machine
    day = run.sheet.at.date() if run.sheet is not None else date.min
    station = station_of_the_day(machine, day)
    stop = ("running", "stop")
    asked = [Row("running.station", "stop station today", shown=station or "any; the profile names none")]
    asked += [
        Row(
            f"running.stop.{head.id}",
            f"head {head.id} still after, s",
            (*stop, "seconds", head.id),
            Kind.TIME,
            "s",
            hint="One stop of all heads; from the button to a drum that stands.",
            subjects=(f"head {head.id} run-down", f"head {head.id} stop"),
            band=head.run_down or RUN_DOWN,
        )
        for head in machine.heads
    ]
    named = (((*stop, "station"), station or "panel"),)
    asked.append(
        Row(
            "running.restart",
            "after the reset",
            choices=(
                Choice("stays still", (*named, (("running", "restarts_by_itself"), False))),
                Choice("starts by itself", (*named, (("running", "restarts_by_itself"), True))),
            ),
            hint="Reset the stop and wait: nothing may move.",
            subjects=("restart",),
        )
    )
    asked.append(
        Row(
            "running.bar",
            "thickness limit bar",
            choices=tuple(
                Choice(word, ((("running", "limit_bar"), word),))
                for word in ("stops the feed", "does not stop the feed")
            ),
            hint="Push it with a stick or a test piece, never a hand.",
            subjects=("limit bar",),
        )
    )
    asked.append(
        Row(
            "running.tracking",
            "belts swing",
            choices=_tracking(machine),
            hint="Ten swings each: evenly, both ways, clear of the frame.",
            subjects=tuple(f"head {head.id} tracking" for head in machine.heads),
        )
    )
    today = head_of_the_day(machine, day)
    asked += [
        Row(
            f"running.current.{head.id}",
            f"head {head.id} idle current, A",
            ("running", "idle_current", head.id),
            Kind.CURRENT,
            "A",
            hint="No wood under the head.",
            subjects=(f"head {head.id} idle current",),
            optional=head.id != today,
        )
        for head in sorted(machine.heads, key=lambda head: head.id != today)
        if head.motor is not None
    ]
    return asked


def _tracking(machine: Machine) -> tuple[Choice, ...]:
    def state(odd: str, word: str) -> tuple[tuple[tuple[str, ...], str], ...]:
        return tuple((("running", "tracking", h.id), word if h.id == odd else "even") for h in machine.heads)

    choices = [Choice("evenly, all heads" if len(machine.heads) > 1 else "evenly", state("", "even"))]
    odd = [(head.id, word) for head in machine.heads for word in ("uneven", "touches the frame", "no oscillation")]
    return (*choices, *(Choice(f"{word}, head {head}", state(head, word)) for head, word in odd))
