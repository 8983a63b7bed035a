"""Saving a record: the commit protocol. Whatever happens, a record is whole under its number or not there at all.

Tried on ext4 and tmpfs under Linux. Untested: network shares, FAT, the Windows and macOS file systems.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.chain import FOLDER, Head, newest, thousands
from preflight.checklist.lock import Lock, try_lock
from preflight.checklist.practice_chain import misplaced
from preflight.checklist.publish import NotOfferedError, publish, sync_folder, write_durably
from preflight.checklist.record import read_content, read_record
from preflight.checklist.register import registers
from preflight.checklist.seal import LAST_SEQUENCE, seal
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.chain import Chain
    from preflight.checklist.signing import Signer

GIT_RULE = "checklists/** -text"
"""Line of the shop's `.gitattributes`: version control must not touch line endings of sealed files."""

STALE_SECONDS = 24 * 3600.0
"""Age from which a temporary file counts as left over by a kill."""

_TRIES = 1000
_LOCK_POLLS = 400
_LOCK_POLL_SECONDS = 0.005
_RECORD_ID = re.compile(r"[A-Za-z0-9-]{8,64}")
_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
_DENIED = frozenset({errno.EACCES, errno.EPERM, errno.EROFS})
_GONE = frozenset({errno.ENOENT, errno.ENOTDIR, errno.ESTALE, errno.ENODEV, errno.ENXIO, errno.EHOSTDOWN})


class StoreError(PreflightError):
    """A record that was not saved, or of which that is not known. No part of one is ever visible."""


@dataclass(frozen=True)
class Saved:
    """A record that is in the chain."""

    path: Path
    """Its file."""
    head: Head
    """Its machine, number and digest: the head of the chain at that moment."""
    was_there: bool = False
    """True: an earlier try had saved it, nothing was written now."""
    durable: bool = True
    """False: saved and visible, but the system could not say that the disk has it."""


def prepare_shop(shop: Path) -> None:
    """Make the folder of checklists in an existing shop folder, and its `.gitattributes` line. StoreError else."""
    attributes = shop / ".gitattributes"
    temporary = shop / f".gitattributes.{os.getpid()}.tmp"
    try:
        (shop / FOLDER).mkdir(exist_ok=True)
        text = attributes.read_text(encoding="utf-8") if attributes.exists() else ""
        if GIT_RULE not in text.splitlines():
            text += "\n" if text and not text.endswith("\n") else ""
            temporary.unlink(missing_ok=True)
            write_durably(temporary, f"{text}{GIT_RULE}\n".encode())
            temporary.replace(attributes)
        sync_folder(shop)
    except OSError as error:
        raise StoreError(*_in_words(error, shop)) from error


def commit(
    chain: Chain,
    body: Callable[[Head], bytes],
    *,
    record_id: str,
    signer: Signer | None,
    token: str,
    since: int | None = None,
    accept_damaged: bool = False,
) -> Saved:
    """Save one record as the next of its chain and return when the disk has it.

    body: makes the body for the record that follows the given head; called again when another terminal was faster.
    record_id: the random id that stands in the body's `[record]`, the same for every try of one record.
    signer: None leaves the record unsigned.
    token: random word of this process; keeps its temporary files apart from those of others.
    since: number of the newest record when this record was first tried. Give it on every later try, also after a
        restart, best always: the records since then are searched for the id, so a save whose answer was lost is not
        repeated, and a chain that has become shorter is noticed.
    accept_damaged: a lead's decision to go on behind a newest file that fails its seal.

    In a folder with a register nothing is saved unsigned.

    StoreError or ChainError: not saved, or not known to be, and the message says why.
    ValueError: a body or id that does not fit, or practice and a machine's chain that meet.
    """
    if not _RECORD_ID.fullmatch(record_id) or not _RECORD_ID.fullmatch(token):
        raise ValueError("a record id and a token are 8 to 64 letters, digits or hyphens")
    if not (chain.shop / FOLDER).is_dir():
        # An unmounted share leaves its empty mount point: a chain begun there anew would be a fork.
        raise StoreError(
            f"Not saved: {chain.shop} holds no folder '{FOLDER}'.",
            "The draft is kept. Look whether the shop folder is reachable; a new one is made with 'preflight init'.",
        )
    if signer is None and registers(chain.shop):
        raise StoreError("Not saved: this shop has people, and here nothing is saved unsigned.", "Sign it with a key.")
    try:
        chain.folder.mkdir(exist_ok=True)
        with _advisory_lock(chain.folder):
            head = chain.head(accept_damaged=accept_damaged)
            if since is not None:
                if head.sequence < since:
                    raise StoreError(
                        f"Not saved: the newest record is number {head.sequence}, number {since} was there before.",
                        "The draft is kept. Records are missing from the shop folder: a lead looks for them first.",
                    )
                if there := _saved_before(chain, head, since, record_id, signer):
                    return Saved(chain.path(there.sequence), there, was_there=True)
            return _append(chain, head, body, record_id, signer, token, accept_damaged)
    except OSError as error:
        raise StoreError(*_in_words(error, chain.folder)) from error


def sweep(chain: Chain, now: datetime) -> int:
    """Remove temporary files older than a day, left over by kills. `now` has an offset. Returns how many."""
    removed = 0
    for thousand in thousands(chain.folder):
        for path in (chain.folder / f"{thousand:05d}").glob(".*.tmp"):
            with contextlib.suppress(OSError):  # another terminal may sweep at the same time
                if now.timestamp() - path.stat().st_mtime > STALE_SECONDS:
                    path.unlink()
                    removed += 1
    return removed


def _append(
    chain: Chain,
    head: Head,
    body: Callable[[Head], bytes],
    record_id: str,
    signer: Signer | None,
    token: str,
    accept_damaged: bool,
) -> Saved:
    for _ in range(_TRIES):
        number = head.sequence + 1
        if number > LAST_SEQUENCE:
            raise StoreError(f"Not saved: the chain has no number after {LAST_SEQUENCE}.", "The draft is kept.")
        content = body(head)
        heading = read_content(content).heading  # what cannot be read back as a record is never saved
        if heading.id != record_id:
            raise ValueError("the body's [record] does not hold the record id")
        if wrong_place := misplaced(chain.machine, heading.kind):
            raise ValueError(wrong_place)
        data = seal(content, machine=chain.machine, sequence=number, previous=head.sha256, signer=signer)
        final = chain.path(number)
        if number == 1 or number % 1000 == 0:
            _make_folder(final.parent)
        temporary = final.with_name(f".{record_id}.{token}.tmp")
        write_durably(temporary, data)
        try:
            published = _publish_or_recognise(temporary, final, data)
        finally:
            with contextlib.suppress(OSError):  # a left-over name harms nothing and is swept later
                temporary.unlink(missing_ok=True)
        if published:
            new = Head(chain.machine, number, hashlib.sha256(data).hexdigest())
            return Saved(final, new, durable=_sync(final.parent))
        # The listing of a network folder can lag behind the name that was just found taken.
        head = chain.read_head(max(number, newest(chain.folder)), accept_damaged=accept_damaged)
    raise StoreError("Not saved: other terminals were always faster.", "The draft is kept. Try again.")


def _saved_before(chain: Chain, head: Head, since: int, record_id: str, signer: Signer | None) -> Head | None:
    """The record of that id and that signer among those after number `since`: an earlier try had saved it.

    A stranger can put the id of a draft into a file of their own; the signature is what they cannot put there.
    """
    if head.sequence == since:
        return None
    with chain.files() as files:
        for number in range(head.sequence, since, -1):
            try:
                record = read_record(files.read(number), None, chain.machine, number)
            except OSError:
                continue
            sealed, content = record.sealed, record.content
            if sealed is None or content is None or content.heading.id != record_id:
                continue
            if sealed.signature == (signer.sign(sealed.signed) if signer else b""):
                return Head(chain.machine, number, sealed.sha256)
    return None


def _publish_or_recognise(temporary: Path, final: Path, data: bytes) -> bool:
    """As `publish`, but a file of our bytes under the name counts as published, whatever the answer was."""
    try:
        return publish(temporary, final) or _holds(final, data) is True
    except NotOfferedError as error:
        raise StoreError(
            f"Not saved: the folder {final.parent} cannot publish a file without the risk of replacing another one.",
            "The draft is kept. Keep the shop folder on a disk with hard links, as ordinary local disks have.",
        ) from error
    except OSError as error:
        there = _holds(final, data)
        if there is None:
            raise StoreError(
                f"The folder {final.parent} has gone while saving: it is not known whether the record was saved.",
                "The draft is kept. When the folder is back, sign again: a record that got through is not saved twice.",
            ) from error
        if there:
            return True
        raise


def _holds(final: Path, data: bytes) -> bool | None:
    """Whether the file is there with these bytes; None when that cannot be found out."""
    try:
        return final.read_bytes() == data
    except FileNotFoundError:
        return False if final.parent.is_dir() else None
    except OSError:
        return None


def _make_folder(folder: Path) -> None:
    """The folder for the first record in it. Synced even when it is there: who made it may have been killed."""
    folder.mkdir(exist_ok=True)
    sync_folder(folder.parent)
    sync_folder(folder.parent.parent)


def _sync(folder: Path) -> bool:
    try:
        sync_folder(folder)
    except OSError:
        return False
    return True


@contextlib.contextmanager
def _advisory_lock(folder: Path) -> Iterator[None]:
    """The chain's lock, if the system has one and it comes free within two seconds. Never needed to be correct."""
    with (folder / ".lock").open("ab") as file:  # closing the file gives the lock back, and so does a kill
        for _ in range(_LOCK_POLLS):
            if try_lock(file) is not Lock.TAKEN:
                break
            time.sleep(_LOCK_POLL_SECONDS)
        yield


def _in_words(error: OSError, folder: Path) -> tuple[str, str]:
    """Message and hint for a save that failed."""
    kept = "Nothing was saved and the draft is kept."
    if error.errno in _FULL:
        return "Not saved: the disk is full.", f"{kept} Make room, then sign again."
    if error.errno in _DENIED:
        return f"Not saved: the folder {folder} cannot be written to.", f"{kept} Ask for the right to write there."
    if error.errno in _GONE:
        return f"Not saved: the folder {folder} has gone.", f"{kept} Look whether the disk or network share is there."
    return f"Not saved: {error.strerror or error}.", f"{kept} Try again."
