"""What time shows as sections: readings that drift, and shifts that miss their start-ups."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.chart import legend
from preflight.audit.figures import series_name
from preflight.audit.held_runs import HELD
from preflight.audit.section import Section
from preflight.audit.trends import trends

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping, Sequence

    from preflight.audit.attendance import ShiftCount
    from preflight.audit.rules import DriftRules, Rules


MOST_CASES = 40
"""Rows of the list under the shifts."""
CASE_NAMES = ("date", "shift", "machine", "who ran it", "run record", "what", "held record")


def shift_sections(counts: Sequence[ShiftCount], names: Mapping[str, str], of: str = "") -> list[Section]:
    """Missed and late start-ups and runs on held ones, by shift and then one by one. `of`: the machine's name."""
    rows = tuple((one.shift, *map(str, (one.worked, one.missed, one.late, one.held))) for one in counts)
    said = () if any(one.worked for one in counts) else ("No run record says when machines worked.",)
    header = ("shift", "worked", "missed", "late", f"runs {HELD}")
    made = [Section(f"Start-ups by shift{f': {of}' if of else ''}", said, header, rows)]
    cases = case_rows(counts, names)
    if cases:
        shown = cases[:MOST_CASES]
        more = f"The newest {len(shown)} of {len(cases)}." if len(cases) > len(shown) else f"All {len(cases)}."
        notes = (f"{more} Who ran it is who signed the run record.",)
        made.append(Section("Missed and late start-ups, runs on held ones", notes, CASE_NAMES, tuple(shown)))
    return made


def case_rows(counts: Sequence[ShiftCount], names: Mapping[str, str]) -> list[tuple[str, ...]]:
    """What was missed, late or held, one by one, the newest first."""
    every = sorted((case for count in counts for case in count.cases), key=lambda one: one.sequence, reverse=True)
    every.sort(key=lambda one: one.day, reverse=True)
    return [
        (
            one.day,
            one.shift,
            names.get(one.machine, one.machine),
            one.person,
            str(one.sequence),
            f"late by {one.minutes} min" if one.what == "late" else one.what,
            str(one.held) if one.held else "",
        )
        for one in every
    ]


def trend_sections(
    connection: sqlite3.Connection, machine: str, name: str, rules: Rules, since: int, until: int, *, drifting: bool
) -> list[Section]:
    """The trends of one machine; `drifting`: those with an alarm alone."""
    found = [one for one in trends(connection, machine, rules, since, until) if one.alarm or not drifting]
    if not found:
        return [Section(f"Trends: {name}", ("No reading drifts." if drifting else "No readings.",))]
    judged = next((one for one in found if one.decision), None)
    first = Section(f"Trends: {name}", (alarm_note(rules.drift, judged.decision),) if judged else ())
    return [first, *(Section(series_name(one.series), (one.statement, legend(one)), trends=(one,)) for one in found)]


def alarm_note(rules: DriftRules, decision: float) -> str:
    """How drift is judged, and how often by mistake."""
    block = "weeks" if rules.days == 7 else f"{rules.days} days"
    rate = f"one false alarm in {1 / rules.false_alarms:.3g} years" if rules.false_alarms <= 1 else ""
    return (
        f"Drift: means of {block}, each judged by all before it, added up (cumulative sum, decision value "
        f"{decision:.1f}). Set for {rate or f'{rules.false_alarms:.3g} false alarms a year'} of this machine, all its "
        "series together."
    )
