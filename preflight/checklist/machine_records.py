"""Reading one machine's records, newest first: each with its reference, how it stands, and whether it counts.

In a shop with people a signed and intact record counts. What was saved unsigned before the shop was founded keeps its
place as history: it is dated before the founding, lies before the first signed record, and the record after it names it
by its digest. Everything else is a stranger: shown, and good for nothing. Without people unsigned records count, up to
the first signed one; signed ones without keys are an alarm of the register, and count so that no stop of theirs goes.
"""

from __future__ import annotations

import enum
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.checklist.chain import Chain, ChainError, newest
from preflight.checklist.record import Record, Status, read_record, unreadable
from preflight.checklist.reference import Reference, reference_in, reference_to

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from preflight.checklist.body_memory import BodyMemory
    from preflight.checklist.chain import ChainFiles
    from preflight.checklist.heading import Heading
    from preflight.checklist.register import Register

NEAR = 64
"""Records below an unsigned one that are looked through for a signed one, besides a search of the whole chain."""

_KIND = re.compile(rb'\[record\]\nkind = "([a-z]+)"\n')


class Weight(enum.Enum):
    """What a record is good for."""

    COUNTS = "counts"
    HISTORY = "unsigned, from before this shop had people"
    STRANGER = "counts for nothing"


@dataclass(frozen=True, slots=True)
class Kept:
    """One record as it lies in the chain."""

    reference: Reference
    heading: Heading
    document: Mapping[str, Any]
    key_id: str
    """Of the key that signed it; empty: unsigned."""
    status: Status
    statement: str
    """What its verification says."""
    weight: Weight

    @property
    def signed(self) -> bool:
        """Signed by somebody admitted then, and intact."""
        return self.status is Status.INTACT

    @property
    def counts(self) -> bool:
        """Whether anything follows from it."""
        return self.weight is not Weight.STRANGER

    @property
    def refers(self) -> Reference | None:
        """The record that it is about."""
        return reference_in(self.document)

    def require_counting(self) -> None:
        """ChainError for a stranger: nothing is added to a record that counts for nothing."""
        if not self.counts:
            raise ChainError(
                f"Record {self.reference.sequence} of {self.reference.machine} counts for nothing: {self.statement}",
                "Nothing was saved. Look with: preflight verify",
            )


class MachineRecords:
    """The records of one machine. Use it in a `with`; best asked for in falling order."""

    def __init__(self, shop: Path, machine: str, register: Register, memory: BodyMemory | None = None) -> None:
        """memory: of what bodies say; with it documents are as short as it keeps them."""
        chain = Chain(shop, machine)
        self.newest = newest(chain.folder)
        """The highest number; 0 when there is none."""
        self.strangers: list[tuple[int, str]] = []
        """Numbers that were asked for and count for nothing, and why."""
        self._machine = machine
        self._register = register
        self._memory = memory
        self._files: ChainFiles | None = chain.files() if self.newest else None
        self._first_signed: int | None = None
        """The lowest number known to carry a signature; None before it was searched."""
        self._seals: dict[int, _Seal | None] = {}
        self._statuses: dict[int, Status] = {}
        self._linked: dict[int, bool] = {}

    def __enter__(self) -> MachineRecords:
        return self

    def __exit__(self, *_error: object) -> None:
        if self._files is not None:
            self._files.close()

    def walk(self, kinds: frozenset[str] | None = None) -> Iterator[Kept]:
        """Those of these kinds that can be read, newest first, strangers too. None: of every kind."""
        for number in range(self.newest, 0, -1):
            if kept := self.read(number, kinds):
                yield kept

    def mentions(self, number: int, record_id: str) -> bool:
        """Whether that id stands anywhere in the record: what does not hold it need not be read."""
        data = self._data(number)
        return isinstance(data, bytes) and record_id.encode() in data

    def read(self, number: int, kinds: frozenset[str] | None = None) -> Kept | None:
        """The record of that number; None when it cannot be read, or is of another kind."""
        data = self._data(number)
        if isinstance(data, bytes) and kinds is not None and _kind(data) not in {*kinds, ""}:
            return None
        record = data if isinstance(data, Record) else self._record(data, number)
        self._statuses[number] = record.status
        if record.content and kinds is not None and record.content.heading.kind not in kinds:
            return None
        if record.sealed is None or record.content is None:
            self.strangers.append((number, record.statement))
            return None
        heading, document = record.content.heading, record.content.document
        weight = self._weight(record.status, heading, number)
        if weight is Weight.STRANGER:
            self.strangers.append((number, record.statement))
        return Kept(
            reference_to(record.sealed),
            heading,
            document,
            record.sealed.key_id,
            record.status,
            record.statement,
            weight,
        )

    def _record(self, data: bytes, number: int) -> Record:
        return read_record(data, self._register.keyring, self._machine, number, self._memory)

    def _data(self, number: int) -> bytes | Record:
        if self._files is None:
            return Record(Status.CANNOT_CHECK, "There is no such record.")
        try:
            return self._files.read(number)
        except OSError as error:
            return unreadable(error)

    # what an unsigned record is good for -------------------------------------------------------------------------

    def _weight(self, status: Status, heading: Heading, number: int) -> Weight:
        since, unchecked = self._register.founded_at, self._register.keyring is None
        if status is Status.INTACT or (status is Status.CANNOT_CHECK and unchecked):
            return Weight.COUNTS
        if status is not Status.UNSIGNED or self._signed_below(number):
            return Weight.STRANGER
        if unchecked:
            return Weight.COUNTS
        before = since is not None and heading.utc < since
        return Weight.HISTORY if before and self._is_linked(number) else Weight.STRANGER

    def _signed_below(self, number: int) -> bool:
        """Whether a signed record lies before that one: from then on nothing is saved unsigned.

        The first signed one is searched once over the whole chain as if all after it were signed, which they are where
        nobody put others there; and below each unsigned one those near it are looked at.
        """
        if self._first_signed is None:
            self._first_signed = self.newest + 1
            low, high = 1, self.newest
            while low < high:
                middle = (low + high) // 2
                low, high = (low, middle) if self._is_signed(middle) else (middle + 1, high)
            self._is_signed(low)
        near = range(number - 1, max(0, number - NEAR), -1)
        return self._first_signed < number or any(self._is_signed(below) for below in near)

    def _is_signed(self, number: int) -> bool:
        """By somebody of the shop; where no keys are at hand, by anybody."""
        seal = self._seal(number)
        if seal is None or not seal.signed:
            return False
        if self._register.keyring is not None and self.status(number) is not Status.INTACT:
            return False
        self._first_signed = min(number, self._first_signed or number)
        return True

    def _is_linked(self, number: int) -> bool:
        """Whether the records above it name one another by their digests: up to an intact one, to the newest, or near.

        Asked for in falling order, each goes on from what was found for the one above, however far that reaches.
        """
        at = number
        while at < self.newest and at not in self._linked and at - number < NEAR:
            above, own = self._seal(at + 1), self._seal(at)
            if above is None or own is None or above.previous != own.sha256:
                self._linked[at] = False
            elif above.signed and self.status(at + 1) is Status.INTACT:
                self._linked[at] = True
            else:
                at += 1
        linked = self._linked.get(at, True)
        self._linked.update(dict.fromkeys(range(number, at + 1), linked))
        return linked

    def status(self, number: int) -> Status:
        """How the record of that number stands."""
        if number not in self._statuses:
            data = self._data(number)
            self._statuses[number] = (data if isinstance(data, Record) else self._record(data, number)).status
        return self._statuses[number]

    def _seal(self, number: int) -> _Seal | None:
        if number not in self._seals:
            sealed = self._files.seal(number) if self._files is not None else None
            self._seals[number] = _Seal(bool(sealed.key_id), sealed.previous, sealed.sha256) if sealed else None
        return self._seals[number]


@dataclass(frozen=True, slots=True)
class _Seal:
    """Of a seal what its neighbours need."""

    signed: bool
    previous: str
    sha256: str


def records(
    shop: Path,
    machine: str,
    register: Register,
    kinds: frozenset[str] | None = None,
    memory: BodyMemory | None = None,
) -> Iterator[Kept]:
    """The records of these kinds, newest first; those that cannot be read are passed, verification names them."""
    with MachineRecords(shop, machine, register, memory) as chain:
        yield from chain.walk(kinds)


def record(shop: Path, machine: str, number: int, register: Register) -> Kept:
    """The record of that number. ChainError when there is none that can be read."""
    with MachineRecords(shop, machine, register) as chain:
        if not 1 <= number <= chain.newest:
            there = f"The newest is {chain.newest}." if chain.newest else "It has none yet."
            raise ChainError(f"There is no record {number} of {machine}.", there)
        kept = chain.read(number)
        if kept is None:
            raise ChainError(f"Record {number} of {machine}: {chain.strangers[-1][1]}", "Look with: preflight verify")
        return kept


def find(shop: Path, machine: str, record_id: str, register: Register, *, after: int = 0) -> Reference | None:
    """The record of that id that counts, among those numbered above `after`.

    Tells after a restart whether a save whose answer was lost had happened. A stranger with that id is none of ours.
    """
    with MachineRecords(shop, machine, register) as chain:
        for number in range(chain.newest, max(0, after), -1):
            kept = chain.read(number) if chain.mentions(number, record_id) else None
            if kept is not None and kept.counts and kept.heading.id == record_id:
                return kept.reference
    return None


def _kind(data: bytes) -> str:
    """The kind that stands at the top of a record, to pass over one of another kind unread; empty when there is none.

    `[record]` is the first table of a record, and its kind the first line as we write it; where it is not, it is read.
    """
    header = data.find(b"\n[record]\n") + 1
    match = _KIND.match(data, header)
    return match[1].decode() if match else ""
