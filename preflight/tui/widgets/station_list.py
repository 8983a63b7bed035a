"""All stations with their verdicts, and the two gates between them; on a narrow terminal one line of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.message import Message

from preflight.checks.finding import Verdict
from preflight.tui.painting import clip, filled, spread, under, wrap
from preflight.tui.readiness import readiness, why_not_signed
from preflight.tui.run import TEST_BOARD, Run
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.events import Click

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line


def list_entries(run: Run) -> list[str]:
    """What the lines of the list are, top first: ids of stations, and "gate"; under the last one all are "gate"."""
    entries: list[str] = []
    for station in run.stations:
        entries += ["gate", station.id] if station.id == TEST_BOARD else [station.id]
    return entries


def list_lines(run: Run, current: str, width: int, charset: Charset) -> list[Line]:
    """The list, one line a station: mark, title, word of the verdict; then the first gate, at the end the state."""
    lines: list[Line] = []
    for entry in list_entries(run):
        if entry == "gate":
            lines.append(_first_gate(run, width, charset))
        else:
            lines.append(_station_line(run, entry, entry == current, width, charset))
    role = "ok" if run.signed is not None or not why_not_signed(run) else "dim"
    state = wrap(f"{charset.horizontal} {readiness(run)}", width)
    return [*lines, *(filled([(text, role)], width) for text in state)]


def _first_gate(run: Run, width: int, charset: Charset) -> Line:
    """Whether the test board may be fed: nothing more is said of it once the run is released."""
    if run.signed is not None:
        return [(charset.horizontal * width, "dim")]
    answer = ("yes", "ok") if run.ready_for_test_board else ("no", "dim")
    return spread([(f"{charset.horizontal} ready to test", "dim")], [answer], width)


def _station_line(run: Run, station_id: str, current: bool, width: int, charset: Charset) -> Line:
    verdict = run.verdict(station_id)
    title = clip(run.station(station_id).title, width - 10, charset.ellipsis)
    word = "badge" if verdict is Verdict.STOP and not current else verdict.word
    left = [(charset.mark(verdict), verdict.word), (" ", "text"), (title, "strong" if current else "text")]
    line = spread(left, [(verdict.word, word)], width)
    return under(line, "current") if current else line


def one_line(run: Run, current: str, width: int, charset: Charset) -> Line:
    """The current station on one line: "6/11 tension   ! caution"."""
    place = next(i for i, station in enumerate(run.stations, 1) if station.id == current)
    verdict = run.verdict(current)
    role = "badge" if verdict is Verdict.STOP else f"{verdict.word} strong"
    left = [(f" {place}/{len(run.stations)} ", "dim"), (run.station(current).title, "strong")]
    return spread(left, [(f" {charset.mark(verdict)} {verdict.word} ", role)], width)


class StationList(Painted):
    """The list beside the entries."""

    DEFAULT_CSS = "StationList { background: $surface; }"

    class Chosen(Message):
        """A station was clicked."""

        def __init__(self, station_id: str) -> None:
            super().__init__()
            self.station_id = station_id

    def __init__(self, run: Run, current: str, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(charset, id=id)
        self.run = run
        self.current = current

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The whole list, or one line when there is only one."""
        if height == 1:
            return [one_line(self.run, self.current, width, self.charset)]
        return list_lines(self.run, self.current, width, self.charset)

    def on_click(self, event: Click) -> None:
        """A click goes to the station."""
        event.stop()
        entries = list_entries(self.run)
        if self.size.height > 1 and event.y < len(entries) and entries[event.y] != "gate":
            self.post_message(self.Chosen(entries[event.y]))
