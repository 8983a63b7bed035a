"""The entries of a station as lines: pure, so that what stands on the screen can be tested without one.

Header (title, purpose), the rows, one blank line, three lines about the current row (its hint and choices, or
once it is read its gauge, or why it cannot be read), then the station's picture if rows are left.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.quantities import Kind, QuantityError, parse, show
from preflight.tui.attention import slip_meant
from preflight.tui.painting import Line, Span, clip, filled, fit, under
from preflight.tui.widgets.entry_foot import LABEL_AT, entry_foot, keys_line
from preflight.tui.widgets.top_line import verdict_spans

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.tui.charset import Charset
    from preflight.tui.rows import Row
    from preflight.tui.run import Run
    from preflight.tui.widgets.entry_foot import Stay

HEADER = 3
"""Title, purpose, blank."""
FOOT = 4
"""A blank line and three about the current row."""
LABEL_WIDTH = 26
VALUE_AT = LABEL_AT + LABEL_WIDTH + 2
READING_WIDTH = 12
"""Cells of a value with a unit; the echo stands behind it."""


@dataclass(frozen=True, slots=True)
class Window:
    """The rows on the screen: from `start` up to `stop` of `count`."""

    start: int
    stop: int
    count: int

    @property
    def line(self) -> int:
        """Lines taken, the one that counts the hidden rows included."""
        return self.stop - self.start + (self.stop - self.start < self.count)


def window(count: int, at: int, height: int, foot: int = FOOT) -> Window:
    """Rows shown in a table of that height, row `at` among them; a line is kept to say how many more there are.

    `foot` lines are wanted under them.
    """
    room = max(2, height - HEADER - max(foot, FOOT))
    if count <= room:
        return Window(0, count, count)
    inner = room - 1
    start = max(0, min(at - inner // 2, count - inner))
    return Window(start, start + inner, count)


def value_width(row: Row, width: int, *, current: bool = False) -> int:
    """Cells of the row's value: a reading leaves room for its echo, a word for its note, else it takes the line."""
    rest = max(4, width - VALUE_AT - 1)
    if (row.kind is not None or row.reads is not None) and not row.long:
        return min(READING_WIDTH, rest)
    if row.note and row.choices:
        longest = max(len(choice.label) for choice in row.choices)
        return min(longest + (len("‹  ›") if current else 1), rest)
    return rest


def understood(row: Row, text: str) -> str:
    """How a reading was understood, when that is not plain from what was typed: "= 1908.18 mm"."""
    if row.kind is None or not text.strip():
        return ""
    try:
        read = parse(text, row.kind, row.unit)
    except QuantityError:
        return ""
    unit = row.unit or read.unit
    meant = show(read.value, row.kind, unit=unit)
    if read.unit == unit and row.kind is not Kind.TEMPERATURE:
        # as typed, however fine: nothing is converted, so nothing may look rounded
        number = f"{round(read.to(unit), 9):.9f}".rstrip("0").rstrip(".")
        meant = f"{number} {unit}"
    return "" if meant == read.text else f"= {meant}"


def table_lines(
    run: Run,
    station_id: str,
    key: str,
    width: int,
    height: int,
    charset: Charset,
    *,
    picture: bool,
    titled: bool = True,
    stay: Stay | None = None,
) -> list[Line]:
    """All lines of a station's table; `picture` says whether free rows show it here, `titled` whether the title is.

    `stay` is given where Enter has stayed at the current answer.
    """
    station = run.station(station_id)
    rows = run.rows(station_id)
    at = next((i for i, row in enumerate(rows) if row.key == key), 0)
    seen = rows_seen(run, station_id, rows, at, width, height, charset, titled=titled)
    place = next(i for i, one in enumerate(run.stations, 1) if one.id == station_id)
    title: list[Span] = [(f"  {station.title}", "title"), (f"  {place} of {len(run.stations)}  ", "dim")]
    said: Span = (station.purpose, "dim") if run.signed is None else (run.signed.banner, "bar strong")
    lines: list[Line] = [
        *([[*title, *verdict_spans(run.verdict(station_id), charset)]] if titled else []),
        [("  ", "text"), (clip(said[0], width - 3, charset.ellipsis), said[1])],
        [("", "text")],
    ]
    shown = rows[seen.start : seen.stop]
    lines += [_row_line(run, station_id, row, row.key == key, width, charset) for row in shown]
    if seen.line > seen.stop - seen.start:
        above, below = seen.start, seen.count - seen.stop
        parts = [f"{above} more above" if above else "", f"{below} more below" if below else ""]
        lines.append([(" " * LABEL_AT + f" {charset.dot} ".join(part for part in parts if part), "dim")])
    if rows:
        drawn_here = picture and station.picture is not None
        free = 0 if drawn_here else height - len(lines) - 1
        lines += [
            _under_rows(run, station_id, rows[at], width, charset, stay),
            *entry_foot(run, station_id, rows[at], width, charset, free),
        ]
    room = height - len(lines) - 1
    if picture and station.picture is not None and room >= 1:
        drawn = station.picture(run, width - 3, room, charset)
        if len(drawn) <= room:
            lines += [[("", "text")], *([("  ", "text"), *line] for line in drawn)]
    return lines


def rows_seen(
    run: Run,
    station_id: str,
    rows: Sequence[Row],
    at: int,
    width: int,
    height: int,
    charset: Charset,
    *,
    titled: bool = True,
) -> Window:
    """The rows on the screen: as many as leave room for what is said about the current one."""
    foot = len(entry_foot(run, station_id, rows[at], width, charset, 0)) + 1 if rows else FOOT
    return window(len(rows), at, height + HEADER - header(titled), foot)


def header(titled: bool) -> int:
    """Lines over the rows; without the title one less."""
    return HEADER if titled else HEADER - 1


def _row_line(run: Run, station_id: str, row: Row, current: bool, width: int, charset: Charset) -> Line:
    text = run.typed.get(row.key, "")
    label = fit(row.label, LABEL_WIDTH, charset.ellipsis)
    room = value_width(row, width, current=current)
    if not row.asked:
        # a long fact begins right behind its label
        label = label if len(row.shown) <= width - VALUE_AT - 1 else row.label
    line: list[Span] = [
        *_row_mark(run, station_id, row, current, charset),
        (label, "strong" if current else "text"),
        ("  ", "text"),
    ]
    if not row.asked:
        shown = clip(row.shown, width - LABEL_AT - len(label) - 3, charset.ellipsis)
        return _grounded([*line, (shown, "value")], current, width)
    empty = row.stands or ("" if current else charset.dot)
    line.append((fit(text, room, charset.ellipsis), "value") if text else (fit(empty, room, charset.ellipsis), "rule"))
    beside, _ = _beside(run, station_id, row, width, room)
    if room < width - VALUE_AT - 1:
        asking = row.key in run.unread or slip_meant(run, station_id, row)
        line += [("  ", "text"), (beside, "open" if asking else "dim")]
    return _grounded(line, current, width)


def _grounded(line: list[Span], current: bool, width: int) -> Line:
    line = filled(line, width - 1)
    return [*(under(line, "current") if current else line), (" ", "text")]


def _row_mark(run: Run, station_id: str, row: Row, current: bool, charset: Charset) -> list[Span]:
    pointer = charset.pointer if current else " "
    finding = run.finding(row, station_id)
    if row.key in run.unread:
        mark: Span = (charset.mark(Verdict.OPEN), "open")
    elif finding is not None:
        mark = (charset.mark(finding.verdict), finding.verdict.word)
    elif run.view is not None and run.asks(row) and not run.typed.get(row.key, "").strip():
        mark = (charset.mark(Verdict.OPEN), "open")
    else:
        mark = (" ", "text")
    return [(f" {pointer}", "key"), mark, (" ", "text")]


def _beside(run: Run, station_id: str, row: Row, width: int, taken: int) -> tuple[str, str]:
    """What stands behind a value (how it was read, yesterday's, the row's own note), and what found no room there.

    Where a unit likely slipped, the reading that was meant is asked there and nothing else is said.
    """
    if row.key in run.unread:
        return "half typed" if row.key in run.half else "swapped?" if row.doubt else "cannot read", ""
    text = run.typed.get(row.key, "")
    if meant := slip_meant(run, station_id, row):
        room = width - VALUE_AT - taken - 3
        return next((asked for asked in (f"{meant} meant?", f"{meant}?") if len(asked) <= room), ""), ""
    again = "re-read" if run.before(row.key) else ""
    parts = [again, understood(row, text), f"was {row.earlier}" if row.earlier and text and not again else "", row.note]
    if row.fact and text and row.key not in run.entered:
        parts.append("as before")
    room = width - VALUE_AT - taken - 3
    beside = ""
    left_out = ""
    for part in filter(None, parts):
        longer = f"{beside}  {part}" if beside else part
        if len(longer) <= room:
            beside = longer
        else:
            left_out = f"{left_out}  {part}" if left_out else part
    return beside, left_out


def _under_rows(run: Run, station_id: str, row: Row, width: int, charset: Charset, stay: Stay | None) -> Line:
    """The line between rows and foot: what the keys do now, and what found no room behind the current value."""
    keys = keys_line(run, row, stay, width - LABEL_AT, charset)
    left_out = _beside(run, station_id, row, width, value_width(row, width, current=True))[1]
    room = width - LABEL_AT - len(keys)
    if keys:
        left_out = f"  {left_out}" if left_out and len(left_out) + 2 <= room else ""
    return [(" " * LABEL_AT, "text"), (keys, "strong"), (fit(left_out, room), "dim")]


def choice_line(row: Row, text: str, width: int, charset: Charset) -> Line:
    """The cell of a row that is chosen, in place of the typed text."""
    value = text or row.stands or ("choose" if len(row.choices) > 1 else "confirm")
    before, after = charset.before, charset.after
    if len(value) > width - len(before) - len(after):
        before, after = before.strip(), after.strip()
    value = clip(value, width - len(before) - len(after), charset.ellipsis)
    role = "strong" if text else "dim"
    line = [(before, "key"), (value, role), (after, "key")]
    return under(filled(line, width), "current")
