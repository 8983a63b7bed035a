"""All stations with their verdicts, and the two gates between them; on a narrow terminal one line of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.message import Message

from preflight.checks.finding import Verdict
from preflight.tui.painting import clip, spread, under
from preflight.tui.run import TEST_BOARD, Run
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.events import Click

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line, Span


def list_entries(run: Run) -> list[str]:
    """What the lines of the list are, top first: ids of stations, and "gate"."""
    entries: list[str] = []
    for station in run.stations:
        entries += ["gate", station.id, "gate"] if station.id == TEST_BOARD else [station.id]
    return entries


def list_lines(run: Run, current: str, width: int, charset: Charset) -> list[Line]:
    """The list, one line a station: mark, title, word of the verdict."""
    lines: list[Line] = []
    passed = [("ready to test", run.ready_for_test_board), ("clear to sign", run.releasable)]
    gates: list[tuple[str, Span]] = [(name, ("yes", "ok") if yes else ("no", "dim")) for name, yes in passed]
    if run.signed is not None:
        gates[1] = ("released", (f"record {run.signed.number}", "ok strong"))
    for entry in list_entries(run):
        if entry == "gate":
            name, answer = gates.pop(0)
            lines.append(spread([(f"{charset.horizontal} {name}", "dim")], [answer], width))
        else:
            lines.append(_station_line(run, entry, entry == current, width, charset))
    return lines


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
