"""What of earlier answers stands for the next run: facts, the readings of a held start-up of this shift, new cards."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.checklist.record_text import released_until
from preflight.quantities import QuantityError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from preflight.checklist.past import Past
    from preflight.tui.run import Run

SHIFT_HOURS = 10
"""What is older than this is an earlier shift's: facts stay, readings go."""


def after_earlier_records(run: Run, earlier: Past, now: datetime) -> tuple[Run, str]:
    """The run without a draft: what the newest records leave standing, and the sentence that says so."""
    newest = next(iter(earlier.records), None)
    if newest is not None and newest["record"].get("kind") == "held":
        return _taken_over(run, newest, now)
    last = earlier.last
    if last is not None and datetime.fromisoformat(last["record"]["local"]).date() == now.date():
        at = datetime.fromisoformat(last["record"]["local"])
        return _with_entries(run, last), f"Signed at {at:%H:%M}.{_holds(last, now)} F2: what has happened since?"
    return run.resumed(carried(run, earlier.facts()), {}, {}), ""


def _holds(record: Mapping[str, Any], now: datetime) -> str:
    """Of a release under override, until when; and that it is over once it is."""
    released = record.get("released")
    if not released:
        return ""
    if now <= datetime.fromisoformat(str(released["until"])):
        return f" {released_until(released)}."
    return " It was released under an override that has ended: stop, and check again."


def _taken_over(run: Run, held: Mapping[str, Any], now: datetime) -> tuple[Run, str]:
    """The newest record is a held one: whoever comes next is told, and goes on from it."""
    head, why = held["record"], held.get("held", {})
    at = datetime.fromisoformat(head["local"])
    what, told, tried = (str(why.get(part) or "nothing said").strip().rstrip(".") for part in ("what", "told", "tried"))
    said = f"Held {at:%Y-%m-%d %H:%M} by {head.get('name')}: {what}. Told: {told}. Tried: {tried}. "
    if abs((now - at).total_seconds()) <= SHIFT_HOURS * 3600:
        return _with_entries(run, held), f"{said}Its readings of this shift are back."
    answers = {entry["key"]: entry["text"] for entry in held.get("entries", ())}
    return run.resumed(carried(run, answers), {}, {}), f"{said}Facts are kept, readings are taken again."


def _with_entries(run: Run, record: Mapping[str, Any]) -> Run:
    entries = record.get("entries", ())
    typed = carried_belts(run, {entry["key"]: entry["text"] for entry in entries})
    return run.resumed(typed, {entry["key"]: entry["at"] for entry in entries}, {})


def carried(run: Run, typed: Mapping[str, str]) -> dict[str, str]:
    """Of earlier answers those that are facts and still make sense: cards, platen, gates; never a reading."""
    known = carried_belts(run, typed)
    facts: dict[str, str] = {}
    for station in run.stations:
        for row in station.rows(replace(run, typed=facts)):
            text = known.get(row.key, "")
            if not (row.fact and text):
                continue
            try:
                row.writes(text)
            except QuantityError:
                continue
            facts[row.key] = text
    return facts


def carried_belts(run: Run, typed: Mapping[str, str]) -> dict[str, str]:
    """Answers in which a belt that was new then is named by the card that was made of it."""
    from preflight.tui.stations.belts import NEW

    answers = dict(typed)
    for station in run.stations:
        for row in station.rows(run):
            if answers.get(row.key) == NEW:
                mark = answers.get(row.key.replace(".card", ".id"), "").strip()
                answers[row.key] = next((c.label for c in row.choices if c.label.startswith(f"{mark}  ")), "")
    return answers
