"""Where eyes and cursor belong: the row that stops or is open, the answer to look at twice, the slip to ask about.

Pure functions on a `Run`; the run screen moves by them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.quantities import Quantity, QuantityError, parse
from preflight.tui.rows import SLIPPED, Row

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.tui.run import Run


@dataclass(frozen=True, slots=True)
class Look:
    """That Enter stayed at an answer, so that it is looked at before one goes on."""

    key: str
    answer: str
    subjects: tuple[str, ...] = ()
    """Subjects of the findings that were shown there so far, the one shown now last."""

    def holds(self, run: Run, key: str) -> bool:
        """Whether it is that row and its answer still."""
        return (key, run.typed.get(key, "").strip()) == (self.key, self.answer)


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
        if run.blocks(station.id) or undone_cautions(run, station.id):
            return station.id, row_in_the_way(run, station.id)
    return "", ""


def _urgency(run: Run, station_id: str, row: Row) -> int:
    """3 stopped, 2 open, 1 a caution without an action, 0 nothing to do."""
    findings = findings_of(run, station_id, row)
    verdict = max((finding.verdict for finding in findings), default=Verdict.OK)
    if verdict is Verdict.STOP:
        return 3
    if verdict is Verdict.OPEN or row.key in run.unread or _waits(run, row):
        return 2
    return int(any(_undone(run, station_id, finding) for finding in findings))


def _waits(run: Run, row: Row) -> bool:
    return run.asks(row) and (not run.typed.get(row.key, "").strip() or row.key in run.half)


def findings_of(run: Run, station_id: str, row: Row) -> list[Finding]:
    """All findings that a row answers for, the worst first."""
    return [finding for finding in run.findings(station_id) if row.answers_for(finding.subject)]


def row_of(run: Run, finding: Finding, rows: Iterable[Row]) -> Row | None:
    """Of a station's `rows` the one that a finding belongs to.

    The one whose reading was judged; else the first that still waits for its answer, since that is what is missing;
    else the last that is answered, since only with it the finding was complete.
    """
    rows = [row for row in rows if row.answers_for(finding.subject)]
    asked = [row for row in rows if row.asked]
    read = [row for row in asked if _reads(run, row, finding.measured)]
    waiting = [row for row in asked if _waits(run, row)]
    answered = [row for row in asked if run.typed.get(row.key, "").strip()]
    return next(iter([*read, *waiting, *reversed(answered), *rows]), None)


def _reads(run: Run, row: Row, measured: Quantity | str | None) -> bool:
    """Whether the reading that was judged is the one typed in this row."""
    typed = run.typed.get(row.key, "").strip()
    if row.kind is None or not typed or not isinstance(measured, Quantity) or measured.kind is not row.kind:
        return False
    try:
        return parse(typed, row.kind, row.unit).text == measured.text
    except QuantityError:
        return False


def to_look_at(run: Run, station_id: str, row: Row | None) -> list[Finding]:
    """What an answered row is to be looked at for before one goes on: a stop or doubted reading, undone cautions.

    Only what belongs to the row: what stops another one is looked at there.
    """
    if row is None or not row.asked or not run.typed.get(row.key, "").strip():
        return []
    rows = run.rows(station_id)
    findings = [
        finding
        for finding in findings_of(run, station_id, row)
        if (owner := row_of(run, finding, rows)) is not None and owner.key == row.key
    ]
    grave = [finding for finding in findings if finding.verdict is Verdict.STOP or _doubted(finding)]
    return [*grave[:1], *(finding for finding in findings if _undone(run, station_id, finding))]


def explained(run: Run, station_id: str, row: Row | None) -> Finding | None:
    """What the panel says about a row: its worst finding; of cautions the first of which nothing is done yet."""
    findings = findings_of(run, station_id, row) if row is not None else []
    undone = [finding for finding in findings if _undone(run, station_id, finding)]
    if findings and findings[0].verdict <= Verdict.CAUTION and undone:
        return undone[0]
    return next(iter(findings), None)


def undone_cautions(run: Run, station_id: str) -> list[Finding]:
    """Cautions of a station of which nothing is done yet."""
    return [finding for finding in run.cautions(station_id) if not run.action(station_id, finding)]


def to_act_on(run: Run, station_id: str, row: Row | None, shown: Finding | None) -> Finding | None:
    """The caution to choose an action for: the one `shown`, else the row's, else the station's first without one."""
    undone = undone_cautions(run, station_id)
    if shown in undone:
        return shown
    own = [finding for finding in undone if row is not None and row.answers_for(finding.subject)]
    return next(iter([*own, *undone]), None)


def _doubted(finding: Finding) -> bool:
    """Whether something was read that cannot be right."""
    return finding.verdict is Verdict.OPEN and finding.measured is not None


def _undone(run: Run, station_id: str, finding: Finding) -> bool:
    return finding.verdict is Verdict.CAUTION and bool(finding.actions) and not run.action(station_id, finding)


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
