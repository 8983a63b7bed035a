"""Signing off a run: the record's body from what was typed, and its place in the machine's chain."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.document import Entry, Held, StartUp, document
from preflight.checklist.heading import Signature
from preflight.checklist.store import Saved, commit, prepare_shop
from preflight.checks.route import assess
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.tui.run import Run

ROLE = "operator"


class NotReadyError(PreflightError):
    """A run that cannot be signed as it stands."""


def start_up(run: Run, record_id: str, signature: Signature, held: Held | None, last: datetime | None) -> StartUp:
    """Everything the record holds; judged once more, as at the moment of signing."""
    if run.view is None or run.sheet is None:
        raise NotReadyError("Nothing has been judged yet.", "Wait until the profiles are loaded.")
    raw = {**run.raw, "at": signature.at, "operator": signature.name}
    sheet = type(run.sheet).model_validate(raw)
    judged = assess(sheet, run.view, run.history)
    if held is None and not judged.releasable:
        raise NotReadyError("Something is still open or stopped.", "Clear it, or save the start-up as held.")
    notes = []
    if last is not None and signature.at < last:
        notes.append(f"The clock stands before the record before this one ({last.isoformat(timespec='seconds')}).")
    return StartUp(record_id, raw, judged, run.view, signature, _entries(run, signature.at), held, notes)


def save(shop: Path, made: StartUp, token: str, since: int | None) -> Saved:
    """Commit the record to the machine's chain, unsigned until people have keys. Raises `PreflightError`."""
    prepare_shop(shop)
    body = write_body(document(made))
    return commit(
        Chain(shop, made.view.machine.id),
        lambda _: body,
        record_id=made.record_id,
        signer=None,
        token=token,
        since=since,
    )


def _entries(run: Run, now: datetime) -> list[Entry]:
    made = []
    for key, text in run.typed.items():
        if text.strip():
            earlier = tuple((_aware(at or now), was) for at, was in run.earlier.get(key, ()))
            made.append(Entry(key, text.strip(), _aware(run.entered.get(key, now)), earlier))
    return made


def _aware(at: datetime) -> datetime:
    return (at if at.tzinfo else at.replace(tzinfo=UTC)).replace(microsecond=0)


def new_card(run: Run, head_id: str) -> dict[str, Any] | None:
    """The card of a belt measured in this run for that head, as a table; None when its card was there before."""
    on = next((belt for belt in run.raw.get("belts", ()) if belt.get("head") == head_id), None)
    card = on.get("card") if on else None
    return card if isinstance(card, dict) else None
