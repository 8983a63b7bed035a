"""Where eyes and cursor belong: the row that stops or is open, the answer to look at twice, the slip to ask about.

Pure functions on a `Run`; the run screen moves by them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.quantities import Quantity, QuantityError, parse
from preflight.tui.rows import SLIPPED, Row

if TYPE_CHECKING:
    from preflight.tui.run import Run


def row_in_the_way(run: Run, station_id: str) -> str:
    """Key of the first row of a station that stops, else is open, else is a caution of which nothing is done.

    Of rows that stand alike one that waits for its answer goes before one that has it, and that before one that is
    only shown. Empty when nothing stands in the way there.
    """
    rows = run.rows(station_id)
    urgent = [(_urgency(run, station_id, row), row.asked, _waits(run, row)) for row in rows]
    worst = max(urgent, default=(0, False, False))
    return rows[urgent.index(worst)].key if worst[0] else ""


def first_in_the_way(run: Run) -> tuple[str, str]:
    """The first station that keeps the run from being signed, and its row; two empty words when none does."""
    for station in run.stations:
        if run.blocks(station.id) or any(not run.action(station.id, one) for one in run.cautions(station.id)):
            return station.id, row_in_the_way(run, station.id)
    return "", ""


def _urgency(run: Run, station_id: str, row: Row) -> int:
    """3 stopped, 2 open, 1 a caution without an action, 0 nothing to do."""
    found = run.finding(row, station_id)
    verdict = found.verdict if found is not None else Verdict.OK
    if verdict is Verdict.STOP:
        return 3
    if verdict is Verdict.OPEN or row.key in run.unread or _waits(run, row):
        return 2
    return int(found is not None and _undone(run, station_id, found))


def _waits(run: Run, row: Row) -> bool:
    return run.asks(row) and not run.typed.get(row.key, "").strip()


def wants_a_look(run: Run, station_id: str, row: Row | None) -> Finding | None:
    """What an answered row is to be looked at for before one goes on: a stop, a doubted reading, an undone caution."""
    if row is None or not row.asked or not run.typed.get(row.key, "").strip():
        return None
    found = run.finding(row, station_id)
    if found is None:
        return None
    doubted = found.verdict is Verdict.OPEN and isinstance(found.measured, Quantity)  # read, but it cannot be right
    return found if found.verdict is Verdict.STOP or doubted or _undone(run, station_id, found) else None


def _undone(run: Run, station_id: str, found: Finding) -> bool:
    return found.verdict is Verdict.CAUTION and bool(found.actions) and not run.action(station_id, found)


def slip_meant(run: Run, station_id: str, row: Row | None) -> str:
    """The reading that was likely meant where the unit of this row's answer slipped; empty when nothing says so.

    Nothing is offered at a stop that nobody may pass: a brake that fails can coast ten times as long.
    """
    typed = run.typed.get(row.key, "").strip() if row is not None else ""
    if row is None or row.kind is None or not typed:
        return ""
    if any(no_release(one) and row.answers_for(one.subject) for one in run.findings(station_id)):
        return ""
    asked = [one for one in run.findings(station_id) if one.meant and one.subject.endswith(SLIPPED)]
    for found in asked:
        if not row.answers_for(found.subject) or not isinstance(found.measured, Quantity):
            continue
        try:  # several rows may answer for the subject: it is asked at the one that was read so
            if parse(typed, row.kind, row.unit).value == found.measured.value:
                return found.meant
        except QuantityError:
            continue
    return ""


def no_release(finding: Finding) -> bool:
    """Whether nobody may release past this finding, whoever signs."""
    return finding.verdict is Verdict.STOP and not finding.takes_override
