"""One reading of a saved record: bytes in, a `Record` out, with what it holds and how it stands.

Whatever is shown, carried over, judged, indexed, exported or counted comes from here, and so does what `preflight
verify` says: there is no second way to find out what a record says or who signed it. The bytes are read as

    seal       exact, `seal`
    place      the machine and number it lies under
    body       in the one spelling that is written, `body_reader`
    kind       the keys and types of its kind, `record_kinds`
    signature  by a key that the register admitted, over these bytes
    signer     the printed name, role and time are those of whoever signed

"Wrong" says that something was found; "cannot check" that nothing could be: no public keys at hand, a file that cannot
be opened. An unsigned record is called unsigned, however well its seal fits: anybody who can write there can make one.
"""

from __future__ import annotations

import enum
import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Protocol

from preflight.checklist.body_reader import BodyError, read_body
from preflight.checklist.heading import heading_of
from preflight.checklist.practice_chain import NOTE, is_practice, misplaced
from preflight.checklist.seal import SealError, read_seal
from preflight.checklist.signing import SigningUnavailableError, signature_fits
from preflight.disk import RefusedError
from preflight.outside_text import is_plainly_seen, shown_in, unfit_in

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from preflight.checklist.heading import Heading
    from preflight.checklist.seal import Sealed
    from preflight.checklist.signing import AdmittedKey, Keyring

_ESCAPE = re.compile(rb"\\[bfnrtu]")
"""Spells a character in a text that a text of ours does not hold."""


class Status(enum.Enum):
    """What a verification found, from best to worst; a chain or a shop has the worst of its parts."""

    INTACT = "intact"
    UNSIGNED = "unsigned"
    CANNOT_CHECK = "cannot check"
    CUT_TAIL = "cut tail"
    GAP = "gap"
    FORK = "fork"
    WRONG = "wrong"

    @property
    def exit_status(self) -> int:
        """Exit status of the command line: 0 intact, 1 unsigned, 3 cannot check, 2 everything found wrong."""
        return {Status.INTACT: 0, Status.UNSIGNED: 1, Status.CANNOT_CHECK: 3}.get(self, 2)


@dataclass(frozen=True, slots=True)
class Content:
    """A body that was read and has the shape of its kind."""

    heading: Heading
    document: Mapping[str, Any]
    """The whole body as plain values, each of the type that `record_kinds` says."""


class Memory(Protocol):
    """What was found out before about the bytes of records, by their digest. Nothing of the register is in it."""

    def content(self, sealed: Sealed) -> Content | str:
        """What its body holds, perhaps shortened, or why that cannot be read."""
        ...

    def fits(self, sealed: Sealed, public: bytes) -> bool:
        """As `signature_of`."""
        ...


@dataclass(frozen=True, slots=True)
class Record:
    """One saved record as it was read: how it stands, why, and what it holds."""

    status: Status
    """Intact, unsigned, cannot check or wrong."""
    statement: str
    """Why; for an intact record who signed it."""
    sealed: Sealed | None = None
    """Its bytes, when the seal fits them; also when the signature is wrong."""
    content: Content | None = None
    """What it holds, when the body can be read; also when the signature is wrong."""

    @property
    def intact(self) -> bool:
        """Signed by somebody who was admitted then, over these bytes, under their own name and role."""
        return self.status is Status.INTACT


def read_content(body: bytes) -> Content:
    """What a body holds. BodyError when it is not written as a record is, or has not the shape of its kind."""
    from preflight.checklist.record_kinds import check_kind  # the sheet's model is loaded late

    document = read_body(body)
    if _may_hide(body):
        document = shown_in(document)  # whatever somebody else's program wrote, nothing of it steers a screen
    table = document.get("record")
    if not isinstance(table, dict) or not _comes_first(body):
        raise BodyError("The first table of the body is not [record].")
    check_kind(str(table.get("kind")), document)
    heading = heading_of(table)
    if heading.utc != datetime.fromisoformat(table["local"]) or heading.utc.utcoffset():
        raise BodyError("Its two times, UTC and local, are not the same moment.")
    return Content(heading, document)


def unseen_in(body: bytes) -> str:
    """Key and character of a text in a body that hides or steers, as a sentence; empty for a body without one."""
    hiding = unfit_in(read_body(body)) if _may_hide(body) else ()
    return next((f"{key} {why}." for key, why in hiding), "")


def _may_hide(body: bytes) -> bool:
    """A quick look over all of it: a text of ours has no escape in it but those of a quotation mark and a backslash."""
    return bool(_ESCAPE.search(body)) or not is_plainly_seen(body.decode().replace("\n", ""))


def read_record(
    data: bytes,
    keyring: Keyring | None,
    machine: str | None = None,
    sequence: int | None = None,
    memory: Memory | None = None,
) -> Record:
    """The record in these bytes.

    keyring: the admitted public keys; None: none at hand, and a signed record cannot be checked.
    machine, sequence: where it lay; None: anywhere.
    memory: of what was found out about these bytes before; without it all is found out now.
    """
    try:
        sealed = read_seal(data)
    except SealError as error:
        return Record(Status.WRONG, error.message)
    content, fits = (memory.content(sealed), memory.fits) if memory else (content_in(sealed), signature_of)
    if isinstance(content, str):
        return Record(*standing(sealed, content, keyring, machine, sequence, fits), sealed)
    return Record(*standing(sealed, content.heading, keyring, machine, sequence, fits), sealed, content)


def signature_of(sealed: Sealed, public: bytes) -> bool:
    """Whether the record carries the signature of the holder of that key. SigningUnavailableError without Ed25519."""
    return signature_fits(public, sealed.signature, sealed.signed)


def content_in(sealed: Sealed) -> Content | str:
    """What the body of a sealed record holds, or why it cannot be read."""
    try:
        return read_content(sealed.body)
    except BodyError as error:
        return error.message


def unreadable(error: OSError) -> Record:
    """The record of a file that could not be read."""
    if isinstance(error, RefusedError):
        return Record(Status.WRONG, f"The file {error.strerror}.")
    return Record(Status.CANNOT_CHECK, f"The file cannot be read: {error.strerror or error}.")


def heading_in(sealed: Sealed) -> Heading | str:
    """What the body of a sealed record prints of it, or why it cannot be read."""
    content = content_in(sealed)
    return content if isinstance(content, str) else content.heading


def standing(
    sealed: Sealed,
    heading: Heading | str,
    keyring: Keyring | None,
    machine: str | None,
    sequence: int | None,
    fits: Callable[[Sealed, bytes], bool] = signature_of,
) -> tuple[Status, str]:
    """How a sealed record stands, and why. `heading`: what its body prints of it, or why the body cannot be read."""
    if machine is not None and sealed.machine != machine:
        return Status.WRONG, f"It lies with {machine} and its seal says {sealed.machine}."
    if sequence is not None and sealed.sequence != sequence:
        return Status.WRONG, f"Its name says number {sequence} and its seal {sealed.sequence}."
    if isinstance(heading, str):
        return Status.WRONG, heading
    if wrong_place := misplaced(sealed.machine, heading.kind):
        return Status.WRONG, wrong_place
    status, statement = _signed(sealed, heading, keyring, fits)
    practice = is_practice(sealed.machine) and status is not Status.WRONG
    return status, f"{NOTE} {statement}" if practice else statement


def _signed(
    sealed: Sealed, heading: Heading, keyring: Keyring | None, fits: Callable[[Sealed, bytes], bool]
) -> tuple[Status, str]:
    if not sealed.key_id:
        return Status.UNSIGNED, "Unsigned: its seal fits, but anybody could have made it."
    if keyring is None:
        return Status.CANNOT_CHECK, "Signed, and there are no public keys at hand to check it with."
    key = keyring.find(sealed.key_id)
    if key is None:
        return Status.WRONG, f"Signed with the key {sealed.key_id}, of a person nobody admitted."
    try:
        if not fits(sealed, key.public):
            return Status.WRONG, f"The signature does not fit: not made by {key.person} over these bytes."
    except SigningUnavailableError as error:
        return Status.CANNOT_CHECK, error.message
    if fault := _signer_fault(key, heading):
        return Status.WRONG, fault
    return Status.INTACT, f"Signed by {key.person}."


def _signer_fault(key: AdmittedKey, heading: Heading) -> str:
    """Whether the key counted at the time that the record states, and whether it prints the name its key belongs to."""
    at = heading.utc
    if key.valid_from and at < key.valid_from:
        return f"Signed {at}, before {key.person} was admitted with this key ({key.valid_from})."
    if key.valid_until and at > key.valid_until:
        return f"Signed {at}, after the key of {key.person} ended ({key.valid_until})."
    if key.roles:
        if heading.name != key.person:
            return f"It prints the name {heading.name}, and the key that signed it is that of {key.person}."
        if not key.was(heading.role, at):
            return f"It calls {heading.name} {heading.role or 'nothing'}, who was {key.role_at(at) or 'nothing'} then."
    return ""


def _comes_first(body: bytes) -> bool:
    """Whether `[record]` is the first table, so that it is found at the top of every record."""
    header = b"[record]\n"
    return body.startswith(header) or body.startswith(header, body.find(b"\n[") + 1)
