"""A trend as a picture: lines of (text, role) for the terminal, and an SVG drawing for the page, from the same data."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.audit.figures import series_name
from preflight.audit.words import day, figure
from preflight.outside_text import as_html

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.audit.trends import Trend

Line = list[tuple[str, str]]
LABEL = 12
"""Columns for the figures at the left."""
LEVELS = " ▁▂▃▄▅▆▇█"
LEAST_BARS = 20
MOST_BARS = 46
"""Columns of one row of bars."""


@dataclass(frozen=True, slots=True)
class BarRow:
    """Values over the width at one time."""

    label: str
    """At the left: a date."""
    values: tuple[float, ...]
    said: str
    """At the right."""


def bar(value: float, most: float) -> str:
    """One of nine heights; what is not zero is never the lowest."""
    if value <= 0 or most <= 0:
        return LEVELS[0]
    return LEVELS[max(1, round(value / most * (len(LEVELS) - 1)))]


def bar_lines(rows: Sequence[BarRow], width: int) -> list[Line]:
    """Rows of bars under one scale, at most so many columns: label, bars, what is said."""
    if not rows:
        return []
    most = max(max(row.values) for row in rows)
    room, label = (max(len(text) for text in texts) for texts in zip(*((r.said, r.label) for r in rows), strict=True))
    beside = width - label - 4 - room >= LEAST_BARS
    columns = max(LEAST_BARS, min(MOST_BARS, width - label - 2 - (room + 2) * beside))
    made: list[Line] = []
    for row in rows:
        drawn = "".join(bar(value, most) for value in _shared(row.values, columns))
        made.append([(f"{row.label:<{label}}  ", "dim"), (drawn, "wood")])
        if beside:
            made[-1].append((f"  {row.said}", "text"))
        else:  # too narrow: what is said stands under its bars
            indent = " " * (label + 2)
            made += [
                [(f"{indent}{text}", "text")] for text in textwrap.wrap(row.said, max(LEAST_BARS, width - label - 2))
            ]
    return made


def _shared(values: Sequence[float], columns: int) -> list[float]:
    """The means of the values over so many equal columns, none wider than the values are."""
    columns = min(columns, len(values))
    wide = len(values) / columns
    made = []
    for column in range(columns):
        left, right = column * wide, (column + 1) * wide
        parts = (
            values[place] * (min(right, place + 1) - max(left, place))
            for place in range(int(left), min(len(values), int(right) + 1))
        )
        made.append(sum(parts) / wide)
    return made


def bars_svg(rows: Sequence[BarRow], width: int = 640, height: int = 34) -> list[str]:
    """The same as drawings, one a row so that a page may break between them, with no script and nothing loaded."""
    edge, words = 10, 13
    most = max((max(row.values) for row in rows), default=0.0) or 1.0
    made = []
    for row in rows:
        step = (width - 2 * edge) / len(row.values)
        label, said = as_html(row.label), as_html(row.said)
        parts = [f'<svg viewBox="0 0 {width} {height}" role="img" aria-label="{label}: {said}">']
        # words above the bars: beside them a long belt card or reason has no room
        parts.append(f'<text x="{edge}" y="{words - 4}">{label}</text>')
        parts.append(f'<text x="{width - edge}" y="{words - 4}" class="end">{said}</text>')
        for place, value in enumerate(row.values):
            tall = (height - words - 2) * value / most
            parts.append(
                f'<rect class="bar" x="{edge + place * step:.1f}" y="{height - 2 - tall:.1f}" '
                f'width="{step * 0.9:.1f}" height="{tall:.1f}"/>'
            )
        parts.append("</svg>")
        made.append("".join(parts))
    return made


def bounds(trend: Trend) -> tuple[float, float]:
    """Lowest and highest value that the picture shows: the readings, and the limits near them."""
    values = [point.value for point in trend.points]
    low, high = min(values), max(values)
    room = (high - low) or abs(high) or 1.0
    for limit in (trend.points[-1].low, trend.points[-1].high):
        if limit is not None and low - 2 * room <= limit <= high + 2 * room:
            low, high = min(low, limit), max(high, limit)
    room = (high - low) or abs(high) or 1.0
    return low - 0.05 * room, high + 0.05 * room


def legend(trend: Trend) -> str:
    """What the signs of its picture mean, those that are in it: on the page o is a dot and x a cross."""
    low, high = bounds(trend)
    newest, first = trend.points[-1], trend.points[0].at
    said = ["o a reading"]
    said += ["x one since the drift began"] if trend.alarm is not None else []
    drawn = any(value is not None and low <= value <= high for value in (newest.low, newest.high))
    said += ["dashed line a limit"] if drawn else []
    said += ["dotted line the baseline"] if trend.mean is not None and low <= trend.mean <= high else []
    kinds = {mark.text.startswith("repair") for mark in trend.marks if first <= mark.at <= newest.at}
    said += ["B another belt"] if False in kinds else []
    said += ["R a repair"] if True in kinds else []
    return f"Chart: {', '.join(said)}."


def picture(trend: Trend, width: int, height: int) -> list[Line]:
    """At least 30 columns and 6 rows: readings as dots, limits as rules, marks as bars under the axis."""
    width, height = max(30, width), max(6, height)
    columns, rows = width - LABEL - 1, height - 2
    low, high = bounds(trend)
    first, last = trend.points[0].at, trend.points[-1].at
    grid = [[(" ", "text")] * columns for _ in range(rows)]

    def place(value: float) -> int:
        return min(rows - 1, max(0, round((high - value) / (high - low) * (rows - 1))))

    def column(at: float) -> int:
        return min(columns - 1, max(0, round((at - first) / max(1, last - first) * (columns - 1))))

    labels: dict[int, str] = {0: figure(high, trend.like), rows - 1: figure(low, trend.like)}
    rules = [(trend.points[-1].low, "-", "stop"), (trend.points[-1].high, "-", "stop"), (trend.mean, ".", "dim")]
    for value, sign, role in rules:
        if value is not None and low <= value <= high:
            grid[place(value)] = [(sign, role)] * columns
            labels[place(value)] = figure(value, trend.like)
    for number, point in enumerate(trend.points):
        since_alarm = trend.alarm is not None and number >= trend.alarm.began
        grid[place(point.value)][column(point.at)] = ("x" if since_alarm else "o", "caution" if since_alarm else "ok")
    lines: list[Line] = [
        [(f"{labels.get(number, ''):>{LABEL}}"[:LABEL], "dim"), ("|", "rule"), *cells]
        for number, cells in enumerate(grid)
    ]
    marks = [(" ", "text")] * columns
    for mark in trend.marks:
        if first <= mark.at <= last:
            marks[column(mark.at)] = ("R" if mark.text.startswith("repair") else "B", "title")
    lines.append([(" " * LABEL, "dim"), ("+", "rule"), *marks])
    ends = f"{day(first)}{day(last):>{max(11, columns - 10)}}"
    lines.append([(" " * (LABEL + 1), "dim"), (ends[:columns], "dim")])
    return lines


def svg(trend: Trend, width: int = 640, height: int = 170) -> str:
    """The same as a drawing of that many points, with no script and nothing loaded."""
    left, bottom, top = 78, 26, 8
    low, high = bounds(trend)
    first, last = trend.points[0].at, trend.points[-1].at

    def x(at: float) -> float:
        return left + (at - first) / max(1, last - first) * (width - left - 10)

    def y(value: float) -> float:
        return top + (high - value) / (high - low) * (height - bottom - top)

    parts = [f'<svg viewBox="0 0 {width} {height}" role="img" aria-label="{as_html(series_name(trend.series))}">']
    parts.append(
        f'<rect class="frame" x="{left}" y="{top}" width="{width - left - 10}" height="{height - bottom - top}"/>'
    )
    used: list[float] = []
    newest = trend.points[-1]
    for value, style in ((newest.low, "limit"), (newest.high, "limit"), (trend.mean, "mean")):
        if value is not None and low <= value <= high:
            parts.append(
                f'<line class="{style}" x1="{left}" x2="{width - 10}" y1="{y(value):.1f}" y2="{y(value):.1f}"/>'
            )
            if all(abs(y(value) - other) > 11 for other in used):
                used.append(y(value))
                said = as_html(figure(value, trend.like))
                parts.append(f'<text x="{left - 4}" y="{y(value) + 4:.1f}" class="end">{said}</text>')
    for mark in trend.marks:
        if first <= mark.at <= last:
            sign = "R" if mark.text.startswith("repair") else "B"
            parts.append(
                f'<g><title>{as_html(mark.text)}</title><line class="mark" x1="{x(mark.at):.1f}" '
                f'x2="{x(mark.at):.1f}" y1="{top}" y2="{height - bottom}"/>'
                f'<text x="{x(mark.at):.1f}" y="{height - bottom + 11}" class="mid">{sign}</text></g>'
            )
    for number, point in enumerate(trend.points):
        drifting = trend.alarm is not None and number >= trend.alarm.began
        cx, cy = x(point.at), y(point.value)
        if drifting:  # another shape, not only another colour
            parts.append(f'<path class="drift" d="M{cx - 3:.1f} {cy - 3:.1f}l6 6m0 -6l-6 6"/>')
        else:
            parts.append(f'<circle class="dot" cx="{cx:.1f}" cy="{cy:.1f}" r="1.8"/>')
    parts.append(f'<text x="{left}" y="{height - 3}">{day(first)}</text>')
    parts.append(f'<text x="{width - 10}" y="{height - 3}" class="end">{day(last)}</text></svg>')
    return "".join(parts)
