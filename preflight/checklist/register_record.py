"""Records of the register: founding, enrolment, renewal, role change, retirement, and the approval of a profile."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Any

from preflight.checklist.admission import Admission
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain, Head
from preflight.checklist.heading import Signature, heading
from preflight.checklist.people import require_new_name
from preflight.checklist.register import CLEAR, LEAD, PREFIX, RegisterAlarmError, RegisterError, read_register
from preflight.checklist.register_alarm import GONE, signed_records
from preflight.checklist.seal import NO_PREVIOUS, seal
from preflight.checklist.store import Saved, commit

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.people import Person
    from preflight.checklist.reference import Reference
    from preflight.checklist.register import Register
    from preflight.checklist.signing import Ed25519Signer

MEANINGS = {
    "founding": "I found this shop's register and answer for whom I admit.",
    "enrolment": "I know this person and admit them to sign with this key.",
    "renewal": "I know this person; this key takes the place of the one before.",
    "role": "From now on this person signs in this role.",
    "retirement": "From now on this person signs no more.",
    "approval": "I looked through this profile and approve it as it is.",
}


def chain_name(founder: Person) -> str:
    """Name of the chain that this founder begins."""
    return PREFIX + founder.key_id.removeprefix("k-")


def person_table(kind: str, name: str, *, role: str = "", public: bytes = b"") -> dict[str, Any]:
    """What such a record says of the person it is about."""
    table: dict[str, Any] = {"name": name}
    if kind != "retirement":
        table["role"] = role
    if public:
        table["public"] = base64.b64encode(public).decode()
    return {"person": table}


def approval_table(profile: str, sha256: str) -> dict[str, Any]:
    """What the approval of a profile says."""
    return {"approval": {"profile": profile, "sha256": sha256}}


class RegisterBook:
    """Writes to one shop's register, each time as its next record, and only what the register takes."""

    def __init__(self, shop: Path, clock: Callable[[], datetime], token: Callable[[], str]) -> None:
        self._shop = shop
        self._clock = clock
        self._token = token

    def found(self, founder: Person, signer: Ed25519Signer) -> Saved:
        """Begin the register with its first lead. RegisterError when this shop has one."""
        register = read_register(self._shop)
        register.require_sound()
        if register.founded:
            raise RegisterError("This shop was founded already.", "Leads add people with: preflight people add")
        for path, _ in signed_records(self._shop, all_of_them=True):
            raise RegisterAlarmError(f"{GONE} Signed is {path}.", CLEAR)
        chain = chain_name(founder)
        tables = person_table("founding", founder.name, role=LEAD, public=founder.public)
        return self._commit(Head(chain, 0, NO_PREVIOUS), "founding", tables, founder.name, signer)

    def add(
        self, kind: str, tables: dict[str, Any], by: str, signer: Ed25519Signer, refers: Reference | None = None
    ) -> Saved:
        """The next record, of that kind, signed by a lead.

        RegisterError, and nothing is saved, when the register would not take it, the clock stands before its newest
        record, or another terminal changed it meanwhile.
        """
        register = read_register(self._shop)
        register.require_sound()
        if not register.founded:
            raise RegisterError("This shop has no register yet.", "The first lead begins it: preflight people found")
        if kind == "enrolment":
            require_new_name(name := str(tables["person"]["name"]))
            register.require_free_name(name)
        refuse_early(register, self._clock())
        if refers is not None:
            tables = {**tables, "refers": refers.table}
        return self._commit(register.head, kind, tables, by, signer)

    def _commit(self, head: Head, kind: str, tables: dict[str, Any], by: str, signer: Ed25519Signer) -> Saved:
        record_id = self._token()
        signature = Signature(by, LEAD, MEANINGS[kind], self._clock())
        body = write_body({"record": heading(kind, record_id, signature), **tables})
        chain = Chain(self._shop, head.machine)
        if head.sequence:
            _require_taken(chain, head, body, signer)

        def on(now: Head) -> bytes:
            if now != head:  # what was looked through is no longer what is there
                raise RegisterError("Another terminal changed the register just now.", "Look at it, then run it again.")
            return body

        return commit(chain, on, record_id=record_id, signer=signer, token=self._token(), since=head.sequence)


def _require_taken(chain: Chain, head: Head, body: bytes, signer: Ed25519Signer) -> None:
    """RegisterError when the register would pass this record over; before it is saved, for saved it stays for ever."""
    admission = Admission(chain.folder)
    admission.read(range(1, head.sequence + 1))
    number = head.sequence + 1
    data = seal(body, machine=chain.machine, sequence=number, previous=head.sha256, signer=signer)
    if refusal := admission.refusal(data):
        raise RegisterError(refusal, "Nothing was saved.")


def refuse_early(register: Register, now: datetime) -> None:
    """RegisterError when the clock stands before the register's newest record: a signature of now would not count."""
    if register.newest_at is not None and now < register.newest_at:
        raise RegisterError(
            f"The clock says {now:%Y-%m-%d %H:%M %z}, before the register's newest record "
            f"({register.newest_at:%Y-%m-%d %H:%M %z}).",
            "Set this terminal's clock; a signature dated earlier would not count.",
        )
