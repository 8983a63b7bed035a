"""What the practice view paints: its banner, the readings of a station, and its keys. Pure functions, thin widgets."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING

from preflight.tui.painting import filled, spread, wrap
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.events import Click

    from preflight.checks.finding import Verdict
    from preflight.training.reading import Reading
    from preflight.training.score import StationMark
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line

LABEL = 23
"""Columns of a reading's label."""
KEYS = (
    ("accept", "Enter", "judge, go on"),
    ("next_station", "PgDn", "next station"),
    ("why", "F3", "why"),
    ("words", "F9", "words"),
    ("leave", "Esc", "leave practice"),
)
"""Action, key and label; the footer, and the actions that a click can name."""


def banner(title: str, judged: int, asked: int, width: int, charset: Charset) -> Line:
    """The top line: PRACTICE before anything else."""
    right = [(f" {judged} of {asked} judged ", "dim")]
    left = [(" PRACTICE ", "notice"), ("  no machine is started  ", "dim")]
    room = width - sum(len(text) for text, _ in [*left, *right])
    return spread([*left, (_whole_words(title, room, charset.ellipsis), "strong")], right, width)


def _whole_words(text: str, room: int, ellipsis: str) -> str:
    """The text, or as many of its words as fit with the ellipsis."""
    if len(text) <= room:
        return text
    return f"{next(iter(wrap(text, max(1, room - 1))), '')}{ellipsis}" if room > 1 else ""


def station_lines(
    title: str,
    purpose: str,
    readings: Sequence[Reading],
    helps: Sequence[str],
    told: str,
    verdict: Verdict | None,
    width: int,
) -> list[Line]:
    """A station before and after it was judged: how the judgement turned out, the readings, the help of the level.

    `told` and `verdict` are empty and None before.
    """
    first, *more = wrap(purpose, width - len(title) - 4) or [""]
    lines: list[Line] = [[(f" {title}", "title"), (f"  {first}", "dim")]]
    lines += [[(" " * (len(title) + 3), "text"), (row, "dim")] for row in more]
    role = "strong" if verdict is None else f"{verdict.word} strong"
    lines += [[(f" {row}", role)] for row in wrap(told or "Read it through, then Enter: your verdict.", width - 2)]
    lines.append([("", "text")])
    for reading in readings:
        labels, rows = wrap(reading.label, LABEL - 1), wrap(reading.text, max(10, width - LABEL - 2))
        pairs = zip_longest(labels, rows, fillvalue="")
        lines += [[(f" {label:<{LABEL}}", "dim"), (row, "value")] for label, row in pairs]
    if helps:
        lines.append([("", "text")])
    lines += [[(f" {row}", "dim")] for text in helps for row in wrap(text, width - 2)]
    return lines


def key_line(width: int) -> Line:
    """The keys, as many as fit whole."""
    line: list[tuple[str, str]] = [(" ", "dim")]
    for _, key, label in KEYS:
        if sum(len(text) for text, _ in line) + len(key) + len(label) + 3 <= width:
            line += [(key, "key"), (f" {label}  ", "dim")]
    return filled(line, width)


class PracticeBanner(Painted):
    """The top line of every practice view."""

    DEFAULT_CSS = "PracticeBanner { height: 1; background: $panel; }"

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(charset, id=id)
        self.title, self.judged, self.asked = "", 0, 0

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """One line."""
        return [banner(self.title, self.judged, self.asked, width, self.charset)]


class ReadingsPane(Painted):
    """The readings of one station; scrolls by lines when they are more than fit."""

    DEFAULT_CSS = "ReadingsPane { background: $background; }"

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(charset, id=id)
        self.station: tuple[str, str] = ("", "")
        self.readings: Sequence[Reading] = ()
        self.helps: Sequence[str] = ()
        self.mark: StationMark | None = None
        self.told = ""
        self.picture: Sequence[Line] = ()
        """Of a judged station, under its readings."""
        self.first = 0

    def all_lines(self, width: int) -> list[Line]:
        """Every line, whatever the height."""
        verdict = self.mark.truth if self.mark else None
        lines = station_lines(*self.station, self.readings, self.helps, self.told, verdict, width)
        return [*lines, [("", "text")], *([(" ", "text"), *row] for row in self.picture)] if self.picture else lines

    def scroll_lines(self, step: int) -> None:
        """Move the view; never past the last line."""
        most = max(0, len(self.all_lines(self.size.width)) - self.size.height)
        self.first = min(most, max(0, self.first + step))
        self.repaint()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The part that fits; the last row says how many lines are below."""
        lines = self.all_lines(width)[self.first :]
        if len(lines) > height > 0:
            more = len(lines) - height + 1
            return [*lines[: height - 1], [(f" Down: {more} more lines", "key")]]
        return lines


class PracticeKeys(Painted):
    """The bottom line; each label can be clicked."""

    DEFAULT_CSS = "PracticeKeys { height: 1; background: $background; }"

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """One line."""
        return [key_line(width)]

    async def on_click(self, event: Click) -> None:
        """A click on a label does what its key does."""
        event.stop()
        at = 1
        for action, key, label in KEYS:
            end = at + len(key) + 1 + len(label)
            if at <= event.x < end:
                await self.run_action(f"screen.{action}")
            at = end + 2
