"""The index of a shop's records: a cache in SQLite, made from the files alone and safe to delete at any time.

Never trusted for integrity: verification reads the files. One process writes at a time, any number read.
A damaged index is thrown away and made anew; one that another program keeps locked is replaced for now by a
private one in a temporary folder. Either is said in `notices`.
"""

from __future__ import annotations

import hashlib
import sqlite3
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.audit.filling_lock import only_one
from preflight.audit.schema import LOOKED_AT, STEPS, TABLES, is_known, migrate
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.audit.record_rows import RecordRows
    from preflight.checklist.register import Register

APP = "widebelt-preflight"
WAIT = 2.0
"""Seconds that a reader or writer waits for another one."""

_WIDTHS = {
    "records": 15,
    "readings": 9,
    "answers": 3,
    "faults": 7,
    "belts": 7,
    "runs": 4,
    "outlines": 3,
    "strangers": 15,
    "unread": 3,
}


Mark = tuple[int, int, int] | None


class IndexFolderError(PreflightError):
    """There is no place where an index can be kept."""


def index_path(shop: Path, cache: Path | None = None) -> Path:
    """Where the index of that shop lies: in the cache folder, by the shop's absolute path. Makes nothing."""
    if cache is None:
        import platformdirs

        cache = Path(platformdirs.user_cache_dir(APP, appauthor=False))
    return cache / f"audit-{hashlib.sha256(str(shop.resolve()).encode()).hexdigest()[:24]}.sqlite3"


@dataclass
class Index:
    """An open index. Not shared between threads: each opens its own."""

    path: Path
    connection: sqlite3.Connection
    notices: list[str] = field(default_factory=list)
    """What a person should know: rebuilt after damage, or a private copy because of a lock."""
    private: tempfile.TemporaryDirectory[str] | None = None
    mark: Mark = None
    """The file that was opened."""

    def __post_init__(self) -> None:
        self.mark = mark_of(self.path)

    def close(self) -> None:
        """Close it; a private one is removed."""
        self.connection.close()
        if self.private is not None:
            self.private.cleanup()

    def add(self, rows: RecordRows) -> None:
        """Add or replace the rows of some records, all or none."""
        with self.connection:
            self.connection.execute("BEGIN IMMEDIATE")
            done = [(row[1], row[2]) for row in (*rows.records, *rows.strangers)]
            self.connection.executemany("DELETE FROM unread WHERE machine = ? AND sequence = ?", done)
            for table in TABLES:
                marks = ", ".join("?" * _WIDTHS[table])
                self.connection.executemany(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", getattr(rows, table))

    def judge_by(self, register: Register) -> None:
        """Take out what another register may judge otherwise than the one that this index was made by.

        A register only grows, and its new records are dated after its older ones: strangers may have been admitted
        since, and what was signed since its newest record of then may have been signed by somebody who had left. Of
        another register, or of the first one, everything is read again.
        """
        own = (register.chain, register.head.sequence, int(register.newest_at.timestamp()) if register.newest_at else 0)
        was = self.connection.execute("SELECT chain, sequence, newest FROM register").fetchone()
        if was == own:
            return
        with self.connection:
            self.connection.execute("BEGIN IMMEDIATE")
            if was is not None and was[0] == own[0] and was[1] <= own[1]:
                gone = self.connection.execute(
                    "SELECT machine, sequence FROM strangers UNION ALL SELECT machine, sequence FROM unread "
                    "UNION ALL SELECT machine, sequence FROM records WHERE at >= ? OR kind = 'late'",
                    (was[2],),
                ).fetchall()
                self._remove(gone)
            else:
                for table in TABLES:
                    self.connection.execute(f"DELETE FROM {table}")
            self.connection.execute("DELETE FROM register")
            self.connection.execute("INSERT INTO register VALUES (?, ?, ?)", own)

    def remove(self, records: Iterable[tuple[str, int]]) -> None:
        """Take records out: their files are gone."""
        with self.connection:
            self.connection.execute("BEGIN IMMEDIATE")
            self._remove(list(records))

    def _remove(self, records: list[tuple[str, int]]) -> None:
        for table in TABLES:
            self.connection.executemany(f"DELETE FROM {table} WHERE machine = ? AND sequence = ?", records)

    def clear(self) -> None:
        """Empty every table."""
        with self.connection:
            self.connection.execute("BEGIN IMMEDIATE")
            for table in TABLES:
                self.connection.execute(f"DELETE FROM {table}")

    def known(self) -> set[tuple[str, int]]:
        """Machine and number of every record that was looked at."""
        tables = " UNION ALL ".join(f"SELECT machine, sequence FROM {table}" for table in LOOKED_AT)
        return set(self.connection.execute(tables))

    def counts(self) -> dict[str, tuple[int, int]]:
        """Per machine: how many records were looked at, and the highest number."""
        found: dict[str, tuple[int, int]] = {}
        for table in LOOKED_AT:
            sql = f"SELECT machine, COUNT(*), MAX(sequence) FROM {table} GROUP BY machine"
            for machine, count, newest in self.connection.execute(sql):
                before = found.get(machine, (0, 0))
                found[machine] = (before[0] + count, max(before[1], newest))
        return found


def open_index(path: Path) -> Index:
    """Open the index, make it when it is not there, replace it when it is damaged. IndexFolderError else."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        return _private(path, f"The cache folder cannot be written ({error.strerror}): a private index is made.")
    try:
        return Index(path, _connect(path))
    except sqlite3.OperationalError as error:
        if is_busy(error):
            return _private(path, "Another program keeps the index locked: a private one is made for now.")
        return _private(path, f"The index cannot be opened ({error}): a private one is made.")
    except sqlite3.DatabaseError:
        return renewed(path, "The index was damaged and is made anew from the records.", mark_of(path))


def renewed(path: Path, notice: str, damaged: Mark) -> Index:
    """Throw the damaged index away and begin an empty one; where another opener has done so already, take that one."""
    with only_one(path) as mine:
        try:
            if mine and mark_of(path) == damaged:
                for suffix in ("", "-wal", "-shm"):
                    Path(f"{path}{suffix}").unlink(missing_ok=True)
            return Index(path, _connect(path), [notice])
        except (OSError, sqlite3.DatabaseError):
            return _private(path, f"{notice} It cannot be replaced, so a private one is made for now.")


def mark_of(path: Path) -> Mark:
    """Which file stands there: another one made in its place has another mark."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino, getattr(found, "st_birthtime_ns", 0)


def is_busy(error: sqlite3.DatabaseError) -> bool:
    """Whether an error of SQLite says that another program holds the file."""
    return isinstance(error, sqlite3.OperationalError) and any(text in str(error) for text in ("locked", "busy"))


def is_damage(error: sqlite3.DatabaseError) -> bool:
    """Whether an error of SQLite says that the file is damaged, not that it is busy."""
    if isinstance(error, sqlite3.OperationalError):
        return any(text in str(error) for text in ("no such table", "no such column", "disk I/O"))
    return type(error) is sqlite3.DatabaseError  # its other children are mistakes of ours


def _private(path: Path, notice: str) -> Index:
    folder = tempfile.TemporaryDirectory(prefix="preflight-audit-", ignore_cleanup_errors=True)
    try:
        own = Path(folder.name, path.name)
        return Index(own, _connect(own), [notice], folder)
    except sqlite3.Error as error:
        folder.cleanup()
        raise IndexFolderError(f"No index can be made: {error}.", "Look whether the disk is full.") from error


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Readers go on while one writes. SQLite itself does not wait when another opener is at this very step."""
    end = time.monotonic() + WAIT
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > end:
                raise
            time.sleep(0.01)


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
    try:
        _write_ahead(connection)
        connection.execute("PRAGMA synchronous = OFF")  # a cache: after a power cut it is made anew
        connection.execute("PRAGMA cache_size = -32000")
        migrate(connection)
        if not is_known(connection):
            raise sqlite3.DatabaseError(f"made by a newer program than this one with {len(STEPS)} steps")
        for table in TABLES:  # a page that cannot be read shows here, not in the middle of a list
            connection.execute(f"SELECT * FROM {table} LIMIT 1").fetchall()
    except sqlite3.Error:
        connection.close()
        raise
    return connection
