"""Records that add to an earlier one: repair, countersign, correction. No record is ever changed; so it is mended."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain, newest
from preflight.checklist.corrected import typed_texts
from preflight.checklist.heading import Signature, heading
from preflight.checklist.store import commit, prepare_shop
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from preflight.checklist.machine_records import Kept
    from preflight.checklist.reference import Reference
    from preflight.checklist.signatory import Signatory
    from preflight.checklist.store import Saved

MEANINGS = {
    "repair": "This was put right and measured again.",
    "countersign": "I have read this record and stand by it.",
    "correction": "This answer was recorded wrongly; the right one stands here.",
}


COUNTERSIGNERS = ("lead", "trainer")
"""Roles that may countersign."""


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
    return _addition("repair", about.reference, table, record_id, signature)


def countersign(about: Kept, record_id: str, signature: Signature, remark: str = "") -> bytes:
    """A second signature under that record. AdditionError for one's own record, or for an operator's."""
    require_countersigner(about, signature.name, signature.role)
    table = {"remark": remark} if remark.strip() else {}
    return _addition("countersign", about.reference, table, record_id, signature)


def beside(about: Reference, remark: str, record_id: str, signature: Signature) -> bytes:
    """The signature of a second person under a start-up that needs two; whoever was admitted here may give it."""
    return _addition("countersign", about, {"remark": remark}, record_id, signature)


def require_countersigner(about: Kept, name: str, role: str) -> None:
    """AdditionError when that person cannot countersign that record; to be asked before a secret is."""
    if role not in COUNTERSIGNERS:
        raise AdditionError(f"A lead or a trainer countersigns; {name} is {role}.")
    if about.document["record"].get("name") == name:
        raise AdditionError("Nobody countersigns a record of their own.", "Another lead or trainer does.")


def correction(
    about: Kept, key: str, text: str, reason: str, record_id: str, signature: Signature, *, hides: bool = False
) -> bytes:
    """The right text of one typed field beside the one that was recorded. AdditionError when there is no such field.

    hides: what was recorded is not repeated here, and pages of that record do not show it any more.
    """
    typed = typed_texts(about.document)
    if key not in typed:
        number = about.reference.sequence
        raise AdditionError(f"Record {number} has nothing typed at {key}.", f"It has: {', '.join(typed)}.")
    was = {"hides": True} if hides else {"was": typed[key]}
    return _addition(
        "correction", about.reference, {"key": key, **was, "text": text, "reason": reason}, record_id, signature
    )


def save_addition(
    shop: Path, machine: str, body: bytes, record_id: str, by: Signatory, token: str, since: int | None = None
) -> Saved:
    """Commit the addition behind the newest record of that machine. Raises `PreflightError`.

    since: number of the newest record when it was first tried; on the first try it may be left out.
    """
    prepare_shop(shop)
    chain = Chain(shop, machine)
    begun = newest(chain.folder) if since is None else since
    return commit(chain, lambda _: body, record_id=record_id, signer=by.signer, token=token, since=begun)


def saved_sentence(saved: Saved, by: Signatory) -> str:
    """What is said when it is in the chain."""
    how = f"signed by {by.name}" if by.signer else "unsigned: this shop has no people yet"
    return f"Record {saved.head.sequence} saved, {how}."


def _addition(
    kind: str, about: Reference, table: Mapping[str, str | bool], record_id: str, signature: Signature
) -> bytes:
    empty = next((key for key, text in table.items() if isinstance(text, str) and not text.strip()), None)
    if empty is not None:
        raise AdditionError(f"A {kind} says {empty}; it is empty.")
    made = {"record": heading(kind, record_id, signature), "refers": about.table}
    return write_body(made | ({kind: dict(table)} if table else {}))
