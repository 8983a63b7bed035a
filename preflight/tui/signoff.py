"""Signing off a run: the record's body from what was typed, and its place in the machine's chain."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.document import Entry, Held, StartUp, document
from preflight.checklist.record_text import released_until
from preflight.checklist.register import LEAD
from preflight.checklist.store import Saved, commit
from preflight.checks.permit import Release, release
from preflight.checks.route import assess
from preflight.errors import PreflightError
from preflight.tui.readiness import mistyped
from preflight.tui.unfinished import sheet_from

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.heading import Signature
    from preflight.checklist.reference import Reference
    from preflight.checklist.signing import Signer
    from preflight.tui.run import Run
    from preflight.tui.standing import Standing

ROLE = "operator"


class NotReadyError(PreflightError):
    """A run that cannot be signed as it stands."""


def start_up(
    run: Run,
    record_id: str,
    signature: Signature,
    held: Held | None,
    last: datetime | None,
    standing: Standing,
    refers: Reference | None = None,
) -> StartUp:
    """Everything the record holds; judged once more, as at the moment of signing. NotReadyError when it may not be."""
    if run.view is None or run.sheet is None:
        raise NotReadyError("Nothing has been judged yet.", "Wait until the profiles are loaded.")
    if run.signed is not None:
        number = run.signed.number
        raise NotReadyError(f"This sheet is record {number} and read only.", "Say what has happened since: F2.")
    view, run = run.view, run.judged()
    raw = {**run.raw, "at": signature.at, "operator": signature.name}
    sheet, unfinished = sheet_from(raw)
    judged = assess(sheet, view, run.history)
    resting = release(judged, standing.permits, signature.at)
    if held is None:
        if unfinished or run.unread:
            raise NotReadyError("An answer cannot be read, or is half given.", "Complete it, or save it as held.")
        _require_release(resting, standing, signature)
    notes = [*standing.profiles, *(f"Called mistyped: {one.statement}" for one in mistyped(run))]
    if last is not None and signature.at < last:
        notes.append(f"The clock stands before the record before this one ({last.isoformat(timespec='seconds')}).")
    return StartUp(
        record_id=record_id,
        sheet=raw,
        assessment=judged,
        view=view,
        signature=signature,
        entries=_entries(run, signature.at),
        held=held,
        notes=notes,
        permits=() if held else resting.permits,
        refers=refers,
    )


def _require_release(resting: Release, standing: Standing, signature: Signature) -> None:
    """NotReadyError when this start-up may not be released, or not by this person."""
    if not resting.allowed:
        raise NotReadyError("Something is still open or stopped.", "Clear it, or save the start-up as held.")
    why = ["It rests on an override."] if resting.permits else list(standing.profiles)
    if why and signature.role != LEAD:
        raise NotReadyError(
            f"{' '.join(why)} Only a lead can release this start-up.", "Let a lead sign, or save it as held."
        )


def why_two(run: Run, standing: Standing, role: str) -> str:
    """Why somebody has to sign beside a person of that role: stops that nobody may pass were called mistyped."""
    if not standing.register.founded or role == LEAD:
        return ""
    slips = " ".join(one.statement for one in mistyped(run))
    return f"{slips} A lead signs this, or a second person beside you." if slips else ""


def save(shop: Path, made: StartUp, token: str, since: int | None, signer: Signer | None) -> Saved:
    """Commit the record to the machine's chain, unsigned without a signer. Raises `PreflightError`."""
    body = write_body(document(made))
    return commit(
        Chain(shop, made.view.machine.id),
        lambda _: body,
        record_id=made.record_id,
        signer=signer,
        token=token,
        since=since,
    )


def saved_sentence(made: StartUp, saved: Saved, signed: bool) -> str:
    """The sentence that is shown after saving."""
    how = f"signed by {made.signature.name}" if signed else "unsigned (no key yet)"
    record = f"record {saved.head.sequence}, {how}."
    word = "Held" if made.held else "Released for this job"
    text = f"{word} at {made.signature.at:%H:%M}: {record}"
    if made.permits:
        text = f"{released_until(document(made)['released'])}. R{record[1:]}"
    if saved.was_there:
        text += " It had been saved at an earlier try; what was changed since is not in it."
    return text if saved.durable else f"{text} The system could not say that the disk has it."


def _entries(run: Run, now: datetime) -> list[Entry]:
    made = []
    for key, text in run.typed.items():
        if text.strip() and key not in run.half:
            earlier = tuple((_aware(at or now), was) for at, was in run.earlier.get(key, ()))
            made.append(Entry(key, text.strip(), _aware(run.entered.get(key, now)), earlier))
    return made


def _aware(at: datetime) -> datetime:
    return (at if at.tzinfo else at.replace(tzinfo=UTC)).replace(microsecond=0)
