"""The full reason behind a station's verdict, as lines: every finding with its workings, limit, basis and source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.tui.widgets.why_panel import limit_text

if TYPE_CHECKING:
    from preflight.checks.finding import Finding
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line
    from preflight.tui.run import Run


def full_reason(run: Run, station_id: str, charset: Charset) -> list[Line]:
    """Lines of any length, to be wrapped where they are shown; the worst finding first."""
    station = run.station(station_id)
    lines: list[Line] = []
    if station.caution is not None:
        word, sentence = station.caution
        lines += [[(f" {word} ", word.lower()), (f"  {sentence}", "strong")], []]
    for key, message in run.unread.items():
        if any(row.key == key for row in run.rows(station_id)):
            lines += [[("cannot read  ", "open"), (message, "text")], []]
    for finding in run.findings(station_id):
        lines += [*_finding_lines(finding, run.action(station_id, finding), charset), []]
    return lines or [[("Nothing is judged here yet.", "dim")]]


def _finding_lines(finding: Finding, chosen: str, charset: Charset) -> list[Line]:
    verdict = finding.verdict
    role = "badge" if verdict is Verdict.STOP else f"{verdict.word} strong"
    lines: list[Line] = [[(f"{charset.mark(verdict)} {verdict.word}", role), (f"  {finding.subject}", "title")]]
    told = [
        ("", finding.statement),
        ("do", finding.remedy),
        ("read", str(finding.measured) if finding.measured is not None else ""),
        ("limit", limit_text(finding)),
        ("decided by", finding.basis),
        ("source", finding.source),
        ("workings", finding.workings),
        ("done", chosen),
    ]
    lines += [[(f"{name:<12}", "dim"), (text, "strong" if not name else "text")] for name, text in told if text]
    if verdict is Verdict.STOP and not finding.takes_override:
        lines.append(
            [(" " * 12, "dim"), ("Nobody may go on past this; it clears by repair and a new reading.", "text")]
        )
    return lines
