"""Forgeries laid into a shop one after another, and honest shops, with what the product says of them.

`python -m tests.bench.bench_forgeries` runs it at length.
"""

from __future__ import annotations

import random
import tomllib
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from checklist.forgeries import Forgery, forgery
from checklist.people_samples import FOUNDER, PeopledShop
from checklist.record_samples import MACHINE, lay, whole

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.heading import Signature, heading
from preflight.checklist.machine_records import records
from preflight.checklist.override import permits
from preflight.checklist.past import past
from preflight.checklist.record import Status, read_record
from preflight.checklist.register import read_register
from preflight.checklist.seal import seal
from preflight.checklist.shop_check import verify_folder
from preflight.checklist.store import commit
from preflight.outside_text import shown_in

if TYPE_CHECKING:
    from pathlib import Path

OPERATOR, TRAINER = "D. Marrow", "N. Fell"
TENSION = {"check": "tension", "subject": "head 1", "verdict": "stop", "statement": "3.1 bar", "takes_override": True}


class Trial:
    """An operator with a key and the layout, in a shop with a held record that wants a lead's override."""

    def __init__(self, folder: Path, seed: int) -> None:
        self._shop = PeopledShop.founded(folder / "shop", folder / "keys")
        self._shop.admit(OPERATOR, "operator")
        self._rng = random.Random(seed)
        self._chain = Chain(self._shop.shop, MACHINE)
        made = self._document("held", OPERATOR, "operator", findings=[TENSION])
        self._held = _save(self._shop, made, OPERATOR)
        self._register = read_register(self._shop.shop)
        self.taken_for_a_lead: list[Forgery] = []
        """What must stay empty."""
        self.read_apart: list[Forgery] = []
        """Accepted, and another reader of TOML finds something else in it."""
        self.would_fool = 0
        """TOML says a lead, the first bytes `[record]` say the operator."""
        self.own = 0
        """Accepted as what they are: the operator's."""
        self.no_toml = 0
        self.refusals: Counter[str] = Counter()

    def run(self, count: int) -> None:
        """Lay so many forgeries as the next record, one after another."""
        for _ in range(count):
            self._try(self._forged())

    def _document(self, kind: str, name: str, role: str, **more: Any) -> dict[str, Any]:
        signature = Signature(name, role, "As it says.", self._shop.now)
        return whole({"record": heading(kind, self._shop.token(), signature), **more})

    def _forged(self) -> Forgery:
        kind = self._rng.choice(("override", "startup", "countersign", "repair"))
        more: dict[str, Any] = {}
        if kind == "override":
            until = (self._shop.now + timedelta(hours=3)).isoformat()
            about = {"machine": MACHINE, "sequence": 1, "sha256": self._held}
            given = {"check": "tension", "subject": "head 1", "until": until, "reason": "The regulator is on order."}
            more = {"refers": about, "override": given}
        elif kind == "startup":
            more = {"belts": [{"head": "1", "card": "H-204"}], "glue": {"by": "first\nsecond"}}
        document = self._document(kind, FOUNDER, "lead", **more)
        own = {**document["record"], "name": OPERATOR, "role": "operator"}
        return forgery(document, own, self._rng)

    def _try(self, forged: Forgery) -> None:
        try:
            data = seal(
                forged.body, machine=MACHINE, sequence=2, previous=self._held, signer=self._shop.signer(OPERATOR)
            )
        except ValueError:  # a body that no seal takes
            self.refusals["no body"] += 1
            return
        record = read_record(data, self._register, MACHINE, 2)
        self._chain.path(2).write_bytes(data)
        if permits(self._shop.shop, MACHINE, self._register, self._shop.now):
            self.taken_for_a_lead.append(forged)
        parsed = _parsed(forged.body)
        if parsed is None:
            self.no_toml += 1
        elif _searched(forged.body) == OPERATOR and parsed.get("name") == FOUNDER:
            self.would_fool += 1
        if record.status is Status.WRONG:
            self.refusals[record.statement.split(":")[-1].strip()[:60]] += 1
            return
        assert record.content is not None
        if (record.content.heading.name, record.content.heading.role) != (OPERATOR, "operator"):
            self.taken_for_a_lead.append(forged)
        if parsed is None or shown_in(parsed) != record.content.document["record"]:
            self.read_apart.append(forged)
        self.own += 1


def _parsed(body: bytes) -> dict[str, Any] | None:
    """The `[record]` that a library reads."""
    try:
        table = tomllib.loads(body.decode()).get("record")
    except (ValueError, RecursionError):
        return None
    return table if isinstance(table, dict) else {}


def _searched(body: bytes) -> str:
    """The name in what a search for the first bytes `[record]` finds."""
    after = body[body.find(b"[record]\n") :]
    name = after[after.find(b'name = "') + 8 :]
    return name[: name.find(b'"')].decode("utf-8", "replace")


@dataclass
class Honest:
    """What honest shops gave."""

    records: int = 0
    alarms: list[str] = field(default_factory=list)


def honest_shops(folder: Path, count: int, seed: int) -> Honest:
    """Shops with people and chains of every kind of record, full of awkward texts; each verified and read."""
    rng, found = random.Random(seed), Honest()
    shop = PeopledShop.founded(folder / "shop", folder / "keys")
    shop.admit(OPERATOR, "operator")
    shop.admit(TRAINER, "trainer")
    signers = {OPERATOR: "operator", TRAINER: "trainer", FOUNDER: "lead"}
    for number in range(count):
        machine = f"m-{number:012x}"
        length = rng.randint(3, 9)
        for place in range(length):
            name = rng.choice(list(signers))
            kind = rng.choice(("startup", "held", "late", "run", "override", "repair", "countersign", "correction"))
            signature = Signature(name, signers[name], _text(rng), shop.now + timedelta(minutes=place))
            body = write_body(_honest(kind, heading(kind, shop.token(), signature), rng))
            lay(Chain(shop.shop, machine), body, shop.signer(name))  # the store would refuse what cannot be seen
        found.records += length
        found.alarms += _alarms(shop, machine, length)
    result = verify_folder(shop.shop)
    if result.status is not Status.INTACT:
        found.alarms.append(f"the shop: {result.status}")
    return found


def _alarms(shop: PeopledShop, machine: str, length: int) -> list[str]:
    register = read_register(shop.shop)
    kept = list(records(shop.shop, machine, register))
    alarms = [one.statement for one in kept if not (one.signed and one.counts)]
    alarms += [] if len(kept) == length else [f"{length - len(kept)} of {machine} cannot be read"]
    return alarms + [text for _, text in past(shop.shop, machine, register).strangers]


def _honest(kind: str, record: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    more: dict[str, Any] = {}
    if kind in ("startup", "held", "late"):
        more = {
            "glue": {"by": _text(rng)},
            "actions": {_text(rng): {_text(rng): _text(rng)}},
            "entries": [{"key": "glue.by", "text": _text(rng), "at": record_time(record)}],
            "findings": [{"check": "glue", "verdict": rng.choice(("ok", "caution")), "statement": _text(rng)}],
            "limits": {"machine": {"name": _text(rng), _text(rng): [1, 2.5, {"a": [_text(rng)]}, {}]}},
        }
    elif kind == "countersign":
        more = {kind: {"remark": _text(rng)}}
    elif kind == "correction":
        more = {kind: {"key": "glue.by", "was": _text(rng), "text": _text(rng), "reason": _text(rng)}}
    return whole({"record": record, **more})


def record_time(record: dict[str, Any]) -> Any:
    from datetime import datetime

    return datetime.fromisoformat(record["utc"])


def _text(rng: random.Random) -> str:
    """Letters, quotes, brackets, controls, and what looks like parts of a record."""
    parts = ('"', "\\", "\n", "[record]\n", 'name = "X"', "# ", "'''", '"""', "é", "木", "\u2028", "\x00", "\t", "a b")
    return "".join(rng.choice(parts) for _ in range(rng.randint(0, 6)))


def _save(shop: PeopledShop, document: dict[str, Any], name: str) -> str:
    body = write_body(document)
    token = next(shop.count)
    saved = commit(
        Chain(shop.shop, MACHINE),
        lambda _: body,
        record_id=document["record"]["id"],
        signer=shop.signer(name),
        token=f"process-{token:06d}",
    )
    return saved.head.sha256
