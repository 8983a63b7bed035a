"""The draft of a start-up: what was entered so far, on disk at every change.

Two files. The draft itself is replaced at every change, without waiting for the disk: a crash of the program loses at
most the last keystroke. A safe copy follows from a thread, at most once a second, and waits for the disk: a power cut
loses at most the last second. Both carry a count of changes, and opening takes the higher one that can be read.

JSON, not TOML: a change is written between two keystrokes, which the C encoder does in microseconds where TOML takes
milliseconds, and a draft needs the "nothing yet" that TOML lacks. A draft is never sealed and lives for one shift.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import re
from dataclasses import asdict, dataclass
from typing import IO, TYPE_CHECKING, Any

from preflight.checklist.lock import Lock, try_lock
from preflight.checklist.safe_copy import SafeCopy, cannot_be_kept
from preflight.checklist.seal import is_machine_id
from preflight.disk import Folder, RefusedError
from preflight.errors import OWN_FAILURE, PreflightError
from preflight.outside_text import shown_in

if TYPE_CHECKING:
    from pathlib import Path

LARGEST_DRAFT = 2_000_000
"""Bytes; one of ours has some ten thousand."""
LARGEST_LOCK = 10_000
"""Bytes of a lock file that are read."""

_LAYOUT = 1
UNNAMED = "another terminal"
"""In place of a name in `Holder.who` while nobody has given one."""


@dataclass(frozen=True)
class Holder:
    """The terminal that has a draft open."""

    who: str
    """Name of the person, or of the terminal while nobody has given a name."""
    host: str
    """Host name."""
    pid: int
    """Process id on that host."""
    since: str
    """Local date and time, as shown."""


class DraftError(PreflightError):
    """A draft that cannot be opened or written."""


class DraftHeldError(DraftError):
    """Another terminal has the draft."""

    def __init__(self, machine: str, holder: Holder | None) -> None:
        by = (
            f"{holder.who} on {holder.host} since {holder.since} (process {holder.pid})"
            if holder
            else "another terminal"
        )
        super().__init__(
            f"The draft of {machine} is open already: {by}.", "Go on there, or close it there and open it here."
        )
        self.holder = holder
        """Who has it; None when the other terminal has not said."""


class Draft:
    """The open draft of one machine. Make it with `Draft.open`; one process holds it until `close` or its end.

    Not for use from several threads at once.
    """

    def __init__(self, folder: Path, machine: str, lock: IO[bytes] | None, sync_seconds: float) -> None:
        self.path = folder / f"{machine}.json"
        """The draft file."""
        self.content: dict[str, Any] | None = None
        """What the draft held when it was opened; None when there was none. `change` does not touch it."""
        self.notices: tuple[str, ...] = ()
        """Sentences about what happened on opening, for the operator."""
        self._folder = folder
        self._machine = machine
        self._lock = lock
        self._open = True
        self._changes = 0
        self._safe = SafeCopy(folder, machine, sync_seconds)

    @classmethod
    def open(cls, folder: Path, machine: str, holder: Holder, *, sync_seconds: float = 1.0) -> Draft:
        """Take the draft of a machine, and read it if there is one. `folder` must exist.

        An unreadable draft is set aside under another name, never deleted, and `notices` says so.
        DraftHeldError when another terminal has it; DraftError when the folder cannot be used.
        """
        if not is_machine_id(machine):
            raise ValueError(f"not a machine id: {machine!r}")
        with contextlib.ExitStack() as on_failure:
            try:
                with _opened(folder) as files:
                    lock, trouble = _lock_file(files, f".{machine}.lock")
                    if lock is not None:
                        on_failure.enter_context(lock)
                    draft = cls(folder, machine, lock, sync_seconds)
                    draft._take(holder, trouble)
                    _sweep(files, machine)
                    draft._read(files)
            except OSError as error:
                raise DraftError(*cannot_be_kept(error, folder)) from error
            on_failure.pop_all()
        return draft

    def change(self, content: dict[str, Any]) -> None:
        """Put `content` in place of what the draft held; on return a crash no longer loses it.

        Content is text, numbers, true/false, None, lists and dicts with text keys.
        DraftError when it cannot be written; the file then still holds the change before.
        """
        if not self._open:
            raise DraftError("The draft was closed already.", exit_status=OWN_FAILURE)
        _require_plain(content)
        self._changes += 1
        data = _encode(self._machine, self._changes, content)
        try:
            with _opened(self._folder) as files:
                files.replace(self.path.name, data, durable=False)
        except OSError as error:
            raise DraftError(*cannot_be_kept(error, self._folder)) from error
        self._safe.follow(data)

    @property
    def trouble(self) -> str:
        """Why the last safe copy failed, as a sentence; empty when all is well."""
        return self._safe.trouble

    def close(self) -> None:
        """Finish the safe copy and let the draft go; it stays on disk to be resumed."""
        self._safe.stop()
        self._open = False
        if self._lock is not None and not self._lock.closed:
            with contextlib.suppress(OSError):
                self._lock.truncate(0)
            self._lock.close()

    def put_aside(self) -> None:
        """Keep a draft whose content makes no sense under another name, and say so in `notices`."""
        self._safe.stop(drop=True)
        try:
            with _opened(self._folder) as files:
                _remove(files, self._safe.path.name)
                aside = _set_aside(files, self.path.name)
        except OSError as error:
            raise DraftError(*cannot_be_kept(error, self._folder)) from error
        self._safe = SafeCopy(self._folder, self._machine, self._safe.seconds)
        self.content = None
        self.notices += (f"A draft could not be read. It was kept as {aside}.",)

    def discard(self) -> None:
        """Remove the draft, after its record was saved, and let it go."""
        self._safe.stop(drop=True)
        try:
            with _opened(self._folder) as files:
                _remove(files, self._safe.path.name)  # first: alone it would bring back an older draft
                _remove(files, self.path.name)
                files.sync()
        except OSError as error:
            raise DraftError(*cannot_be_kept(error, self._folder)) from error
        finally:
            self.close()

    def _take(self, holder: Holder, trouble: str) -> None:
        """Lock it and put our name in. `trouble`: why there is no file to lock."""
        answer = try_lock(self._lock) if self._lock is not None else Lock.NOT_OFFERED
        if answer is Lock.TAKEN:
            raise DraftHeldError(self._machine, read_holder(self._lock) if self._lock is not None else None)
        if answer is Lock.NOT_OFFERED:
            why = f"{trouble}: take it away." if trouble else "This folder has no locks."
            self.notices += (f"{why} Open this machine's draft on one terminal only.",)
        if self._lock is not None:
            self._lock.seek(0)
            self._lock.truncate()
            self._lock.write(json.dumps(asdict(holder)).encode())

    def _read(self, files: Folder) -> None:
        best: tuple[int, dict[str, Any]] | None = None
        for name in (self.path.name, self._safe.path.name):
            try:
                found = decoded(files.read(name, LARGEST_DRAFT), self._machine)
            except FileNotFoundError:
                continue
            except RefusedError:
                found = None
            if found is None:
                aside = _set_aside(files, name)
                self.notices += (f"A draft could not be read. It was kept as {aside}.",)
            elif best is None or found[0] > best[0]:
                best = found
        if best:
            self._changes, self.content = best
            if self.notices and files.entry(self.path.name) is None:
                self.notices += ("The copy of a moment before was opened: check the last entries.",)


def read_holder(lock: IO[bytes]) -> Holder | None:
    """Who wrote itself into an open lock file; None when nobody did, or not to the end."""
    try:
        lock.seek(0)
        holder = Holder(**shown_in(json.loads(lock.read(LARGEST_LOCK))))
    except (OSError, ValueError, TypeError, RecursionError):  # it may be writing it at this moment
        return None
    plain = all(isinstance(text, str) for text in (holder.who, holder.host, holder.since)) and type(holder.pid) is int
    return holder if plain else None


def _opened(folder: Path) -> Folder:
    """The folder of drafts, which is no link in the shop."""
    return Folder.open(folder.parent, folder.name)


def _lock_file(files: Folder, name: str) -> tuple[IO[bytes] | None, str]:
    """The open lock file; None and why where something else lies under its name, which stops no start-up."""
    try:
        # The lock file is never deleted: a second terminal may have it open already.
        return files.open_kept(name), ""
    except RefusedError as error:
        return None, f"{files.path / name} {error.strerror}"


def _sweep(files: Folder, machine: str) -> None:
    """Remove what a kill left half-written; we hold the draft, so nobody is writing it."""
    left_over = re.compile(rf"\.{re.escape(machine)}(\.safe)?\.json\.[0-9a-f]+\.tmp")
    for entry in files.entries():
        if left_over.fullmatch(entry.name):
            with contextlib.suppress(OSError):
                files.remove(entry.name)


def _encode(machine: str, changes: int, content: dict[str, Any]) -> bytes:
    document = {"layout": _LAYOUT, "machine": machine, "changes": changes, "content": content}
    return json.dumps(document, ensure_ascii=True, allow_nan=False).encode()


def decoded(data: bytes, machine: str) -> tuple[int, dict[str, Any]] | None:
    """Count of changes and content of a draft's bytes; None when they are no draft of this machine."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        return None
    if not isinstance(document, dict) or document.get("layout") != _LAYOUT or document.get("machine") != machine:
        return None
    changes, content = document.get("changes"), document.get("content")
    if type(changes) is not int or not isinstance(content, dict):
        return None
    return changes, content


def _remove(files: Folder, name: str) -> None:
    with contextlib.suppress(FileNotFoundError):
        files.remove(name)


def _set_aside(files: Folder, name: str) -> str:
    """Rename to the first free name; we hold the draft, so nobody else takes it meanwhile."""
    for number in itertools.count(1):
        aside = f"{name.removeprefix('.')}.unreadable-{number}"
        if files.entry(aside) is None:
            files.rename(name, aside)
            return aside
    raise AssertionError("itertools.count ends")


def _require_plain(value: Any) -> None:
    """JSON would turn a number used as a key into text, silently; here that is an error."""
    if isinstance(value, dict):
        for key, item in value.items():
            if type(key) is not str:
                raise DraftError(f"A draft's keys are text, not {key!r}.", exit_status=OWN_FAILURE)
            _require_plain(item)
    elif isinstance(value, list):
        for item in value:
            _require_plain(item)
    elif not (value is None or type(value) in (str, int, bool) or (type(value) is float and value - value == 0)):
        raise DraftError(f"A draft cannot hold {value!r}.", exit_status=OWN_FAILURE)
