"""Makes the test vectors of the specification: `python -m tests.checklist.make_vectors`. Run once; they never change.

Three copies of one invented shop, each with what a verification has to find in it, as this file states it: none of it
is asked of the verification. Keys are made from names, so that everybody gets the same bytes.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from base64 import b64encode
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from preflight.checklist.body import write_body
from preflight.checklist.chain import Head, relative_path
from preflight.checklist.head_text import HeadText
from preflight.checklist.heading import Signature, heading
from preflight.checklist.register_record import MEANINGS, approval_table, person_table
from preflight.checklist.seal import NO_PREVIOUS, read_seal, seal
from preflight.checklist.signing import Ed25519Signer

VECTORS = Path(__file__).parent / "vectors"
MACHINE, PRACTICE = "m-7f3a91c2d04e", "practice-5a0c7e19b3d2"
LEAD, OPERATOR, TRAINER = "T. Varga", "D. Marrow", "A. Brandt"
ZONE = timezone(timedelta(hours=1))
FOUNDED = datetime(2026, 11, 20, 7, 0, tzinfo=ZONE)
GUARDS = {"check": "running", "subject": "head 1 brake"}
AIR = {"check": "extraction", "subject": "bay-two-1"}


def key(person: str, generation: int = 1) -> Ed25519Signer:
    return Ed25519Signer(hashlib.sha256(f"test vector {person} {generation}".encode()).digest())


REGISTER = "shop-" + key(LEAD).key_id.removeprefix("k-")


def at(hours: float) -> datetime:
    return FOUNDED + timedelta(hours=hours)


def text(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds")


@dataclass
class Folder:
    """One copy of the shop: its records by chain, and what is to be found."""

    records: dict[str, list[bytes]] = field(default_factory=dict)
    expected: dict[str, str] = field(default_factory=dict)
    """Standing by file."""
    count: int = 0

    def body(self, kind: str, by: str, role: str, hours: float, tables: dict[str, Any], meaning: str = "") -> bytes:
        self.count += 1
        signature = Signature(by, role, meaning or MEANINGS.get(kind, "This is as I found it."), at(hours))
        record = heading(kind, f"vector-{self.count:08d}", signature)
        record |= tables.pop("record", {})
        return write_body({"record": record, **tables})

    def append(self, chain: str, body: bytes, signer: Ed25519Signer | None, standing: str) -> bytes:
        """The next record of a chain, sealed and signed as the product does."""
        records = self.records.setdefault(chain, [])
        previous = hashlib.sha256(records[-1]).hexdigest() if records else NO_PREVIOUS
        data = seal(body, machine=chain, sequence=len(records) + 1, previous=previous, signer=signer)
        records.append(data)
        self.expected[path(chain, len(records))] = standing
        return data

    def add(
        self,
        kind: str,
        by: str,
        role: str,
        hours: float,
        signer: Ed25519Signer | None,
        standing: str = "intact",
        *,
        chain: str = MACHINE,
        **tables: Any,
    ) -> bytes:
        return self.append(chain, self.body(kind, by, role, hours, tables), signer, standing)

    def refers(self, number: int, chain: str = MACHINE) -> dict[str, Any]:
        data = self.records[chain][number - 1]
        return {"machine": chain, "sequence": number, "sha256": hashlib.sha256(data).hexdigest()}

    def head(self, hours: float) -> str:
        newest = ((chain, records) for chain, records in sorted(self.records.items()))
        heads = tuple(Head(chain, len(all_), hashlib.sha256(all_[-1]).hexdigest()) for chain, all_ in newest)
        return HeadText(at(hours), heads, key(LEAD).key_id, LEAD).text

    def write(self, name: str, about: str, result: dict[str, Any], head: str = "") -> None:
        target = VECTORS / name
        shutil.rmtree(target, ignore_errors=True)
        for chain, records in self.records.items():
            for number, data in enumerate(records, 1):
                if data:
                    file = target / "checklists" / path(chain, number)
                    file.parent.mkdir(parents=True, exist_ok=True)
                    file.write_bytes(data)
        if head:
            (target / "head.txt").write_text(head, encoding="utf-8")
        expected = {"about": about, "records": self.expected, **result}
        (target / "expected.json").write_text(
            json.dumps(expected, indent=1, ensure_ascii=False) + "\n", encoding="utf-8"
        )


def path(chain: str, number: int) -> str:
    return f"{chain}/{relative_path(number).as_posix()}"


def start_up(hours: float, verdict: str, findings: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    """The tables of a start-up, as short as one can be."""
    return {
        "schema": 1,
        "machine": "bay-two",
        "at": at(hours),
        "record": {"verdict": verdict},
        "glue": {"state": "scraped", "by": 'glue-up bench, "S. Ollery"'},
        "profiles": {"machine_sha256": "ab" * 32, "extraction_sha256": ""},
        "entries": [
            {
                "key": "glue.state",
                "text": "scraped",
                "at": at(hours),
                "earlier": [{"at": at(hours - 0.1), "text": "smeared"}],
            }
        ],
        "findings": findings,
        "limits": {"machine": {"schema": 1, "name": "Bay two, ×2 heads"}},
        **more,
    }


def stop(takes_override: bool, **subject: str) -> dict[str, Any]:
    return {**subject, "verdict": "stop", "statement": "Out of its limits.", "takes_override": takes_override}


def shop() -> Folder:
    """The shop as it was saved, nothing touched."""
    folder = Folder()
    lead, operator, trainer, renewed = key(LEAD), key(OPERATOR), key(TRAINER), key(OPERATOR, 2)

    def register(kind: str, hours: float, tables: dict[str, Any]) -> None:
        folder.add(kind, LEAD, "lead", hours, lead, chain=REGISTER, **tables)

    folder.add("startup", OPERATOR, "operator", -24, None, "unsigned", **start_up(-24, "ok", []))
    register("founding", 0, person_table("founding", LEAD, role="lead", public=lead.public))
    register("enrolment", 1, person_table("enrolment", OPERATOR, role="operator", public=operator.public))
    register("enrolment", 2, person_table("enrolment", TRAINER, role="trainer", public=trainer.public))
    register("role", 30, person_table("role", TRAINER, role="lead"))
    register("approval", 31, approval_table("machines/bay-two", "ab" * 32))
    register("renewal", 60, person_table("renewal", OPERATOR, role="operator", public=renewed.public))
    register("retirement", 80, person_table("retirement", TRAINER))
    stops = [stop(True, **AIR), stop(False, **GUARDS)]
    folder.add("startup", OPERATOR, "operator", 24, operator, **start_up(24, "ok", []))
    why = {"what": "air", "told": LEAD, "tried": "two gates shut"}
    folder.add("held", OPERATOR, "operator", 26, operator, **start_up(26, "stop", stops, held=why))
    override = {
        **AIR,
        "reason": "The filter is changed tomorrow.",
        "until": text(at(54)),
        "stop": {"statement": "Out of its limits."},
    }
    # A. Brandt becomes a lead in this very second: both the old and the new role fit it.
    folder.add("override", TRAINER, "lead", 30, trainer, refers=folder.refers(3), override=override)
    folder.add("countersign", TRAINER, "trainer", 30, trainer, refers=folder.refers(3))
    mended = {**GUARDS, "what": "new pads", "who": "the fitter", "measured": "4 s"}
    # The old key ends in the second in which the new one is admitted: both fit it.
    folder.add("repair", OPERATOR, "operator", 60, operator, refers=folder.refers(3), repair=mended)
    folder.add("startup", OPERATOR, "operator", 60, renewed, **start_up(60, "ok", []))
    answer = {
        "key": "glue.state",
        "was": "scraped",
        "text": "beads standing",
        "reason": "Read off the wrong\nboard\t×2.",
    }
    folder.add("correction", LEAD, "lead", 62, lead, refers=folder.refers(7), correction=answer)
    board = {
        "part": 1,
        "width": "180 mm",
        "length": "900 mm",
        "left_edge": "40 mm",
        "place": "2",
        "count": 12,
        "fill": 0.5,
    }
    run = {"job": "Ash treads", "times": 1, "hours": "1.5 h", "area": "1.9 m2", "boards": [board]}
    folder.add("run", OPERATOR, "operator", 64, renewed, run=run)
    folder.add("startup", OPERATOR, "operator", 88, renewed, **start_up(88, "ok", []))
    mark = {"what": "mark", "trainee": OPERATOR, "mark": "may work alone", "note": ""}
    folder.add("practice", TRAINER, "lead", 70, trainer, chain=PRACTICE, practice=mark)
    return folder


def problem(status: str, *files: str) -> dict[str, Any]:
    return {"status": status, "files": list(files)}


def span(moment: datetime | None) -> str | None:
    return text(moment.astimezone(UTC)) if moment else None


def admitted(
    person: str, generation: int, since: float, until: float | None, *roles: tuple[float, str]
) -> dict[str, Any]:
    """One key as the register has it in the end."""
    return {
        "key_id": key(person, generation).key_id,
        "public": b64encode(key(person, generation).public).decode(),
        "person": person,
        "from": span(at(since)),
        "until": span(at(until)) if until is not None else None,
        "roles": [{"from": span(at(hours)), "role": role} for hours, role in roles],
    }


KEYS = [
    admitted(LEAD, 1, 0, None, (0, "lead")),
    admitted(OPERATOR, 1, 1, 60, (1, "operator")),
    admitted(TRAINER, 1, 2, 80, (2, "trainer"), (30, "lead")),
    admitted(OPERATOR, 2, 60, None, (1, "operator"), (60, "operator")),
]


def intact() -> None:
    folder = shop()
    chains = {MACHINE: "unsigned", PRACTICE: "intact", REGISTER: "intact"}
    result = {
        "status": "unsigned",
        "chains": chains,
        "problems": [],
        "with_head": {"status": "unsigned", "problems": []},
    }
    folder.write(
        "intact", "As saved. The first record is from before the founding.", {"keys": KEYS, **result}, folder.head(90)
    )


def resealed(data: bytes, old: bytes, new: bytes) -> bytes:
    """The record with other words of the same length, its digest mended, under the signature of the old ones."""
    before = read_seal(data).body
    after = before.replace(old, new)
    assert len(after) == len(before) != after.count(old)
    old_digest, new_digest = (hashlib.sha256(body).hexdigest().encode() for body in (before, after))
    return after + data[len(before) :].replace(old_digest, new_digest)


def tampered() -> None:
    """Five changes to the machine's chain, none of which needs a key."""
    folder = shop()
    head = folder.head(90)
    records, files = folder.records[MACHINE], [path(MACHINE, number) for number in range(1, 11)]
    records[1] = records[1].replace(b'state = "scraped"', b'state = "smeared"')  # the seal stays as it was
    records[2] = resealed(records[2], b'told = "T. Varga"', b'told = "B. Stone"')
    records[4] = b""  # taken away
    # Number 8 saved again with other words by the same person: number 9 follows the first one.
    answer = {"key": "glue.state", "was": "scraped", "text": "smeared", "reason": "Second thoughts."}
    other = folder.body("correction", LEAD, "lead", 62, {"refers": folder.refers(7), "correction": answer})
    before = hashlib.sha256(records[6]).hexdigest()
    records[7] = seal(other, machine=MACHINE, sequence=8, previous=before, signer=key(LEAD))
    records[9] = b""  # cut off
    for file in (files[1], files[2]):
        folder.expected[file] = "wrong"
    for file in (files[4], files[9]):
        del folder.expected[file]
    found = [
        problem("wrong", files[1]),
        problem("wrong", files[2]),
        problem("gap", files[4]),
        problem("fork", files[7], files[8]),
    ]
    result = {
        "status": "wrong",
        "chains": {MACHINE: "wrong", PRACTICE: "intact", REGISTER: "intact"},
        "problems": found,
        "with_head": {"status": "wrong", "problems": [*found, problem("cut tail", files[9])]},
    }
    about = (
        "Without any key: 2 changed, 3 changed and resealed, 5 taken away, 8 exchanged, 10 cut off (head.txt is older)."
    )
    folder.write("tampered", about, {"keys": KEYS, **result}, head)


def forged_role() -> None:
    """An operator with a good key who wants to be a lead, and a lead who has retired."""
    folder = shop()
    operator, stranger, retired = key(OPERATOR, 2), key("B. Nobody"), key(TRAINER)
    override = {
        **GUARDS,
        "reason": "It will do for today.",
        "until": text(at(110)),
        "stop": {"statement": "Out of its limits."},
    }

    def forged(by: str, role: str, hours: float = 90) -> bytes:
        return folder.body("override", by, role, hours, {"refers": folder.refers(3), "override": dict(override)})

    honest = forged(OPERATOR, "operator").decode()
    as_lead = forged(LEAD, "lead").decode()
    table = as_lead[as_lead.index("[record]\n") : as_lead.index("\n\n")]
    spellings = [
        honest.replace("[record]\n", '["record"]\n', 1),
        honest.replace('role = "operator"', 'role = "operator" # lead'),
        honest.replace('role = "operator"', 'role = "lead"\n"role" = "operator"'),
        honest.rstrip("\n") + "\n\n" + table + "\n",
        honest.replace('role = "operator"', "role = '''lead'''"),
    ]
    bodies = [
        (forged(OPERATOR, "lead"), operator),
        (forged(LEAD, "lead"), operator),
        (forged(LEAD, "lead"), stranger),
        (forged(TRAINER, "lead", 80 + 1 / 3600), retired),
        *((spelling.encode(), operator) for spelling in spellings),
    ]
    for body, signer in bodies:
        folder.append(MACHINE, body, signer, "wrong")
    person = person_table("enrolment", "B. Nobody", role="lead", public=stranger.public)
    folder.add("enrolment", OPERATOR, "operator", 91, operator, chain=REGISTER, **person)
    wrong = [path(MACHINE, number) for number in range(11, 11 + len(bodies))]
    # Signed by the operator in an operator's role, so intact as a record; it changes nothing in the register.
    idle = path(REGISTER, 8)
    result = {
        "status": "wrong",
        "chains": {MACHINE: "wrong", PRACTICE: "intact", REGISTER: "intact"},
        "problems": [*(problem("wrong", file) for file in wrong), problem("wrong", idle)],
    }
    about = (
        "From number 11 on: an operator's key under a lead's role, and under a lead's name; a stranger's key; a lead's "
        "key a second after retirement; five spellings that hide the role. Register 8: an operator admits a lead."
    )
    folder.write("forged-role", about, {"keys": KEYS, **result})


if __name__ == "__main__":
    intact()
    tampered()
    forged_role()
    (VECTORS / ".gitattributes").write_text("* -text\n", encoding="utf-8")
