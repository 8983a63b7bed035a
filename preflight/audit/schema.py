"""The index's tables, made by named steps; a step that was done is never done again and never edited."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import sqlite3

STEPS: tuple[tuple[str, str], ...] = (
    (
        "0001 records, readings, answers",
        """
        CREATE TABLE records (
            at INTEGER NOT NULL, machine TEXT NOT NULL, sequence INTEGER NOT NULL,
            kind TEXT NOT NULL, person TEXT NOT NULL, role TEXT NOT NULL, verdict TEXT NOT NULL,
            local TEXT NOT NULL, day TEXT NOT NULL, job TEXT NOT NULL, about TEXT NOT NULL,
            refers TEXT NOT NULL, key_id TEXT NOT NULL, sha256 TEXT NOT NULL,
            PRIMARY KEY (machine, sequence)
        ) WITHOUT ROWID;
        CREATE INDEX by_time ON records (at, machine, sequence);
        CREATE INDEX by_machine ON records (machine, at, sequence);
        CREATE INDEX by_person ON records (person, at, machine, sequence);
        CREATE INDEX by_verdict ON records (verdict, at, machine, sequence);
        CREATE INDEX by_kind ON records (kind, at, machine, sequence);
        CREATE TABLE readings (
            machine TEXT NOT NULL, series TEXT NOT NULL, at INTEGER NOT NULL, sequence INTEGER NOT NULL,
            value REAL NOT NULL, low REAL, high REAL, unit TEXT NOT NULL, text TEXT NOT NULL,
            PRIMARY KEY (machine, series, at, sequence)
        ) WITHOUT ROWID;
        CREATE TABLE answers (
            machine TEXT NOT NULL, sequence INTEGER NOT NULL, entries TEXT NOT NULL,
            PRIMARY KEY (machine, sequence)
        ) WITHOUT ROWID;
        """,
    ),
    (
        "0002 what was found, belts, runs, files that cannot be read",
        """
        CREATE TABLE faults (
            machine TEXT NOT NULL, sequence INTEGER NOT NULL, station TEXT NOT NULL, subject TEXT NOT NULL,
            verdict TEXT NOT NULL, statement TEXT NOT NULL, overridable INTEGER NOT NULL,
            PRIMARY KEY (machine, sequence, station, subject, verdict)
        ) WITHOUT ROWID;
        CREATE TABLE belts (
            machine TEXT NOT NULL, sequence INTEGER NOT NULL, at INTEGER NOT NULL,
            head TEXT NOT NULL, card TEXT NOT NULL, backing TEXT NOT NULL, grit TEXT NOT NULL,
            PRIMARY KEY (machine, sequence, head)
        ) WITHOUT ROWID;
        CREATE TABLE runs (
            machine TEXT NOT NULL, sequence INTEGER NOT NULL, at INTEGER NOT NULL, content TEXT NOT NULL,
            PRIMARY KEY (machine, sequence)
        ) WITHOUT ROWID;
        CREATE TABLE unread (
            machine TEXT NOT NULL, sequence INTEGER NOT NULL, why TEXT NOT NULL,
            PRIMARY KEY (machine, sequence)
        ) WITHOUT ROWID;
        """,
    ),
    (
        "0003 what stops that stand and due items follow from",
        # what was read before lacks it: without its rows every record is read again
        """
        CREATE TABLE outlines (
            machine TEXT NOT NULL, sequence INTEGER NOT NULL, document TEXT NOT NULL,
            PRIMARY KEY (machine, sequence)
        ) WITHOUT ROWID;
        DELETE FROM records; DELETE FROM readings; DELETE FROM answers; DELETE FROM faults;
        DELETE FROM belts; DELETE FROM runs; DELETE FROM unread;
        """,
    ),
    (
        "0004 records that count for nothing, and the register that says so",
        # what was read before was not asked for its standing: every record is read again
        """
        CREATE TABLE strangers (
            at INTEGER NOT NULL, machine TEXT NOT NULL, sequence INTEGER NOT NULL,
            kind TEXT NOT NULL, person TEXT NOT NULL, role TEXT NOT NULL, verdict TEXT NOT NULL,
            local TEXT NOT NULL, day TEXT NOT NULL, job TEXT NOT NULL, about TEXT NOT NULL,
            refers TEXT NOT NULL, key_id TEXT NOT NULL, sha256 TEXT NOT NULL, why TEXT NOT NULL,
            PRIMARY KEY (machine, sequence)
        ) WITHOUT ROWID;
        CREATE TABLE register (chain TEXT NOT NULL, sequence INTEGER NOT NULL, newest INTEGER NOT NULL);
        DELETE FROM records; DELETE FROM readings; DELETE FROM answers; DELETE FROM faults;
        DELETE FROM belts; DELETE FROM runs; DELETE FROM outlines; DELETE FROM unread;
        """,
    ),
    (
        "0005 corrections that hide what they correct",
        # none was made before there was this column
        "ALTER TABLE records ADD COLUMN hides INTEGER NOT NULL DEFAULT 0",
    ),
)
TABLES = ("records", "readings", "answers", "faults", "belts", "runs", "outlines", "strangers", "unread")
LOOKED_AT = ("records", "strangers", "unread")
"""Tables of which one holds every record that was looked at."""


def migrate(connection: sqlite3.Connection) -> None:
    """Do the steps that this index has not seen yet, all or none."""
    connection.execute("CREATE TABLE IF NOT EXISTS steps (name TEXT PRIMARY KEY)")
    if _done(connection) >= {name for name, _ in STEPS}:
        return
    with connection:
        connection.execute("BEGIN IMMEDIATE")
        done = _done(connection)  # a second opener may have done them while this one waited
        for name, script in STEPS:
            if name not in done:
                for statement in script.split(";"):  # executescript would commit what is open
                    connection.execute(statement)
                connection.execute("INSERT INTO steps VALUES (?)", (name,))


def _done(connection: sqlite3.Connection) -> set[str]:
    return {name for (name,) in connection.execute("SELECT name FROM steps")}


def is_known(connection: sqlite3.Connection) -> bool:
    """Whether every step of the index is one of ours: a newer program's index is rebuilt, not guessed at."""
    return _done(connection) <= {name for name, _ in STEPS}
