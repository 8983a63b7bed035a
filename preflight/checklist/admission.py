"""Reading a register record by record: each has to be signed by somebody who was a lead at that time.

Seal, signature, name and role are checked as for any record (`record`); here stands what a lead may change.
"""

from __future__ import annotations

import base64
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from preflight.checklist.chain import ChainFiles
from preflight.checklist.people import ROLES, PersonError, require_name
from preflight.checklist.record import Record, Status, read_record, unreadable
from preflight.checklist.reference import reference_to
from preflight.checklist.register import LEAD, PREFIX, Approval, Member, Register
from preflight.checklist.signing import AdmittedKey, key_id

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.chain import Head
    from preflight.checklist.seal import Sealed


class RefusedError(Exception):
    """A record of the register that changes nothing; the text says why."""


class Admission:
    """The register so far; a `Keyring` for the next record."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._members: dict[str, Member] = {}
        self._keys: dict[str, AdmittedKey] = {}
        self._approvals: dict[str, Approval] = {}
        self._faults: list[tuple[int, str]] = []
        self._at: datetime | None = None

    def find(self, key_id: str) -> AdmittedKey | None:
        """The key of that name among those admitted so far."""
        return self._keys.get(key_id)

    def read(self, numbers: Iterable[int]) -> None:
        """Take the records of these numbers, in rising order."""
        with ChainFiles(self._folder.parent, self._folder.name) as files:
            for number in numbers:
                try:
                    self._take(self._record(number, files))
                except (RefusedError, PersonError) as error:
                    self._faults.append((number, str(error)))
                    if number == 1:
                        self._keys.clear()  # the founder's key came out of a record that does not count

    def refusal(self, data: bytes) -> str:
        """Why this record, were it the next, would change nothing; empty when it would be taken. Ends this reading."""
        try:
            self._take(read_record(data, self))
        except (RefusedError, PersonError) as error:
            return str(error)
        return ""

    def _record(self, number: int, files: ChainFiles) -> Record:
        try:
            data = files.read(number)
        except OSError as error:
            return unreadable(error)
        if number == 1:
            self._found(read_record(data, None))
        return read_record(data, self, self._folder.name, number)

    def register(self, head: Head) -> Register:
        """What was read."""
        return Register(
            self._folder.name,
            head,
            self._members,
            self._keys,
            self._approvals,
            tuple(self._faults),
            self._at,
        )

    def _found(self, record: Record) -> None:
        """Admit the founder: the key that the chain is named after, out of the record that it signs itself."""
        if record.content is None:
            raise RefusedError(record.statement)
        if record.content.heading.kind != "founding":
            raise RefusedError("The first record is no founding.")
        person, at = record.content.document["person"], record.content.heading.utc
        public = _public(person)
        if f"k-{self._folder.name.removeprefix(PREFIX)}" != key_id(public):
            raise RefusedError("The founding record holds another key than the one the chain is named after.")
        name, role = _name(person), _role(person)
        if role != LEAD:
            raise RefusedError("A shop is founded by a lead.")
        self._keys[key_id(public)] = AdmittedKey(public, name, at, roles=((at, LEAD),))

    def _take(self, record: Record) -> None:
        sealed, content = record.sealed, record.content
        if record.status is not Status.INTACT or sealed is None or content is None:
            raise RefusedError(record.statement)
        document, at, kind = content.document, content.heading.utc, content.heading.kind
        by = self._keys[sealed.key_id]
        if not by.was(LEAD, at):
            raise RefusedError(f"{by.person} was no lead: only a lead changes the register.")
        if self._at and at < self._at:
            raise RefusedError("It is dated before the record before it.")
        changes = {
            "founding": self._founded,
            "enrolment": self._enrolled,
            "renewal": self._renewed,
            "role": self._role_changed,
            "retirement": self._retired,
        }
        if kind == "approval":
            self._approve(document["approval"], by, at)
        elif kind in changes:
            changes[kind](document["person"], sealed, at)
        else:
            raise RefusedError(f"A record of the kind {kind!r} has no place in the register.")
        self._at = at

    def _founded(self, person: Mapping[str, Any], sealed: Sealed, at: datetime) -> None:
        if sealed.sequence != 1:
            raise RefusedError("A shop is founded once.")
        name = _name(person)
        self._members[name] = Member(name, LEAD, sealed.key_id, at, None, reference_to(sealed))

    def _enrolled(self, person: Mapping[str, Any], sealed: Sealed, at: datetime) -> None:
        name, role = _name(person), _role(person)
        if name in self._members:
            raise RefusedError(f"There is a {name} already: two people never share a name.")
        key = self._new_key(person, name, at, ((at, role),))
        self._members[name] = Member(name, role, key, at, None, reference_to(sealed))

    def _renewed(self, person: Mapping[str, Any], sealed: Sealed, at: datetime) -> None:
        """A new key, also for somebody who retired and comes back."""
        member = self._member(person)
        role = _role(person)
        roles = (*self._keys[member.key_id].roles, (at, role))
        key = self._new_key(person, member.name, at, roles)
        self._end(member, at)
        self._members[member.name] = replace(member, role=role, key_id=key, until=None, reference=reference_to(sealed))

    def _role_changed(self, person: Mapping[str, Any], sealed: Sealed, at: datetime) -> None:
        member, role = self._active(person), _role(person)
        key = self._keys[member.key_id]
        self._keys[member.key_id] = replace(key, roles=(*key.roles, (at, role)))
        self._members[member.name] = replace(member, role=role, reference=reference_to(sealed))

    def _retired(self, person: Mapping[str, Any], sealed: Sealed, at: datetime) -> None:
        member = self._active(person)
        self._end(member, at)
        self._members[member.name] = replace(member, until=at, reference=reference_to(sealed))

    def _approve(self, approval: Mapping[str, Any], by: AdmittedKey, at: datetime) -> None:
        profile, sha256 = approval["profile"], approval["sha256"]
        self._approvals[profile] = Approval(profile, sha256, by.person, at)

    def _new_key(
        self, person: Mapping[str, Any], name: str, at: datetime, roles: tuple[tuple[datetime, str], ...]
    ) -> str:
        public = _public(person)
        if key_id(public) in self._keys:
            raise RefusedError("Its key was admitted before.")
        self._keys[key_id(public)] = AdmittedKey(public, name, at, roles=roles)
        return key_id(public)

    def _end(self, member: Member, at: datetime) -> None:
        """The person's key counts no longer; what it signed until then stays signed."""
        key = self._keys[member.key_id]
        if key.valid_until is None:
            self._keys[member.key_id] = replace(key, valid_until=at)

    def _member(self, person: Mapping[str, Any]) -> Member:
        name = _name(person)
        if name not in self._members:
            raise RefusedError(f"There is no {name} in the register.")
        return self._members[name]

    def _active(self, person: Mapping[str, Any]) -> Member:
        member = self._member(person)
        if member.until is not None:
            raise RefusedError(f"{member.name} has retired.")
        return member


def _name(person: Mapping[str, Any]) -> str:
    name = person.get("name")
    require_name(name, ROLES[0])
    return str(name)


def _role(person: Mapping[str, Any]) -> str:
    role = person.get("role")
    if role not in ROLES:
        raise RefusedError(f"{role!r} is no role.")
    return str(role)


def _public(person: Mapping[str, Any]) -> bytes:
    try:
        public = base64.b64decode(str(person.get("public", "")), validate=True)
    except ValueError:
        public = b""
    if len(public) != 32:
        raise RefusedError("It holds no public key.")
    return public
