"""Saving a record: the commit protocol. Whatever happens, a record is whole under its number or not there at all.

Tried on ext4 and tmpfs under Linux. Untested: network shares, FAT, the Windows and macOS file systems.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import re
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.chain import FOLDER, Head, newest, relative_path, thousands
from preflight.checklist.lock import Lock, try_lock
from preflight.checklist.practice_chain import misplaced
from preflight.checklist.record import read_content, read_record, unseen_in
from preflight.checklist.register import registers
from preflight.checklist.seal import LAST_SEQUENCE, seal
from preflight.disk import Folder, RefusedError
from preflight.errors import PreflightError
from preflight.publishing import NotOfferedError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.chain import Chain
    from preflight.checklist.signing import Signer

GIT_FILE = ".gitattributes"
LARGEST_GIT_FILE = 100_000
"""Bytes."""
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


def prepare_shop(shop: Path) -> str:
    """Make the folder of checklists in an existing shop folder, and its `.gitattributes` line. StoreError else.

    Returns why that line could not be written, where something that is no file lies under that name.
    """
    try:
        with Folder.open(shop) as files:
            files.folder(FOLDER, make=True).close()
            notice = _add_git_rule(files)
            files.sync()
    except OSError as error:
        raise StoreError(*_in_words(error, shop)) from error
    return notice


def _add_git_rule(files: Folder) -> str:
    try:
        text = files.read(GIT_FILE, LARGEST_GIT_FILE)
    except FileNotFoundError:
        text = b""
    except RefusedError as error:
        return f"{files.path / GIT_FILE} {error.strerror}: version control may change line ends of saved records."
    if GIT_RULE.encode() not in text.splitlines():
        files.replace(GIT_FILE, text + (b"\n" if text and not text.endswith(b"\n") else b"") + f"{GIT_RULE}\n".encode())
    return ""


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
    try:
        with contextlib.ExitStack() as opened:
            chains = opened.enter_context(_chains_of(chain.shop))
            if signer is None and registers(chain.shop):
                text = "Not saved: this shop has people, and here nothing is saved unsigned."
                raise StoreError(text, "Sign it with a key.")
            folder = opened.enter_context(chains.folder(chain.machine, make=True))
            opened.enter_context(_advisory_lock(folder))
            head = chain.head(accept_damaged=accept_damaged)
            if since is not None:
                if head.sequence < since:
                    raise StoreError(
                        f"Not saved: the newest record is number {head.sequence}, number {since} was there before.",
                        "The draft is kept. Records are missing from the shop folder: a lead looks for them first.",
                    )
                if there := _saved_before(chain, head, max(0, since), record_id, signer):
                    return Saved(chain.path(there.sequence), there, was_there=True)
            return _append(chain, folder, head, body, record_id, signer, token, accept_damaged)
    except OSError as error:
        raise StoreError(*_in_words(error, chain.folder)) from error


def _chains_of(shop: Path) -> Folder:
    """The folder of checklists. StoreError where there is none."""
    try:
        return Folder.open(shop, FOLDER)
    except FileNotFoundError as error:
        # An unmounted share leaves its empty mount point: a chain begun there anew would be a fork.
        raise StoreError(
            f"Not saved: {shop} holds no folder '{FOLDER}'.",
            "The draft is kept. Look whether the shop folder is reachable; a new one is made with 'preflight init'.",
        ) from error


def sweep(chain: Chain, now: datetime) -> int:
    """Remove temporary files older than a day, left over by kills. `now` has an offset. Returns how many."""
    removed = 0
    for thousand in thousands(chain.folder):
        with Folder.open(chain.shop, FOLDER, chain.machine, f"{thousand:05d}") as files:
            for entry in files.entries():
                if not (entry.name.startswith(".") and entry.name.endswith(".tmp")):
                    continue
                with contextlib.suppress(OSError):  # another terminal may sweep at the same time
                    if now.timestamp() - files.changed(entry.name) > STALE_SECONDS:
                        files.remove(entry.name)
                        removed += 1
    return removed


def _append(
    chain: Chain,
    folder: Folder,
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
        if hiding := unseen_in(content):
            raise StoreError(f"Not saved: {hiding}", "The draft is kept. Type it again without.")
        if heading.id != record_id:
            raise ValueError("the body's [record] does not hold the record id")
        if wrong_place := misplaced(chain.machine, heading.kind):
            raise ValueError(wrong_place)
        data = seal(content, machine=chain.machine, sequence=number, previous=head.sha256, signer=signer)
        with _folder_of(folder, number) as files:
            temporary = f".{record_id}.{token}.tmp"
            files.write_new(temporary, data)
            try:
                published = _publish_or_recognise(files, temporary, chain, number, data)
            finally:
                with contextlib.suppress(OSError):  # a left-over name harms nothing and is swept later
                    files.remove(temporary)
            if published and _holds(chain, number, data) is not True:
                raise _unknown(files)  # the folder that was held is not the one that lies there now
            if published:
                new = Head(chain.machine, number, hashlib.sha256(data).hexdigest())
                return Saved(chain.path(number), new, durable=_sync(files))
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


def _publish_or_recognise(files: Folder, temporary: str, chain: Chain, number: int, data: bytes) -> bool:
    """As `publish`, but a file of our bytes under the name counts as published, whatever the answer was."""
    try:
        return files.publish(temporary, chain.path(number).name) or _holds(chain, number, data) is True
    except NotOfferedError as error:
        raise StoreError(
            f"Not saved: the folder {files.path} cannot publish a file without the risk of replacing another one.",
            "The draft is kept. Keep the shop folder on a disk with hard links, as ordinary local disks have.",
        ) from error
    except OSError as error:
        there = _holds(chain, number, data)
        if there is None:
            raise _unknown(files) from error
        if there:
            return True
        raise


def _unknown(files: Folder) -> StoreError:
    return StoreError(
        f"The folder {files.path} has gone while saving: it is not known whether the record was saved.",
        "The draft is kept. When the folder is back, sign again: a record that got through is not saved twice.",
    )


def _holds(chain: Chain, number: int, data: bytes) -> bool | None:
    """Whether the record is there with these bytes; None when that cannot be found out."""
    path = chain.path(number)
    try:
        # opened anew: the folder that is held may be one that has gone
        with Folder.open(chain.shop, FOLDER, chain.machine, path.parent.name) as files:
            return files.entry(path.name) is not None and files.read(path.name, len(data)) == data
    except OSError:
        return None


def _folder_of(folder: Folder, number: int) -> Folder:
    """The folder of that number's thousand, made for the first record in it.

    Synced even when it is there: who made it may have been killed.
    """
    first = number == 1 or number % 1000 == 0
    made = folder.folder(relative_path(number).parent.name, make=first)
    if first:
        folder.sync()
    return made


def _sync(files: Folder) -> bool:
    try:
        files.sync()
    except OSError:
        return False
    return True


@contextlib.contextmanager
def _advisory_lock(folder: Folder) -> Iterator[None]:
    """The chain's lock, if the system has one and it comes free within two seconds. Never needed to be correct."""
    with contextlib.ExitStack() as held:
        with contextlib.suppress(OSError):  # another's, or no file at all: then without it
            file = held.enter_context(folder.open_kept(".lock"))  # closing it gives the lock back, and so does a kill
            for _ in range(_LOCK_POLLS):
                if try_lock(file) is not Lock.TAKEN:
                    break
                time.sleep(_LOCK_POLL_SECONDS)
        yield


def _in_words(error: OSError, folder: Path) -> tuple[str, str]:
    """Message and hint for a save that failed."""
    kept = "Nothing was saved and the draft is kept."
    if isinstance(error, RefusedError):
        return f"Not saved: {error.filename} {error.strerror}.", f"{kept} A lead looks who put it there."
    if error.errno in _FULL:
        return "Not saved: the disk is full.", f"{kept} Make room, then sign again."
    if error.errno in _DENIED:
        return f"Not saved: the folder {folder} cannot be written to.", f"{kept} Ask for the right to write there."
    if error.errno in _GONE:
        return f"Not saved: the folder {folder} has gone.", f"{kept} Look whether the disk or network share is there."
    return f"Not saved: {error.strerror or error}.", f"{kept} Try again."
