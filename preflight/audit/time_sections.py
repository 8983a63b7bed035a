"""What time shows as sections: readings that drift, and shifts that miss their start-ups."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.section import Section
from preflight.audit.trends import trends

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    from preflight.audit.attendance import ShiftCount
    from preflight.audit.rules import DriftRules, Rules


def shift_section(counts: Sequence[ShiftCount]) -> Section:
    """Missed and late start-ups by shift."""
    rows = tuple((one.shift, str(one.worked), str(one.missed), str(one.late)) for one in counts)
    said = () if any(one.worked for one in counts) else ("No run record says when machines worked.",)
    return Section("Start-ups by shift", said, ("shift", "worked", "missed", "late"), rows)


def trend_sections(
    connection: sqlite3.Connection, machine: str, name: str, rules: Rules, since: int, until: int, *, drifting: bool
) -> list[Section]:
    """The trends of one machine; `drifting`: those with an alarm alone."""
    found = [one for one in trends(connection, machine, rules, since, until) if one.alarm or not drifting]
    if not found:
        return [Section(f"Trends: {name}", ("No reading drifts." if drifting else "No readings.",))]
    judged = next((one for one in found if one.decision), None)
    first = Section(f"Trends: {name}", (alarm_note(rules.drift, judged.decision),) if judged else ())
    return [first, *(Section(one.series, (one.statement,), trends=(one,)) for one in found)]


def alarm_note(rules: DriftRules, decision: float) -> str:
    """How drift is judged, and how often by mistake."""
    block = "weeks" if rules.days == 7 else f"{rules.days} days"
    rate = f"one false alarm in {1 / rules.false_alarms:.3g} years" if rules.false_alarms <= 1 else ""
    return (
        f"Drift: means of {block}, each judged by all before it, added up (cumulative sum, decision value "
        f"{decision:.1f}). Set for {rate or f'{rules.false_alarms:.3g} false alarms a year'} of this machine, all its "
        "series together."
    )
