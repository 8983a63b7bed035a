"""Countersigning a record from the audit: who may, and the record that it makes. No Textual here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.addition import (
    COUNTERSIGNERS,
    MEANINGS,
    countersign,
    require_countersigner,
    save_addition,
    saved_sentence,
)
from preflight.checklist.chain import Chain, newest
from preflight.checklist.heading import Signature
from preflight.checklist.machine_records import record
from preflight.checklist.register import read_register
from preflight.checklist.signatory import admitted, secret_word, signatory, unsigned
from preflight.tui.wiring import NO_SECRET

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.key_folder import KeyFolder
    from preflight.checklist.machine_records import Kept
    from preflight.checklist.secret import Secret
    from preflight.checklist.store import Saved

MEANING = MEANINGS["countersign"]


@dataclass(frozen=True, slots=True)
class Countersigning:
    """What was given in the box."""

    name: str
    role: str = ""
    """As they say themselves, in a shop without people; else the register's counts."""
    remark: str = ""
    secret: Secret = NO_SECRET


@dataclass(frozen=True, slots=True)
class Attempt:
    """One countersignature from its opening on, over every refused try."""

    about: Kept
    record_id: str
    """The same for every try, so that a save whose answer was lost is not repeated."""
    since: int
    """Number of the machine's newest record when it began."""
    words: Mapping[str, str]
    """What each person types to sign; empty in a shop without people."""
    here: tuple[str, ...] = ()
    """Leads and trainers whose key is on this terminal, without whoever signed the record."""

    @property
    def signed(self) -> bool:
        """Whether it will be signed."""
        return bool(self.words)

    def secret_word(self, name: str) -> str:
        """What that person types to sign; empty: nothing."""
        return self.words.get(name, "PIN or passphrase") if self.signed else ""


def begin(shop: Path, keys: KeyFolder, machine: str, number: int, record_id: str) -> Attempt:
    """Read the record and who may sign beneath it. Raises `PreflightError`."""
    register = read_register(shop)
    register.require_sound()
    about = record(shop, machine, number, register)
    about.require_counting()
    may = [one.name for one in register.active if one.role in COUNTERSIGNERS and keys.holds(one.key_id)]
    return Attempt(
        about,
        record_id,
        newest(Chain(shop, machine).folder),
        {one.name: secret_word(one.role) for one in register.active},
        tuple(name for name in may if name != about.document["record"].get("name")),
    )


def save(
    shop: Path, keys: KeyFolder, attempt: Attempt, given: Countersigning, now: datetime, token: str
) -> tuple[Saved, str]:
    """The record in the chain, and the sentence that says so. Opens the key first: call it in a thread.

    Raises `PreflightError`; who cannot countersign is told before the key is tried.
    """
    register = read_register(shop)
    about = attempt.about
    machine = about.reference.machine
    if register.founded:
        member = admitted(register, given.name)
        require_countersigner(about, member.name, member.role)
        by = signatory(register, keys, given.name, given.secret, now)
    else:
        by = unsigned(register, given.name, given.role)
    signature = Signature(by.name, by.role, MEANING, now)
    body = countersign(about, attempt.record_id, signature, given.remark)
    saved = save_addition(shop, machine, body, attempt.record_id, by, token, attempt.since)
    return saved, saved_sentence(saved, by)
