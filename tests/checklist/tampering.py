"""Random tamperings with a chain of signed records, and which files a verification has to name for each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from checklist.record_samples import MACHINE, OTHER_MACHINE, Keys, chain_of, record_body, signer

from preflight.checklist.chain import relative_path
from preflight.checklist.seal import read_seal, seal
from preflight.checklist.verify import Status, verify_chain

if TYPE_CHECKING:
    import random
    from collections.abc import Callable
    from pathlib import Path

    from preflight.checklist.chain import Head
    from preflight.checklist.verify import ChainResult

PEOPLE = ("R. Onslow", "T. Varga")
KEYS = Keys.of(*PEOPLE)
LENGTH = 7

Files = dict[str, bytes]
"""Content by path inside the chain's folder."""


@dataclass
class Tampering:
    """What was done and what has to be found."""

    files: Files
    expected: set[str]
    """A verification names at least one of these paths."""
    tolerated: set[str] = field(default_factory=set)
    """May be named as well: the neighbour whose link breaks."""
    seen_without_head: bool = True
    """False: the rest is a whole chain, so only a head kept elsewhere can tell."""


class Bench:
    """A chain on disk, tampered with and put back again and again."""

    def __init__(self, folder: Path) -> None:
        for shop in ("here", "other"):
            (folder / shop).mkdir()
        here = chain_of(folder / "here", LENGTH, *PEOPLE)
        self.folder = here.folder
        self.head: Head = here.head()
        self.files = _read(here.folder)
        self.other_machine = _read(chain_of(folder / "other", LENGTH, *PEOPLE, machine=OTHER_MACHINE).folder)
        self._on_disk = dict(self.files)

    def verify(self, files: Files, *, with_head: bool) -> ChainResult:
        for path in self._on_disk.keys() - files.keys():
            (self.folder / path).unlink()
        for path, data in files.items():
            if self._on_disk.get(path) != data:
                (self.folder / path).parent.mkdir(exist_ok=True)
                (self.folder / path).write_bytes(data)
        self._on_disk = dict(files)
        return verify_chain(self.folder, KEYS, head=self.head if with_head else None)

    def missed(self, tampering: Tampering) -> str:
        """Empty when the tampering was found as it should be; else what went wrong."""
        result = self.verify(tampering.files, with_head=True)
        named = {str(p.relative_to(self.folder)) for problem in result.problems for p in problem.paths}
        if result.status.exit_status != 2:
            return f"not found: {result.status}"
        if not named & tampering.expected:
            return f"the wrong file named: {sorted(named)} instead of {sorted(tampering.expected)}"
        if named - tampering.expected - tampering.tolerated:
            return f"an innocent file named: {sorted(named)}, expected {sorted(tampering.expected)}"
        without = self.verify(tampering.files, with_head=False)
        if without.tail_proven:
            return "a tail called proven without a head"
        if (without.status is not Status.INTACT) != tampering.seen_without_head:
            return f"without a head: {without.status}"
        return ""


def _read(folder: Path) -> Files:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*.toml"))}


def name(number: int) -> str:
    return str(relative_path(number))


def _with(bench: Bench, number: int, data: bytes) -> Tampering:
    after = {name(number + 1)} if number < LENGTH else set()
    return Tampering(bench.files | {name(number): data}, {name(number)}, after)


def _pick(bench: Bench, rng: random.Random) -> tuple[int, bytes]:
    number = rng.randint(1, LENGTH)
    return number, bench.files[name(number)]


def byte_changed(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    at = rng.randrange(len(data))
    return _with(bench, number, data[:at] + bytes([data[at] ^ rng.randint(1, 255)]) + data[at + 1 :])


def bytes_removed(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    at = rng.randrange(len(data))
    return _with(bench, number, data[:at] + data[at + rng.randint(1, 20) :])


def bytes_inserted(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    at = rng.randint(0, len(data))
    return _with(bench, number, data[:at] + rng.randbytes(rng.randint(1, 20)) + data[at:])


def file_cut_short(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    return _with(bench, number, data[: rng.randrange(len(data))])


def file_dropped(bench: Bench, rng: random.Random) -> Tampering:
    number = rng.randint(1, LENGTH)
    files = {path: data for path, data in bench.files.items() if path != name(number)}
    return Tampering(files, {name(number)}, seen_without_head=number < LENGTH)


def tail_cut(bench: Bench, rng: random.Random) -> Tampering:
    kept = rng.randrange(LENGTH)
    files = {name(n): bench.files[name(n)] for n in range(1, kept + 1)}
    return Tampering(files, {name(kept + 1)}, seen_without_head=False)


def files_swapped(bench: Bench, rng: random.Random) -> Tampering:
    one, two = (name(n) for n in rng.sample(range(1, LENGTH + 1), 2))
    return Tampering(bench.files | {one: bench.files[two], two: bench.files[one]}, {one, two})


def file_renamed(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    target = rng.choice(
        [
            name(LENGTH + rng.randint(1, 2000)),
            "00000/00000003 (copy).toml",
            f"{number:08d}.toml",
            f"00001/{number:08d}.toml",
            "00000/00000000.toml",
        ]
    )
    files = {path: content for path, content in bench.files.items() if path != name(number)} | {target: data}
    return Tampering(files, {target}, {name(number), name(LENGTH + 1)})


def file_copied_over_another(bench: Bench, rng: random.Random) -> Tampering:
    one, two = rng.sample(range(1, LENGTH + 1), 2)
    return _with(bench, two, bench.files[name(one)])


def line_endings_changed(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    return _with(bench, number, data.replace(b"\n", rng.choice([b"\r\n", b"\r", b"\n\r"])))


def byte_order_mark_added(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    return _with(bench, number, b"\xef\xbb\xbf" + data)


def seal_of_another_record(bench: Bench, rng: random.Random) -> Tampering:
    one, two = rng.sample(range(1, LENGTH + 1), 2)
    body, other = read_seal(bench.files[name(one)]), read_seal(bench.files[name(two)])
    return _with(bench, one, body.body + other.data[other.body_bytes :])


def seal_block_moved(bench: Bench, rng: random.Random) -> Tampering:
    """The body of a record replaced, the seal of the same record kept."""
    number, data = _pick(bench, rng)
    record = read_seal(data)
    return _with(bench, number, record_body(f"forged-{rng.randrange(10**8):08d}") + data[record.body_bytes :])


def fake_seal_in_the_body(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    record = read_seal(data)
    fake = seal(b"a = 1\n", machine=MACHINE, sequence=number, previous=record.previous, signer=signer(PEOPLE[0]))
    where = rng.choice([0, record.body_bytes, len(data)])
    return _with(bench, number, data[:where] + fake + data[where:])


def signed_by_an_outsider(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    body = record_body("forged-00000001") if rng.random() < 0.5 else read_seal(data).body
    return _with(bench, number, _resealed(data, body, "an outsider"))


def outsider_under_an_admitted_name(bench: Bench, rng: random.Random) -> Tampering:
    """An outsider's signature under the key id of an admitted person."""
    number, data = _pick(bench, rng)
    outsider = signer("an outsider")
    outsider.key_id = read_seal(data).key_id
    record = read_seal(data)
    forged = seal(
        record_body("forged-00000001"),
        machine=MACHINE,
        sequence=number,
        previous=record.previous,
        signer=outsider,
    )
    return _with(bench, number, forged)


def signature_taken_off(bench: Bench, rng: random.Random) -> Tampering:
    number, data = _pick(bench, rng)
    return _with(bench, number, _resealed(data, read_seal(data).body, None))


def record_of_another_machine(bench: Bench, rng: random.Random) -> Tampering:
    number = rng.randint(1, LENGTH)
    return _with(bench, number, bench.other_machine[name(number)])


def forked(bench: Bench, rng: random.Random) -> Tampering:
    """Records from a second folder, signed there by an admitted person, over part of the chain or all to its end."""
    first = rng.randint(1, LENGTH)
    last = rng.randint(first, LENGTH)
    files = dict(bench.files)
    previous = read_seal(files[name(first)]).previous
    by = signer(rng.choice(PEOPLE))
    for number in range(first, last + 1):
        body = record_body(f"elsewhere-{rng.randrange(10**8):08d}")
        data = seal(body, machine=MACHINE, sequence=number, previous=previous, signer=by)
        files[name(number)] = data
        previous = read_seal(data).sha256
    replaced = {name(number) for number in range(first, last + 1)}
    after = {name(last + 1)} if last < LENGTH else set()
    return Tampering(files, {name(last)}, replaced | after, seen_without_head=last < LENGTH)


def second_record_beside(bench: Bench, rng: random.Random) -> Tampering:
    """What a synchronising program leaves when two terminals used the same number."""
    number, data = _pick(bench, rng)
    rival = _resealed(data, record_body(f"elsewhere-{rng.randrange(10**8):08d}"), rng.choice(PEOPLE))
    stray = f"00000/{number:08d} (from the other terminal).toml"
    return Tampering(bench.files | {stray: rival}, {stray}, {name(number)})


def _resealed(data: bytes, body: bytes, person: str | None) -> bytes:
    record = read_seal(data)
    return seal(
        body,
        machine=record.machine,
        sequence=record.sequence,
        previous=record.previous,
        signer=signer(person) if person else None,
    )


TAMPERINGS: tuple[Callable[[Bench, random.Random], Tampering], ...] = (
    byte_changed,
    bytes_removed,
    bytes_inserted,
    file_cut_short,
    file_dropped,
    tail_cut,
    files_swapped,
    file_renamed,
    file_copied_over_another,
    line_endings_changed,
    byte_order_mark_added,
    seal_of_another_record,
    seal_block_moved,
    fake_seal_in_the_body,
    signed_by_an_outsider,
    outsider_under_an_admitted_name,
    signature_taken_off,
    record_of_another_machine,
    forked,
    second_record_beside,
)
