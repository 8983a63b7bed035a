"""One measured figure of a machine over time: baseline, marks, drift alarm, and when it would reach its limit."""

from __future__ import annotations

import math
import re
import statistics
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from preflight.audit.cusum import run_length, standing
from preflight.audit.queries import Reading, series, series_names

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence

    from preflight.audit.cusum import Alarm
    from preflight.audit.rules import Rules

DAY = 86400.0
LEAST_AFTER = 5
"""Readings after the baseline from which drift can be told."""
FAR = 730
"""Days ahead beyond which a line says nothing."""
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
class Forecast:
    """When the line through the newest readings reaches a limit."""

    limit: float
    at: float
    """Seconds since 1970."""
    earliest: float
    latest: float | None
    """None: the slope may as well be none at all."""


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
    """Baseline; None with too few readings since the last repair."""
    deviation: float | None = None
    baseline: int = 0
    """Readings of the baseline."""
    alarm: Alarm | None = None
    """Places count in `points`."""
    forecast: Forecast | None = None
    false_alarm: float = 0.0
    """Readings between two false alarms on average, if the baseline were known exactly."""

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
        said += f"; drifting {way} since {day(self.points[self.alarm.began].at)}, newest {newest.text}."
        if self.forecast is not None:
            latest = day(self.forecast.latest) if self.forecast.latest is not None else "open"
            said += (
                f" At this rate at its limit {figure(self.forecast.limit, self.like)} about {day(self.forecast.at)} "
                f"({day(self.forecast.earliest)} to {latest})."
            )
        return said


def trend(
    machine: str, name: str, readings: Sequence[Reading], marks: Sequence[Mark], repairs: Sequence[int], rules: Rules
) -> Trend | None:
    """The trend of these readings, oldest first; `repairs` are times from which a new baseline counts."""
    if not readings:
        return None
    newest = readings[-1]
    points = tuple(one for one in readings if (one.low, one.high) == (newest.low, newest.high))
    shown = tuple(mark for mark in marks if points[0].at <= mark.at)
    since = max((at for at in repairs if at < newest.at), default=0)
    first = next(place for place, one in enumerate(points) if one.at >= since)
    own = rules.drift
    current = [one.value for one in points[first:]]
    plain = Trend(machine, name, newest.unit, points, shown)
    if len(current) < own.baseline + LEAST_AFTER:
        return plain
    mean = statistics.fmean(current[: own.baseline])
    deviation = statistics.stdev(current[: own.baseline])
    deviation *= math.sqrt(wander(current, deviation))
    # a gauge that shows one figure all the time has no spread of its own: half a last digit is its least
    deviation = max(deviation, abs(mean) * 1e-4, 1e-12)
    found = standing(current[own.baseline :], mean, deviation, own.slack, own.decision)
    if found is not None:
        shift = first + own.baseline
        found = type(found)(found.place + shift, found.began + shift, found.up)
    return Trend(
        machine,
        name,
        newest.unit,
        points,
        shown,
        mean,
        deviation,
        own.baseline,
        found,
        forecast(points[found.began :], found.up, mean) if found else None,
        run_length(own.slack, own.decision),
    )


def wander(values: Sequence[float], deviation: float) -> float:
    """How much wider sums of these values spread than those of independent ones: (1 + r) / (1 - r), 1 to 9.

    r is the correlation of neighbours, from the mean square of their differences (von Neumann's ratio), which a slow
    drift hardly touches. A tension that remembers yesterday would otherwise raise alarms by itself.
    """
    if deviation <= 0 or len(values) < 3:
        return 1.0
    steps = statistics.fmean((b - a) ** 2 for a, b in pairwise(values))
    together = min(0.8, max(0.0, 1 - steps / (2 * deviation * deviation)))
    return (1 + together) / (1 - together)


def forecast(points: Sequence[Reading], up: bool, baseline: float) -> Forecast | None:
    """When the least-squares line reaches the limit in its way; None without a limit, or when it does not go there.

    The range comes from the 95 % interval of the slope about the mean point.
    """
    limit = points[-1].high if up else points[-1].low
    if limit is None or len(points) < LEAST_AFTER:
        return None
    days = [(one.at - points[0].at) / DAY for one in points]
    values = [one.value for one in points]
    middle, level = statistics.fmean(days), statistics.fmean(values)
    width = math.fsum((x - middle) ** 2 for x in days)
    if width == 0:
        return None
    slope = math.fsum((x - middle) * (y - level) for x, y in zip(days, values, strict=True)) / width
    if (slope > 0) != up or (limit > baseline) != up:
        return None
    rest = math.fsum((y - level - slope * (x - middle)) ** 2 for x, y in zip(days, values, strict=True))
    error = student(len(points) - 2) * math.sqrt(rest / (len(points) - 2) / width)
    steep, flat = (slope + error, slope - error) if up else (slope - error, slope + error)

    def reached(at_slope: float) -> float:
        return points[0].at + DAY * (middle + (limit - level) / at_slope)

    newest = float(points[-1].at)
    still = (flat > 0) == up and flat != 0
    if reached(slope) > newest + FAR * DAY:
        return None
    return Forecast(limit, max(newest, reached(slope)), max(newest, reached(steep)), reached(flat) if still else None)


def student(degrees: int) -> float:
    """The 97.5 % point of Student's t. ValueError below three degrees of freedom.

    Equation: Cornish and Fisher's expansion about the normal point, good to 1 % from three degrees on.

    >>> round(student(10), 2)
    2.23
    """
    if degrees < 3:
        raise ValueError("at least three degrees of freedom")
    z = statistics.NormalDist().inv_cdf(0.975)
    terms = (
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160,
    )
    return z + math.fsum(term / degrees**power for power, term in enumerate(terms, 1))


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
    """Every trend of a machine, those with an alarm first."""
    repairs = repair_marks(connection, machine)
    belts = belt_marks(connection, machine)
    made = []
    for name in series_names(connection, machine):
        if not _TRENDS.fullmatch(name):
            continue
        station, subject = name.split(": ", 1)
        own = [mark for mark in repairs if f"repair: {station};" in mark.text]
        on = [mark for mark in belts if not subject.startswith("head ") or mark.text.startswith(subject[:6])]
        marks = sorted([*own, *on], key=lambda mark: mark.at)
        found = trend(machine, name, series(connection, machine, name, since, until), marks, [m.at for m in own], rules)
        if found is not None:
            made.append(found)
    return sorted(made, key=lambda one: (one.alarm is None, one.series))
