"""What the bodies of records say, remembered by the SHA-256 of their files, so that none is read twice.

Reading a body takes milliseconds and gives the same answer for the same bytes for ever, and so does a signature for a
key; whose key it is and what they were then is asked of the register each time. A cache: it lies in the user's own
cache folder, never in the shop, and may be deleted at any time. What is not as it was written here, or lies where
others can write, is not believed and read again. Who can write to the user's own folders could as well change the
program.
"""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import stat
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from preflight.checklist.body_reader import BodyError
from preflight.checklist.heading import Heading
from preflight.checklist.record import Content, read_content, signature_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.checklist.seal import Sealed

APP = "widebelt-preflight"
READING = 3
"""Raised with every change of what is accepted as a record or of what is kept here: then all is read again."""
LARGEST = 300 * 2**20
"""Bytes of the file; it is begun anew beyond."""
BATCH = 500
"""Bodies that are written together."""

_TABLES = (
    "CREATE TABLE IF NOT EXISTS bodies (sha256 TEXT PRIMARY KEY, heading TEXT, short TEXT, mark TEXT) WITHOUT ROWID",
    "CREATE TABLE IF NOT EXISTS signed (sha256 TEXT PRIMARY KEY, mark TEXT) WITHOUT ROWID",
)
_KINDS: Mapping[str, Any] = {"datetime": datetime, "date": date, "time": time}


def memory_for(shop: Path, cache: Path | None = None) -> BodyMemory:
    """The memory of this user, whatever the shop: in the platform's cache folder, unless that lies in the shop."""
    if cache is None:
        import platformdirs

        cache = Path(platformdirs.user_cache_dir(APP, appauthor=False))
    return BodyMemory(None if cache.resolve().is_relative_to(shop.resolve()) else cache / "records" / "bodies.sqlite3")


class BodyMemory:
    """One opener. Use it from one thread at a time, and close it. Without a path nothing outlives it."""

    def __init__(self, path: Path | None = None) -> None:
        self._contents: dict[str, Content] = {}
        self._new: dict[str, tuple[str, str | None]] = {}
        self._signed: dict[str, str] = {}
        self._connection = _opened(path) if path is not None else None

    def __enter__(self) -> BodyMemory:
        return self

    def __exit__(self, *_error: object) -> None:
        self.close()

    def close(self) -> None:
        """Keep what is new and close the file."""
        self._write()
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def heading(self, sealed: Sealed) -> Heading | str:
        """What the body of a record prints of it, or why that cannot be read."""
        row = self._row(sealed.sha256)
        return row[0] if row else self._read(sealed, keep=False)

    def content(self, sealed: Sealed) -> Content | str:
        """The same with what follows from the record later on: `short_of` its document."""
        known = self._contents.get(sealed.sha256)
        if known is not None:
            return known
        row = self._row(sealed.sha256)
        if row is not None and isinstance(row[0], str):
            return row[0]
        if row is not None and isinstance(row[0], Heading) and row[1] is not None:
            known = self._contents[sealed.sha256] = Content(row[0], row[1])
            return known
        read = self._read(sealed, keep=True)
        return read if isinstance(read, str) else self._contents[sealed.sha256]

    def fits(self, sealed: Sealed, public: bytes) -> bool:
        """Whether it carries the signature of the holder of that key, which the seal names; noted when it does."""
        mark = _mark(sealed.sha256, public.hex(), None)
        if self._connection is not None:
            try:
                row = self._connection.execute("SELECT mark FROM signed WHERE sha256 = ?", (sealed.sha256,)).fetchone()
            except sqlite3.Error:
                row = None
            if row == (mark,):
                return True
        fits = signature_of(sealed, public)
        if fits:
            self._signed[sealed.sha256] = mark
        return fits

    def _read(self, sealed: Sealed, *, keep: bool) -> Heading | str:
        try:
            content = read_content(sealed.body)
        except BodyError as error:
            self.remember(sealed.sha256, error.message, None)
            return error.message
        short = None
        if keep:
            self._contents[sealed.sha256] = Content(content.heading, short_of(content.document))
            short = json.dumps(short_of(content.document), default=_plain, ensure_ascii=False, separators=(",", ":"))
        self.remember(sealed.sha256, content.heading, short)
        return content.heading

    def remember(self, sha256: str, heading: Heading | str, short: str | None = None) -> None:
        """Note what was read; written in portions."""
        self._new[sha256] = (_written(heading), short)
        if len(self._new) >= BATCH:
            self._write()

    def _write(self) -> None:
        rows = [(sha, heading, short, _mark(sha, heading, short)) for sha, (heading, short) in self._new.items()]
        signed = list(self._signed.items())
        self._new.clear()
        self._signed.clear()
        if self._connection is None or not (rows or signed):
            return
        try:
            with self._connection:
                self._connection.executemany("INSERT OR REPLACE INTO bodies VALUES (?, ?, ?, ?)", rows)
                self._connection.executemany("INSERT OR REPLACE INTO signed VALUES (?, ?)", signed)
        except sqlite3.Error:  # busy, full or damaged: it is found out again the next time
            return

    def _row(self, sha256: str) -> tuple[Heading | str, dict[str, Any] | None] | None:
        if self._connection is None:
            return None
        try:
            found = self._connection.execute(
                "SELECT heading, short, mark FROM bodies WHERE sha256 = ?", (sha256,)
            ).fetchone()
        except sqlite3.Error:
            return None
        if found is None:
            return None
        heading, short, mark = found
        try:
            if mark != _mark(sha256, heading, short):
                return None
            return _heading(json.loads(heading)), json.loads(short, object_hook=_table) if short is not None else None
        except (ValueError, TypeError, KeyError):
            return None


def short_of(document: Mapping[str, Any]) -> dict[str, Any]:
    """A record without what nothing later follows from: the limits of its day, and what was found in order.

    Findings of a stop, and those that a repair cleared, stay with their station and subject; answers without what stood
    there before.
    """
    from preflight.checks.running.repairs import CLEARED  # late: it loads the sheet's model

    short = {key: value for key, value in document.items() if key not in ("limits", "findings", "entries", "profiles")}
    if "entries" in document:
        short["entries"] = [{key: entry[key] for key in ("key", "text", "at")} for entry in document["entries"]]
    if "findings" in document:
        short["findings"] = [
            {key: finding[key] for key in ("check", "subject", "verdict", "statement", "takes_override")}
            for finding in document["findings"]
            if finding["verdict"] == "stop" or finding["subject"].startswith(CLEARED)
        ]
    return short


def _opened(path: Path) -> sqlite3.Connection | None:
    """The file, made where there is none; None where it would not be ours alone or cannot be opened."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not (_ours(path.parent, folder=True) and (not os.path.lexists(path) or _ours(path, folder=False))):
            return None
        if path.exists() and path.stat().st_size > LARGEST:
            path.unlink()
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    except OSError:
        return None
    for _ in range(2):
        try:
            return _connected(path)
        except sqlite3.OperationalError:
            return None
        except sqlite3.DatabaseError:  # damaged: begun anew, once
            try:
                path.unlink(missing_ok=True)
            except OSError:
                return None
    return None


def _connected(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=0.5, check_same_thread=False)
    try:
        connection.execute("PRAGMA synchronous = OFF")  # a cache: after a power cut it is made anew
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        with connection:
            if version != READING:
                connection.execute("DROP TABLE IF EXISTS bodies")
                connection.execute("DROP TABLE IF EXISTS signed")
                connection.execute(f"PRAGMA user_version = {READING}")
            for table in _TABLES:
                connection.execute(table)
        connection.execute("SELECT * FROM bodies, signed LIMIT 1").fetchall()
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _ours(path: Path, *, folder: bool) -> bool:
    """Whether nobody but this user writes there, where the system tells."""
    found = path.stat() if folder else path.lstat()
    if not (stat.S_ISDIR(found.st_mode) if folder else stat.S_ISREG(found.st_mode)):
        return False
    return os.name == "nt" or (found.st_uid == os.geteuid() and not found.st_mode & 0o022)


def _mark(sha256: str, heading: str, short: str | None) -> str:
    return hashlib.sha256("\0".join((str(READING), sha256, heading, short or "")).encode()).hexdigest()[:16]


def _written(heading: Heading | str) -> str:
    if isinstance(heading, str):
        return json.dumps(heading)
    return json.dumps([heading.kind, heading.id, heading.name, heading.role, heading.utc.isoformat()])


def _heading(read: Any) -> Heading | str:
    if isinstance(read, str):
        return read
    kind, identity, name, role, utc = read
    return Heading(kind, identity, name, role, datetime.fromisoformat(utc))


def _plain(value: object) -> dict[str, str]:
    if isinstance(value, datetime | date | time):
        return {f"\0{type(value).__name__}": value.isoformat()}
    raise TypeError(f"a record holds no {type(value).__name__}")


def _table(table: dict[str, Any]) -> Any:
    if len(table) == 1:
        ((key, text),) = table.items()
        if key.startswith("\0"):
            return _KINDS[key[1:]].fromisoformat(text)
    return table
