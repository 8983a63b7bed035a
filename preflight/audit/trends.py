"""One measured figure of a machine over time: baseline, marks, drift alarm, and when it would reach its limit."""

from __future__ import annotations

import math
import re
import statistics
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preflight.audit.cusum import Alarm, decision_value
from preflight.audit.forecast import DAY, Forecast, forecast, line_begins
from preflight.audit.period import LOOK_BACK
from preflight.audit.queries import Reading, series, series_names
from preflight.audit.self_starting import watched
from preflight.audit.visit import number

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    from preflight.audit.rules import DriftRules, Rules

YEAR = 365.25
_TRENDS = re.compile(
    r"tension: head \S+|extraction: (gate \S+|hood static \S+|filter drop)|running: .*(stop|current|swing|speed)"
    r"|test_board: (taper|crown|snipe)|removal: head \S+ test"
)
"""The series that are worth a chart; others follow from them."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that may explain a step."""

    at: int
    text: str


@dataclass(frozen=True, slots=True)
class Trend:
    """One series of one machine."""

    machine: str
    series: str
    unit: str
    points: tuple[Reading, ...]
    """Those judged by the same limits as the newest, oldest first."""
    marks: tuple[Mark, ...]
    mean: float | None = None
    """Of the readings before the drift, or of all since the last repair; None where these are too few."""
    deviation: float | None = None
    """Of single readings."""
    baseline: int = 0
    """Readings that these come from."""
    alarm: Alarm | None = None
    """Places count in `points`."""
    began: int = 0
    """When the drift began, seconds since 1970, also where its first points are not shown."""
    forecast: Forecast | None = None
    decision: float = 0.0
    """Decision value of the alarm, in standard deviations; 0 without a baseline."""

    @property
    def like(self) -> Reading:
        """The reading whose unit and digits figures are written with: one that is not zero."""
        return max(self.points, key=lambda point: point.value)

    @property
    def statement(self) -> str:
        """What is so, in a sentence or two."""
        from preflight.audit.words import day, figure

        newest = self.points[-1]
        if self.mean is None or self.deviation is None:
            return f"{len(self.points)} readings, newest {newest.text}; too few for a baseline."
        said = (
            f"Baseline {figure(self.mean, self.like)} ± {figure(self.deviation, self.like)} of {self.baseline} readings"
        )
        if self.alarm is None:
            return f"{said}; no drift."
        way = "upward" if self.alarm.up else "downward"
        said += f"; drifting {way} since {day(self.began)}, newest {newest.text}."
        if self.forecast is not None:
            latest = day(self.forecast.latest) if self.forecast.latest is not None else "open"
            said += (
                f" At this rate at its limit {figure(self.forecast.limit, self.like)} about {day(self.forecast.at)} "
                f"({day(self.forecast.earliest)} to {latest})."
            )
        return said


def trend(
    machine: str,
    name: str,
    readings: Sequence[Reading],
    marks: Sequence[Mark],
    repairs: Sequence[int],
    rules: Rules,
    series_watched: int = 1,
) -> Trend | None:
    """The trend of these readings, oldest first; `repairs` are times from which a new baseline counts.

    `series_watched`: of this machine, among which the false alarms of a year are shared out.
    """
    if not readings:
        return None
    newest = readings[-1]
    points = tuple(one for one in readings if (one.low, one.high) == (newest.low, newest.high))
    shown = tuple(mark for mark in marks if points[0].at <= mark.at)
    since = max((at for at in repairs if at < newest.at), default=0)
    first = next(place for place, one in enumerate(points) if one.at >= since)
    own = rules.drift
    blocks = whole_blocks(points[first:], own.days)
    plain = Trend(machine, name, newest.unit, points, shown)
    if len(blocks) <= own.learn:
        return plain
    decision = decision_of(own, series_watched)
    means = [statistics.fmean(one.value for one in block) for block in blocks]
    least = last_digit(plain.like) / math.sqrt(12 * statistics.fmean(map(len, blocks)))
    found = watched(means, own.learn, own.slack, decision, least)
    if found is not None:
        starts = [first]
        for block in blocks:
            starts.append(starts[-1] + len(block))
        began = min(found.place, line_begins(means, found.began))
        found = Alarm(starts[found.place], starts[began], found.up)
    calm = [one.value for one in points[first : found.began if found else None]]
    mean = statistics.fmean(calm)
    return replace(
        plain,
        mean=mean,
        deviation=statistics.stdev(calm),
        baseline=len(calm),
        alarm=found,
        began=points[found.began].at if found else 0,
        forecast=forecast(points[found.began :], found.up, mean) if found else None,
        decision=decision,
    )


def decision_of(rules: DriftRules, series_watched: int) -> float:
    """The decision value with which so many series together raise the stated false alarms a year.

    ValueError for less than one series. A year has 365.25 days, an alarm can come once a block.
    """
    if series_watched < 1:
        raise ValueError("at least one series is watched")
    return decision_value(rules.slack, max(1.0, series_watched * YEAR / rules.days / rules.false_alarms))


def whole_blocks(points: Sequence[Reading], days: int) -> list[list[Reading]]:
    """The readings by blocks of so many days from the first one; the newest block is not whole yet and left out.

    Readings of one week go together: a tension remembers yesterday, and two shifts read the same day's. Means of
    weeks hardly do. A week without a reading makes no block.
    """
    blocks: dict[int, list[Reading]] = {}
    for one in points:
        blocks.setdefault(int((one.at - points[0].at) // (days * DAY)), []).append(one)
    return list(blocks.values())[:-1]


def last_digit(like: Reading) -> float:
    """What the last digit of a reading is worth, SI: a gauge that always shows one figure spreads by that much."""
    typed = number(like.text)
    if typed is None or typed[0] == 0:
        return 0.0
    return abs(like.value) / typed[0] / 10.0 ** typed[1]


def belt_marks(connection: sqlite3.Connection, machine: str, head: str = "") -> list[Mark]:
    """Changes of belt, of one head or of all."""
    sql = "SELECT at, head, card FROM belts WHERE machine = ? ORDER BY at, sequence, head"
    on: dict[str, str] = {}
    found = []
    for at, of, card in connection.execute(sql, (machine,)):
        if head in ("", of) and of in on and on[of] != card:
            found.append(Mark(at, f"head {of}: belt {card}"))
        on[of] = card
    return found


def repair_marks(connection: sqlite3.Connection, machine: str) -> list[Mark]:
    """Repair records."""
    sql = "SELECT at, about FROM records WHERE machine = ? AND kind = 'repair' ORDER BY at"
    return [Mark(at, f"repair: {about}") for at, about in connection.execute(sql, (machine,))]


def trends(
    connection: sqlite3.Connection, machine: str, rules: Rules, since: int = 0, until: int | None = None
) -> list[Trend]:
    """Every trend of a machine, those with an alarm first. Drift is judged with what was read before the period."""
    repairs = repair_marks(connection, machine)
    belts = belt_marks(connection, machine)
    names = [name for name in series_names(connection, machine) if _TRENDS.fullmatch(name)]
    learnt_from = since if until is None else max(0, min(since, until - LOOK_BACK))
    made = []
    for name in names:
        station, subject = name.split(": ", 1)
        own = [mark for mark in repairs if f"repair: {station};" in mark.text]
        on = [mark for mark in belts if not subject.startswith("head ") or mark.text.startswith(subject[:6])]
        marks = sorted([*own, *on], key=lambda mark: mark.at)
        readings = series(connection, machine, name, learnt_from, until)
        found = trend(machine, name, readings, marks, [m.at for m in own], rules, len(names))
        if found is not None and found.points[-1].at >= since:
            made.append(_from(found, since))
    return sorted(made, key=lambda one: (one.alarm is None, one.series))


def _from(found: Trend, since: int) -> Trend:
    """The trend with the points of a period alone."""
    before = sum(point.at < since for point in found.points)
    points, was = found.points[before:], found.alarm
    alarm = Alarm(max(0, was.place - before), max(0, was.began - before), was.up) if was else None
    marks = tuple(mark for mark in found.marks if points[0].at <= mark.at)
    return replace(found, points=points, marks=marks, alarm=alarm)
