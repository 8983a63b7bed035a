"""Invented people, keys and records for the tests of saved records."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain, Head
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


def record_body(record_id: str, text: str = "even", at: datetime = DAWN) -> bytes:
    return write_body(
        {
            "machine": MACHINE,
            "record": {"kind": "startup", "id": record_id, "name": PERSON, "role": "operator", "utc": at},
            "glue": {"state": "scraped", "remark": text},
        }
    )


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
