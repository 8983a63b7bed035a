"""Stops that nobody may pass and that were called mistyped at a start-up: who said so, and who has seen it since."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.audit.queries import Filter, page, referring
from preflight.checks.running.repairs import CLEARED, MISTYPED

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator

    from preflight.audit.queries import Listed

ROW = "repair."
"""Before the subject of a stop, the key of the answers that say what was done about it."""
MOST = 50
"""Start-ups of a machine that are looked through, the newest first."""


@dataclass(frozen=True, slots=True)
class CalledMistyped:
    """One stop, at one start-up."""

    record: Listed
    """The start-up."""
    statement: str
    """What was read first, who called it mistyped, what was read then."""
    beside: tuple[Listed, ...] = ()
    """Who signed beneath that start-up."""

    @property
    def settled(self) -> bool:
        """Whether a lead released it, or has signed beneath it since."""
        return self.record.role == "lead" or any(one.role == "lead" for one in self.beside)


def called_mistyped(connection: sqlite3.Connection, machine: str, since: int) -> Iterator[CalledMistyped]:
    """Those of a machine's start-ups after that moment, newest first."""
    for start_up in page(connection, Filter(machine=machine, kind="startup", since=since), rows=MOST):
        if subjects := _subjects(connection, start_up):
            signed = [one for one in referring(connection, machine, start_up.sequence) if one.kind == "countersign"]
            for statement in _statements(connection, start_up, subjects):
                yield CalledMistyped(start_up, statement, tuple(signed))


def _subjects(connection: sqlite3.Connection, start_up: Listed) -> set[str]:
    """Subjects of the stops that its answers call mistyped."""
    sql = "SELECT entries FROM answers WHERE machine = ? AND sequence = ?"
    row = connection.execute(sql, (start_up.machine, start_up.sequence)).fetchone()
    answers = {key: text for key, text, *_ in json.loads(row[0])} if row else {}
    said = (key for key, text in answers.items() if key.startswith(ROW) and text.casefold().startswith(MISTYPED))
    return {key.removeprefix(ROW).rpartition(".")[0] for key in said}


def _statements(connection: sqlite3.Connection, start_up: Listed, subjects: set[str]) -> list[str]:
    """What its findings say of these stops; the subjects alone where they say nothing."""
    sql = "SELECT document FROM outlines WHERE machine = ? AND sequence = ?"
    row = connection.execute(sql, (start_up.machine, start_up.sequence)).fetchone()
    findings = json.loads(row[0]).get("findings", ()) if row else ()
    said = {one["subject"].removeprefix(CLEARED): one["statement"] for one in findings if "statement" in one}
    return [said.get(subject, f"{subject}.") for subject in sorted(subjects)]
