"""What is said about the current row under the entries: its hint and choices, its gauge, a question about its unit,
and what the keys do where Enter has stayed or a reading is taken again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.tui.attention import slip_meant, to_look_at
from preflight.tui.painting import Line, Span, clip, wrap, wrap_into
from preflight.tui.widgets.band_gauge import gauge_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.tui.attention import Look
    from preflight.tui.charset import Charset
    from preflight.tui.rows import Row
    from preflight.tui.run import Run

LABEL_AT = 4
"""Column of the labels, and of what is said under them."""
CHOICE_LINES = 3
"""Lines of choices where more are not free; a station with a picture has one less."""
MORE = 9
"""Cells of " +12 more"."""


@dataclass(frozen=True, slots=True)
class Stay:
    """What the keys do at an answer at which Enter has stayed."""

    enter: str
    again: str

    @classmethod
    def at(cls, run: Run, station_id: str, row: Row, look: Look) -> Stay:
        """Enter goes on, and what stands does not go away by it; only Backspace begins another answer."""
        findings = to_look_at(run, station_id, row)
        verdict = next((one.verdict for one in findings if one.subject in look.subjects[-1:]), Verdict.OK)
        then = {
            Verdict.OK: "",
            Verdict.CAUTION: "; F4: act",
            Verdict.OPEN: "; stays open",
            Verdict.STOP: "; stop stays",
        }[verdict]
        enter = f"Enter: goes on{then}"
        if row.key in run.unread and not row.choices:
            enter = "Enter: stays, does not fit" if row.doubt else "Enter: stays, not readable"
        return cls(enter, "Backspace: answer anew" if row.choices else "Backspace: read again")

    @property
    def sentence(self) -> str:
        """Both keys, as a sentence."""
        return f"{self.enter}. {self.again}."


def keys_line(run: Run, row: Row, stay: Stay | None, room: int, charset: Charset) -> str:
    """The line under the rows about an answer at which Enter has stayed, or that is given anew; else empty."""
    if stay is not None:
        return f"{stay.enter} {charset.dot} {stay.again}"
    if row.long or not (before := run.before(row.key)):
        return ""
    line = f"re-read, was {row.as_read(before)}"
    full = f"{line} {charset.dot} Esc: back to it"
    return full if len(full) <= room else line


def entry_foot(run: Run, station_id: str, row: Row, width: int, charset: Charset, free: int) -> list[Line]:
    """Three lines about the current row, more where choices and hint need them.

    Many choices take as many of the `free` lines as they need, else their few.
    """
    room = width - LABEL_AT - 2
    start: Span = (" " * LABEL_AT, "text")
    if row.asked and not run.takes(row):
        return _three([])
    if meant := slip_meant(run, station_id, row):
        asked = f"Was {meant} meant? F4 takes it; else look at the instrument and type the reading again."
        return _three([[start, (line, "open")] for line in wrap_into(asked, room, 3, charset.ellipsis)])
    if row.choices:
        said = wrap(row.hint, room)
        most = CHOICE_LINES - (run.station(station_id).picture is not None)
        offered = _choices(row, run.typed.get(row.key, ""), room, charset, max(most, free - len(said)))
        hint: list[Line] = [[start, (line, "dim")] for line in said]
        return _three([*([start, *line] for line in offered), *hint])
    if run.typed.get(row.key, "").strip() and row.key not in run.unread:  # why it cannot be read stands in the panel
        gauge = gauge_of(row, run.finding(row, station_id), room, charset)
        if gauge:
            return [[start, *line] for line in gauge]
    return _three([[start, (line, "dim")] for line in wrap_into(row.hint, room, 3, charset.ellipsis)])


def _three(lines: Sequence[Line]) -> list[Line]:
    """At least three lines, so that a picture below does not jump."""
    return [*lines, *([[("", "text")]] * (3 - len(lines)))]


def _choices(row: Row, chosen: str, room: int, charset: Charset, most: int) -> list[Line]:
    """The choices on at most that many lines, the chosen one among them and marked; then how many more there are."""
    labels = [choice.label for choice in row.choices]
    at = labels.index(chosen) if chosen in labels else 0
    start = 0
    lines, shown = _choice_lines(labels, chosen, room, charset, most)
    while start + shown <= at:
        start += 1
        lines, shown = _choice_lines(labels[start:], chosen, room, charset, most)
    hidden = len(labels) - shown
    if hidden:
        lines[-1].append((f" +{hidden} more", "dim"))
    return list(lines)


def _choice_lines(
    labels: list[str], chosen: str, room: int, charset: Charset, most: int
) -> tuple[list[list[Span]], int]:
    """Lines with as many of the labels, from the first, as find room, and how many those are."""
    lines: list[list[Span]] = [[("Space  ", "key")]]
    used = 7
    for shown, label in enumerate(labels):
        is_chosen = label == chosen
        text = f"{charset.before.strip()}{label}{charset.after.strip()}" if is_chosen else f" {label} "
        text = clip(text, room - 7 - MORE, charset.ellipsis)
        if used + len(text) > room - (MORE if len(lines) == most else 0):
            if len(lines) == most:
                return lines, shown
            lines.append([(" " * 7, "dim")])
            used = 7
        lines[-1].append((text, "strong" if is_chosen else "dim"))
        used += len(text)
    return lines, len(labels)
