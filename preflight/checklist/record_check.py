"""Checking one saved record by itself: its seal, its signature, and the name it lies under. Parses no TOML.

"Wrong" says that something was found; "cannot check" that nothing could be: no public keys at hand, a file that
cannot be read. An unsigned record is called unsigned, however well its seal fits: whoever can write to the folder can
make one.
"""

from __future__ import annotations

import enum
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.body import record_time, record_word
from preflight.checklist.practice_chain import NOTE, is_practice, misplaced
from preflight.checklist.seal import LARGEST_RECORD, SealError, is_machine_id, read_seal
from preflight.checklist.signing import SigningUnavailableError, signature_fits

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.seal import Sealed
    from preflight.checklist.signing import AdmittedKey, Keyring

_RECORD_STEM = re.compile(r"[0-9]{8}")


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


@dataclass(frozen=True)
class RecordResult:
    """What one file shows by itself. Its link to the record before is no part of it."""

    path: Path
    """The file."""
    status: Status
    """Intact, unsigned, wrong or cannot check."""
    statement: str
    """Why; for an intact record who signed it."""
    sealed: Sealed | None
    """The record, when its seal fits its body; also when its signature is wrong."""


def verify_record(path: Path, keyring: Keyring | None) -> RecordResult:
    """Check one file: seal, signature, and the name and folder where these follow the rule of a shop.

    keyring: the admitted public keys; None: none at hand, and a signed record cannot be checked.
    """
    sequence = int(path.stem) if _RECORD_STEM.fullmatch(path.stem) and path.suffix == ".toml" else None
    machine, thousand = path.absolute().parts[-3:-1] if len(path.absolute().parts) > 3 else ("", "")
    lies_in_a_chain = sequence is not None and thousand == f"{sequence // 1000:05d}" and is_machine_id(machine)
    return check_record(path, machine if lies_in_a_chain else None, sequence, keyring)


def check_record(path: Path, machine: str | None, sequence: int | None, keyring: Keyring | None) -> RecordResult:
    """One file against its seal, the machine and number it should have (None: any), and the keyring."""

    def result(status: Status, statement: str) -> RecordResult:
        practice = sealed is not None and is_practice(sealed.machine) and status is not Status.WRONG
        return RecordResult(path, status, f"{NOTE} {statement}" if practice else statement, sealed)

    sealed: Sealed | None = None
    try:
        if path.stat().st_size > LARGEST_RECORD:
            return result(Status.WRONG, "The file is larger than any record.")
        data = path.read_bytes()
    except OSError as error:
        return result(Status.CANNOT_CHECK, f"The file cannot be read: {error.strerror}.")
    try:
        sealed = read_seal(data)
    except SealError as error:
        return result(Status.WRONG, error.message)
    if machine is not None and sealed.machine != machine:
        return result(Status.WRONG, f"It lies with {machine} and its seal says {sealed.machine}.")
    if sequence is not None and sealed.sequence != sequence:
        return result(Status.WRONG, f"Its name says number {sequence} and its seal {sealed.sequence}.")
    if wrong_place := misplaced(sealed.machine, record_word(sealed.record, "kind")):
        return result(Status.WRONG, wrong_place)
    if not sealed.key_id:
        return result(Status.UNSIGNED, "Unsigned: its seal fits, but anybody could have made it.")
    if keyring is None:
        return result(Status.CANNOT_CHECK, "Signed, and there are no public keys at hand to check it with.")
    key = keyring.find(sealed.key_id)
    if key is None:
        return result(Status.WRONG, f"Signed with the key {sealed.key_id}, of a person nobody admitted.")
    try:
        fits = signature_fits(key.public, sealed.signature, sealed.signed)
    except SigningUnavailableError as error:
        return result(Status.CANNOT_CHECK, error.message)
    if not fits:
        return result(Status.WRONG, f"The signature does not fit: not made by {key.person} over these bytes.")
    if fault := _validity_fault(key, sealed):
        return result(Status.WRONG, fault)
    return result(Status.INTACT, f"Signed by {key.person}.")


def _validity_fault(key: AdmittedKey, sealed: Sealed) -> str:
    """Whether the key counted at the time that the record states, and whether it prints the name its key belongs to."""
    if key.valid_from is None and key.valid_until is None:
        return ""
    moment = record_time(sealed.record)
    if moment is None:
        return f"It states no time, and the key of {key.person} counts for a time only."
    if key.valid_from and moment < key.valid_from:
        return f"Signed {moment}, before {key.person} was admitted with this key ({key.valid_from})."
    if key.valid_until and moment > key.valid_until:
        return f"Signed {moment}, after the key of {key.person} ended ({key.valid_until})."
    if key.roles:
        name, role = record_word(sealed.record, "name"), record_word(sealed.record, "role")
        if name != key.person:
            return f"It prints the name {name or 'of nobody'}, and the key that signed it is that of {key.person}."
        if role is None or not key.was(role, moment):
            return f"It calls {name} {role or 'nothing'}, who was {key.role_at(moment) or 'nothing'} then."
    return ""
