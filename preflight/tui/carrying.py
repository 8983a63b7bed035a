"""What of earlier answers stands for the next run: facts, the readings of a held start-up of this shift, new cards."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.quantities import QuantityError
from preflight.tui.run import FED, Run
from preflight.tui.signed import SIGNED

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.checklist.past import Past
    from preflight.tui.drafted import Drafted
    from preflight.tui.signed import SignedOff

SHIFT_HOURS = 10
"""What is older than this is an earlier shift's: facts stay, readings go."""

OVER = "It was released under an override that has ended: stop, and check again."


def after_earlier_records(run: Run, earlier: Past, now: datetime, released: SignedOff | None = None) -> tuple[Run, str]:
    """The run without a draft: what the newest records leave standing, and the sentence that says so.

    With the release of today that stands, if there is one, its sheet is shown and is read only.
    """
    newest = next(iter(earlier.records), None)
    if newest is not None and newest["record"].get("kind") == "held":
        return _taken_over(run, newest, now)
    last = earlier.last
    if released is not None:
        return _read_only(run, earlier, released), released.sentence
    if last is not None and datetime.fromisoformat(last["record"]["local"]).date() == now.date():
        at = datetime.fromisoformat(last["record"]["local"])
        return _with_entries(run, last), f"Signed at {at:%H:%M}. {OVER} F2: what has happened since?"
    return run.resumed(carried(run, earlier.facts()), {}, {}), ""


@dataclass(frozen=True, slots=True)
class Resumed:
    """A run that goes on from a draft."""

    run: Run
    said: str
    record: Mapping[str, Any] = field(default_factory=dict)
    """What the draft says of the record it becomes."""


def from_draft(run: Run, drafted: Drafted, earlier: Past, released: SignedOff | None, now: datetime) -> Resumed:
    """The run that a draft holds; of a draft of an earlier shift only the facts stand."""
    began = drafted.began
    if SIGNED in drafted.record:  # nothing but the tally of what was fed is new in it
        tally = {FED: drafted.typed[FED]} if drafted.typed.get(FED) else {}
        if released is not None and drafted.record[SIGNED] == released.number:
            return Resumed(_read_only(run, earlier, released, tally), released.sentence, drafted.record)
        run, said = after_earlier_records(run, earlier, now, released)
        return Resumed(run.resumed({**run.typed, **tally}, run.entered, run.earlier), said)
    if began is not None and (now - began).total_seconds() > SHIFT_HOURS * 3600:
        only = carried(run, drafted.settled)
        run = run.resumed(drafted.settled, drafted.entered, drafted.earlier)
        said = f"Draft of {began:%Y-%m-%d %H:%M}: facts kept, readings dropped."
        return Resumed(run.resumed(only, {}, run.voiding(only)), said)
    if "happened" in drafted.record:
        run = replace(run, base={**run.base, "happened": drafted.record["happened"]})
    when = f" of {began:%H:%M}" if began else ""
    run = run.resumed(drafted.typed, drafted.entered, drafted.earlier, drafted.unaccepted)
    return Resumed(run, f"Draft{when} resumed.{_half(run)}", drafted.record)


def _half(run: Run) -> str:
    """Which answers were not accepted when the app ended."""
    rows = [row for station in run.stations for row in run.rows(station.id) if row.key in run.half]
    typed = ", ".join(row.label.strip() for row in rows if not row.choices)
    chosen = ", ".join(row.label.strip() for row in rows if row.choices)
    parts = (("Half typed", typed), ("Not accepted", chosen))
    return "".join(f" {what}, asked again: {labels}." for what, labels in parts if labels)


def _read_only(run: Run, earlier: Past, released: SignedOff, tally: Mapping[str, str] | None = None) -> Run:
    """The sheet of the newest record as it was judged, by what was known before it; with what was counted since."""
    before = replace(earlier, records=earlier.records[1:], references=earlier.references[1:])
    run = _with_entries(replace(run, history=before.history()), earlier.records[0])
    typed = {key: text for key, text in run.typed.items() if key != FED or not released.run_recorded}
    if tally is not None:
        typed = {**{key: text for key, text in typed.items() if key != FED}, **tally}
    return replace(run.resumed(typed, run.entered, {}), signed=released)


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
