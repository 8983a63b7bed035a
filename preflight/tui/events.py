"""What has happened since the last answers: on which head, what it asks again in words, and the run after it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from preflight.checks.voids import Event, again, event, kept
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from preflight.history import History
    from preflight.tui.run import Run


@dataclass(frozen=True, slots=True)
class Before:
    """What stood before an event, so that it can be taken back."""

    run: Run
    started: Mapping[str, Any]
    """What the draft said of the record it becomes."""
    drafted: bool
    """Whether there was a draft on disk."""


def event_picks(run: Run, event_id: str) -> list[Pick]:
    """The heads to ask between for an event that happens on one of several; none when nothing is to be asked."""
    happened, heads = event(event_id), _heads(run)
    if not happened.asks_heads or len(heads) < 2:
        return []
    each = [Pick(happened.on([head]).full_id, f"head {head}") for head in heads]
    return [*each, Pick(happened.on(heads).full_id, "all heads")]


def voids(run: Run, event_id: str) -> str:
    """What has happened and what that asks again, in words."""
    happened = _on_heads(run, event_id)
    on = f", head {' and '.join(happened.heads)}" if happened.heads else ""
    return f"{happened.label.capitalize()}{on}. {again(happened)}"


def after(run: Run, event_id: str, at: datetime, history: History) -> Run:
    """The run after an event: what it voids is asked again, with all that is known of earlier start-ups now."""
    happened = _on_heads(run, event_id)
    rows = {row.key: row for station in run.stations for row in station.rows(run)}
    answers = dict(run.typed)
    for head in happened.heads:
        if (card := rows.get(f"belts.{head}.card")) is not None:
            answers.update(card.renews)
    typed = kept(answers, happened, {key: row.fact for key, row in rows.items()})
    unaccepted = {key: before for key, before in run.unaccepted.items() if key in typed}
    base = {**run.base, "at": at, "happened": happened.id}
    anew = replace(run, base=base, history=history, signed=None)
    return anew.resumed(typed, run.entered, run.voiding(typed), unaccepted)


def _on_heads(run: Run, event_id: str) -> Event:
    """The event; on all heads where it happens on heads and none is named."""
    happened = event(event_id)
    return happened if happened.heads else happened.on(_heads(run))


def _heads(run: Run) -> list[str]:
    return [head.id for head in run.view.machine.heads] if run.view is not None else []
