"""Invented people, keys and records for the tests of saved records."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain, Head
from preflight.checklist.heading import Signature, heading
from preflight.checklist.record import read_record
from preflight.checklist.seal import seal
from preflight.checklist.signing import AdmittedKey, Ed25519Signer
from preflight.checklist.store import Saved, commit, prepare_shop

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from preflight.checklist.signing import Signer

MACHINE = "m-7f3a91c2d04e"
OTHER_MACHINE = "m-0b5e66a1f392"
PERSON = "R. Onslow"
"""Whose name the records print."""
TOKEN = "tokentoken"
DAWN = datetime(2026, 11, 25, 5, 52, tzinfo=UTC)


def signer(person: str) -> Ed25519Signer:
    """A key that depends on the name alone."""
    return Ed25519Signer(hashlib.sha256(person.encode()).digest())


class Keys(dict[str, AdmittedKey]):
    """A keyring of people by name."""

    @classmethod
    def of(cls, *people: str) -> Keys:
        return cls({(held := signer(person)).key_id: AdmittedKey(held.public, person) for person in people})

    def find(self, key_id: str) -> AdmittedKey | None:
        return self.get(key_id)


def start_up_document(record_id: str, signature: Signature, text: str = "even") -> dict[str, Any]:
    """A start-up as short as one can be, with a free text in it."""
    return {
        "schema": 1,
        "machine": "bay-two",
        "at": signature.at,
        "record": {**heading("startup", record_id, signature), "verdict": "ok"},
        "glue": {"state": "scraped", "by": text},
        "profiles": {"machine_sha256": "ab" * 32, "extraction_sha256": ""},
        "entries": [],
        "findings": [],
        "limits": {},
    }


def record_body(record_id: str, text: str = "even", at: datetime = DAWN) -> bytes:
    return start_up_body(record_id, Signature(PERSON, "operator", "I made this check.", at), text)


def start_up_body(record_id: str, signature: Signature, text: str = "even") -> bytes:
    return write_body(start_up_document(record_id, signature, text))


def constant(body: bytes) -> Callable[[Head], bytes]:
    """A body that does not depend on the record before."""
    return lambda _head: body


def save(chain: Chain, number: int, by: Signer | None = None, text: str = "even") -> Saved:
    """Save one record whose id tells its number."""
    name = f"record-{number:08d}-{text[:8]}"
    at = DAWN + timedelta(minutes=number)
    return commit(chain, lambda _head: record_body(name, text, at), record_id=name, signer=by, token=TOKEN)


def chain_of(shop: Path, count: int, *people: str, text: str = "even", machine: str = MACHINE) -> Chain:
    """A chain of `count` records, signed by the people in turn; unsigned without people."""
    prepare_shop(shop)
    chain = Chain(shop, machine)
    signers = [signer(person) for person in people]
    for number in range(1, count + 1):
        save(chain, number, signers[number % len(signers)] if signers else None, text)
    return chain


def head_at(chain: Chain, number: int) -> Head:
    return Head(chain.machine, number, hashlib.sha256(chain.path(number).read_bytes()).hexdigest())


def record_id(chain: Chain, number: int) -> str:
    """The id that the record of that number prints."""
    content = read_record(chain.path(number).read_bytes(), None).content
    assert content is not None
    return content.heading.id


def whole(document: dict[str, Any]) -> dict[str, Any]:
    """The document with what a record of its kind cannot be without, so that a test names only what it is about."""
    given = dict(document)
    record = {"meaning": "As it says.", "role": "operator", **given.pop("record")}
    kind, about = record["kind"], {"machine": MACHINE, "sequence": 1, "sha256": "0" * 64}
    own: dict[str, dict[str, Any]] = {
        "held": {"what": "a stop", "told": "S. Ollery", "tried": "nothing yet"},
        "late": {"why": "written on paper", "happened": record["local"]},
        "run": {"job": "treads", "times": 1, "hours": "2 h", "area": "10.00 m2", "boards": []},
        "override": {"check": "glue", "subject": "glue", "reason": "scraped by hand", "until": record["local"]},
        "repair": {
            "check": "running",
            "subject": "head 1 stop",
            "what": "mended",
            "who": "S. Ollery",
            "measured": "6 s",
        },
    }
    if kind == "override":
        own[kind]["stop"] = {"statement": "Beads stand."}
    made: dict[str, Any] = {}
    if kind in ("startup", "held", "late"):
        record = {"verdict": "ok", **record}
        made = {"schema": 1, "machine": "bay-two", "at": datetime.fromisoformat(record["utc"])}
        sheet = {key: value for key, value in given.items() if key not in ("entries", "findings", "limits", *own)}
        made |= {"record": record, **{key: given.pop(key) for key in sheet}}
        made["profiles"] = made.get("profiles", {"machine_sha256": "ab" * 32, "extraction_sha256": ""})
        made |= {"entries": [], "findings": [], "limits": {}}
    else:
        record.pop("verdict", None)
        made = {"record": record} | ({} if kind in ("run", "practice") else {"refers": about})
    made |= {kind: own[kind]} if kind in own else {}
    for key, value in given.items():
        made[key] = {**made[key], **value} if key in own and key in made else value
    finding = {"subject": "head 1", "statement": "It is so.", "takes_override": True}
    made |= {"findings": [{**finding, **one} for one in made["findings"]]} if "findings" in made else {}
    return made


def lay(chain: Chain, body: bytes, signer: Signer | None = None) -> int:
    """Put the next record into a chain past the store, as whoever knows the layout can. Returns its number."""
    head = chain.head(accept_damaged=True)
    number = head.sequence + 1
    path = chain.path(number)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(seal(body, machine=chain.machine, sequence=number, previous=head.sha256, signer=signer))
    return number
