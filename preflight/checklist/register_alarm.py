"""Whether the register in a shop folder is the shop's own: the one that was founded, whole, and alone.

A register that was taken away, emptied or shortened, a second one beside it, one of another founder in its place, or
signed records without any is an alarm: the records can still be read, and nothing is founded or signed until it is
cleared. What the shop had before is told by the memory of this terminal (`founders`), which nobody reaches who can
write to the shop folder alone; a terminal that never saw the shop has only the records to go by.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.checklist.chain import ChainFiles, Head, chains_root, newest, relative_path
from preflight.checklist.founders import FounderError, Founders, short
from preflight.checklist.record import Status
from preflight.checklist.register import (
    Alarm,
    Register,
    RegisterError,
    chain_names,
    founder_of,
    is_register,
    pinned_register,
    registers,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.founders import Remembered

GONE = "The records here are signed, and the register of people is gone. Is the shop folder whole?"
EMPTIED = "The register of people is emptied: it holds no founding that counts. Is the shop folder whole?"
UNKNOWN = (
    "The records here are signed with keys that this register does not know, and this terminal sees it for the first "
    "time. Is it the shop's own? Compare its founder's key with the head kept elsewhere."
)
NEWEST = 20
"""Records of a chain that are looked at for a signature; below them ever fewer."""


def watched_register(shop: Path, founders: Founders | None = None) -> Register:
    """The register with its alarm. Writes nothing. Errors as of `read_register`."""
    remembered, unread = (founders or Founders()).all()
    there, by_chain = registers(shop), _by_chain(shop, remembered)
    known = by_chain or _by_folder(shop, remembered)
    expected = next((one for one in known if one.chain in there), None)
    name = expected.chain if expected else there[0] if len(there) == 1 else ""
    register = pinned_register(shop, name) if name else Register(folder=shop)
    alarm: Alarm | None = None
    if len(there) > 1:
        alarm = Alarm(_several(there, expected), Status.FORK)
    elif known and expected is None:
        same = by_chain or (not there and _is_signed(shop))
        statement = _other(register, known[-1]) if same else _elsewhere(register, known[-1])
        some_chains = chains_root(shop) == shop and not there  # a copy, which needs not hold all of them
        alarm = Alarm(statement, Status.CANNOT_CHECK if some_chains else Status.WRONG)
        register = Register(folder=shop)  # whatever lies there is not this shop's
    elif not register.founded:
        alarm = Alarm(GONE, Status.CANNOT_CHECK) if _is_signed(shop) else None
    elif register.find(register.founder) is None:
        alarm = Alarm(EMPTIED, Status.WRONG)
    elif expected:
        alarm = _against(shop, register, expected)
    else:
        keys = {key for _, key in signed_records(shop)}
        alarm = Alarm(UNKNOWN, Status.WRONG) if keys and not keys & register.keys.keys() else None
    notice = f"This terminal's memory of founders cannot be read: {', '.join(unread)}." if unread else ""
    return replace(register, alarm=alarm, notice=notice)


def known_founders(shop: Path, founders: Founders | None = None) -> list[Remembered]:
    """Those whose shop this folder is, or was."""
    remembered = (founders or Founders()).all()[0]
    return _by_chain(shop, remembered) or _by_folder(shop, remembered)


def _by_chain(shop: Path, remembered: Sequence[Remembered]) -> list[Remembered]:
    ids = set(chain_names(shop))
    return [one for one in remembered if ids & {one.chain, *one.chains}]


def _by_folder(shop: Path, remembered: Sequence[Remembered]) -> list[Remembered]:
    return [one for one in remembered if str(shop.resolve()) in one.folders]


def remember(register: Register, now: datetime, founders: Founders | None = None) -> str:
    """Note a register without alarm, so that this terminal misses it when it is gone. Why not, when it cannot."""
    if register.alarm or not register.founded or register.folder is None:
        return register.notice
    try:
        (founders or Founders()).remember(register.folder, register, _newest_that_counts(register), now)
    except FounderError as error:
        return f"{register.notice} {error}".strip()
    return register.notice


def accept_register(shop: Path, now: datetime, founders: Founders | None = None) -> None:
    """Take the register that lies here as the shop's own, or that there is none. RegisterError and FounderError."""
    memory = founders or Founders()
    memory.forget(shop)
    for name in registers(shop):
        register = pinned_register(shop, name)
        if register.find(register.founder) is None:
            raise RegisterError(EMPTIED)
        memory.remember(shop, register, _newest_that_counts(register), now)


def _newest_that_counts(register: Register) -> Head:
    """Of the register's records: what somebody put behind it can be taken away again."""
    faulty = {number for number, _ in register.faults}
    counting = next(number for number in range(register.head.sequence, 0, -1) if number not in faulty)
    if counting == register.head.sequence or register.folder is None:
        return register.head
    with ChainFiles(chains_root(register.folder), register.chain) as files:
        return Head(register.chain, counting, hashlib.sha256(files.read(counting)).hexdigest())


def signed_records(shop: Path, *, all_of_them: bool = False) -> Iterator[tuple[Path, str]]:
    """Signed records of the machines' and practice chains, and their keys: of each chain a sample, or `all_of_them`."""
    root = chains_root(shop)
    for name in chain_names(shop):
        last = 0 if is_register(name) else newest(root / name)
        if not last:
            continue
        with ChainFiles(root, name) as files:
            for number in range(last, 0, -1) if all_of_them else _sample(last):
                sealed = files.seal(number)
                if sealed is not None and sealed.key_id:
                    yield root / name / relative_path(number), sealed.key_id


def _is_signed(shop: Path) -> bool:
    return next(signed_records(shop), None) is not None


def _sample(last: int) -> Iterator[int]:
    """The newest numbers, and below them ever fewer."""
    yield from range(last, max(0, last - NEWEST), -1)
    step = 2 * NEWEST
    while step < last:
        yield last - step
        step *= 2


def _several(there: Sequence[str], expected: Remembered | None) -> str:
    count = "two" if len(there) == 2 else str(len(there))
    keys = " and ".join(short(founder_of(name)) for name in there)
    tells = (
        f"This terminal knows the shop as founded by {expected.words}."
        if expected
        else "Only the head kept elsewhere tells which one is the shop's."
    )
    return f"This folder holds {count} founded registers, of the keys {keys}. {tells} Take the other away."


def _other(register: Register, was: Remembered) -> str:
    """The shop that this terminal knows, and its register is not there."""
    if not register.founded:
        return f"{was.words} founded this shop, and the register of people is gone. Is the shop folder whole?"
    return (
        f"{was.words} founded this shop, and the register of people in it is another one, founded with the key "
        f"{short(register.founder)}. Is the shop folder the right one?"
    )


def _elsewhere(register: Register, was: Remembered) -> str:
    """None of the records that this terminal knows, in the place where they lay."""
    what = (
        f"another shop, founded with the key {short(register.founder)}" if register.founded else "a shop without people"
    )
    return (
        f"Here lay the shop that {was.words} founded, seen last on {was.seen}; now it is {what}, with none of its "
        "records. Is this the right folder? If it was begun anew on purpose, say so: preflight people founder --accept."
    )


def _against(shop: Path, register: Register, was: Remembered) -> Alarm | None:
    """The shop's own register, against how far it had come when this terminal saw it last."""
    root = chains_root(shop)
    last = newest(root / register.chain)
    if last < was.sequence:
        return Alarm(
            f"The register of people has lost records: it had {was.sequence} on {was.seen} and has {last} now. "
            "Is this an older copy of the shop folder?",
            Status.CUT_TAIL,
        )
    try:
        with ChainFiles(root, register.chain) as files:
            sha256 = hashlib.sha256(files.read(was.sequence)).hexdigest()
    except OSError as error:
        statement = f"Record {was.sequence} of the register of people cannot be read: {error.strerror}."
        return Alarm(statement, Status.CANNOT_CHECK)
    if sha256 == was.sha256:
        return None
    statement = f"Record {was.sequence} of the register of people is another one than this terminal saw on {was.seen}."
    return Alarm(statement, Status.FORK)
