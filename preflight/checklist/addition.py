"""Records that add to an earlier one: repair, countersign, correction. No record is ever changed; so it is mended."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checklist.body import write_body
from preflight.checklist.heading import Signature, heading
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from preflight.checklist.machine_records import Kept

MEANINGS = {
    "repair": "This was put right and measured again.",
    "countersign": "I have read this record and stand by it.",
    "correction": "This answer was recorded wrongly; the right one stands here.",
}


class AdditionError(PreflightError):
    """An addition that does not fit the record it is about."""


def repair(
    about: Kept, check: str, subject: str, what: str, who: str, measured: str, record_id: str, signature: Signature
) -> bytes:
    """A repair of what a stop of that record found: what was done, by whom, and the new reading.

    AdditionError when the record has no such stop, or a text is missing.
    """
    stops = [
        (one.get("check"), one.get("subject"))
        for one in about.document.get("findings", ())
        if one.get("verdict") == "stop"
    ]
    if (check, subject) not in stops:
        known = "; ".join(f"{one}, {of}" for one, of in stops) or "none"
        raise AdditionError(f"Record {about.reference.sequence} has no stop {check}, {subject}.", f"Stops: {known}.")
    table = {"check": check, "subject": subject, "what": what, "who": who, "measured": measured}
    return _addition("repair", about, table, record_id, signature)


def countersign(about: Kept, record_id: str, signature: Signature, remark: str = "") -> bytes:
    """A second signature under that record. AdditionError for one's own record, or for an operator's."""
    if signature.role not in ("lead", "trainer"):
        raise AdditionError(f"A lead or a trainer countersigns; {signature.name} is {signature.role}.")
    if about.document["record"].get("name") == signature.name:
        raise AdditionError("Nobody countersigns a record of their own.", "Another lead or trainer does.")
    table = {"remark": remark} if remark.strip() else {}
    return _addition("countersign", about, table, record_id, signature)


def correction(about: Kept, key: str, text: str, reason: str, record_id: str, signature: Signature) -> bytes:
    """The right text of one answer beside the one that was recorded. AdditionError when there is no such answer."""
    entries = {entry.get("key"): entry.get("text") for entry in about.document.get("entries", ())}
    if key not in entries:
        raise AdditionError(f"Record {about.reference.sequence} has no answer {key}.", f"It has: {', '.join(entries)}.")
    table = {"key": key, "was": entries[key], "text": text, "reason": reason}
    return _addition("correction", about, table, record_id, signature)


def _addition(kind: str, about: Kept, table: dict[str, str], record_id: str, signature: Signature) -> bytes:
    empty = next((key for key, text in table.items() if not text.strip()), None)
    if empty is not None:
        raise AdditionError(f"A {kind} says {empty}; it is empty.")
    made = {"record": heading(kind, record_id, signature), "refers": about.reference.table}
    return write_body(made | ({kind: table} if table else {}))
