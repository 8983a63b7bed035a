"""A shop with invented people: its register made by the product's own code, keys sealed at the least cost allowed."""

from __future__ import annotations

import hashlib
import itertools
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from preflight.checklist.key_folder import KeyFolder
from preflight.checklist.people import Cost, Person, enrol
from preflight.checklist.register import read_register
from preflight.checklist.register_record import RegisterBook, approval_table, person_table
from preflight.checklist.signing import Ed25519Signer
from preflight.checklist.store import prepare_shop

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.store import Saved

FOUNDER = "T. Varga"
FOUNDED = datetime(2026, 11, 20, 6, 0, tzinfo=UTC)
CHEAP = Cost(n=2**15)
PASSPHRASE = "ash oak and beech"
PIN = "48190375"


def seed(name: str, generation: int = 1) -> bytes:
    return hashlib.sha256(f"{name} {generation}".encode()).digest()


@dataclass
class PeopledShop:
    """A shop folder, its keys, and a clock that stands until it is moved."""

    shop: Path
    keys: KeyFolder
    now: datetime = FOUNDED
    count: itertools.count[int] = field(default_factory=itertools.count)

    @classmethod
    def founded(cls, shop: Path, keys: Path, at: datetime = FOUNDED) -> PeopledShop:
        shop.mkdir(exist_ok=True)
        prepare_shop(shop)
        made = cls(shop, KeyFolder(keys), at)
        founder = made.person(FOUNDER, "lead")
        made.keys.keep(founder)
        made.book.found(founder, made.signer(FOUNDER))
        return made

    @property
    def book(self) -> RegisterBook:
        return RegisterBook(self.shop, lambda: self.now, self.token)

    def token(self) -> str:
        return f"token-{next(self.count):08d}"

    def person(self, name: str, role: str, generation: int = 1) -> Person:
        secret = PASSPHRASE if role == "lead" else PIN
        return enrol(name, role, secret, seed=seed(name, generation), salt=bytes(16), nonce=bytes(12), cost=CHEAP)

    def signer(self, name: str, generation: int = 1) -> Ed25519Signer:
        return Ed25519Signer(seed(name, generation))

    def admit(self, name: str, role: str, *, keep: bool = False, by: str = FOUNDER, hours: float = 1) -> Saved:
        self.now += timedelta(hours=hours)
        if keep:
            self.keys.keep(self.person(name, role))
        tables = person_table("enrolment", name, role=role, public=self.signer(name).public)
        return self.book.add("enrolment", tables, by, self.signer(by))

    def change(self, kind: str, name: str, role: str = "", *, public: bytes = b"", by: str = FOUNDER) -> Saved:
        self.now += timedelta(hours=1)
        reference = read_register(self.shop).members[name].reference
        return self.book.add(kind, person_table(kind, name, role=role, public=public), by, self.signer(by), reference)

    def approve(self, profile: str, sha256: str, by: str = FOUNDER) -> Saved:
        self.now += timedelta(hours=1)
        return self.book.add("approval", approval_table(profile, sha256), by, self.signer(by))
