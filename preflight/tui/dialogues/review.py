"""The review before signing: what is open, cautioned and stopped, each line a way to go there; then sign or hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from preflight.checks.finding import Verdict
from preflight.tui.attention import first_in_the_way, row_of
from preflight.tui.dialogues.frame import Dialogue, content
from preflight.tui.readiness import by_name, counted, readiness, released_for, reminders, why_not_signed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.widget import Widget

    from preflight.checks.finding import Finding
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Span
    from preflight.tui.readiness import Reminder
    from preflight.tui.run import Run


@dataclass(frozen=True, slots=True)
class ReviewAnswer:
    """What to do after the review."""

    kind: str
    """"go", "sign" or "hold"."""
    station_id: str = ""
    key: str = ""
    """Row to go to; empty: the station's first."""
    said: str = ""
    """What is said on going there."""


def review_entries(
    run: Run, charset: Charset, read_again: Sequence[Reminder] = ()
) -> list[tuple[list[Span], ReviewAnswer | None]]:
    """Lines of the review with what choosing one does; None for a line that cannot be chosen.

    read_again: what is read once more before the run is signed; it stands right before the last two lines.
    """
    entries: list[tuple[list[Span], ReviewAnswer | None]] = []
    for station in run.stations:
        verdict = run.verdict(station.id)
        if verdict is Verdict.OK:
            continue
        head: list[Span] = [(f" {charset.mark(verdict)} {verdict.word:<8}", verdict.word), (station.title, "strong")]
        entries.append((head, ReviewAnswer("go", station.id)))
        for row in run.rows(station.id):
            if row.key in run.unread:
                spans: list[Span] = [
                    (f"     {charset.mark(Verdict.OPEN)} ", "open"),
                    (f"{row.label}: {run.unread[row.key]}", "text"),
                ]
                entries.append((spans, ReviewAnswer("go", station.id, row.key)))
        entries.extend(
            (
                _finding_spans(run, station.id, finding, charset),
                ReviewAnswer("go", station.id, _row_of(run, station.id, finding)),
            )
            for finding in run.findings(station.id)
            if finding.verdict is not Verdict.OK
        )
    if run.signed is not None:
        told: list[Span] = [
            (" released ", "ok"),
            (f"record {run.signed.number}: F2 says what has happened since", "text"),
        ]
        return [*entries, (told, None)]
    entries += [_reminder_entry(one, charset) for one in read_again]
    missing = bool(why_not_signed(run))
    sign: list[Span] = [
        (" sign ", "dim" if missing else "key"),
        (readiness(run) if missing else released_for(run), "dim" if missing else "strong"),
    ]
    hold: list[Span] = [(" hold ", "key"), ("save a held record: this start-up does not go on", "text")]
    answer = blocked(run) if missing else ReviewAnswer("sign")
    return [*entries, (sign, answer), (hold, ReviewAnswer("hold"))]


def _reminder_entry(one: Reminder, charset: Charset) -> tuple[list[Span], ReviewAnswer]:
    """Something to read once more; Enter goes to its row."""
    mark, role = (f" {charset.mark(Verdict.CAUTION)} look ", "caution") if one.grave else (f" {charset.dot} ", "dim")
    answer = ReviewAnswer("go", one.station_id, one.key)
    return [(mark, role), (one.statement, "text" if one.grave else "dim")], answer


def blocked(run: Run) -> ReviewAnswer:
    """To the first thing that keeps the run from being signed, and what that is."""
    station_id, key = first_in_the_way(run)
    return ReviewAnswer("go", station_id, key, f"Not signed yet: {by_name(run)}. Here is the first.")


def _finding_spans(run: Run, station_id: str, finding: Finding, charset: Charset) -> list[Span]:
    spans: list[Span] = [(f"     {charset.mark(finding.verdict)} ", finding.verdict.word), (finding.statement, "text")]
    if finding.verdict is Verdict.CAUTION and finding.actions:
        chosen = run.action(station_id, finding)
        spans.append((f" {charset.dot} {chosen or 'no action chosen'}", "dim" if chosen else "caution"))
    return spans


def _row_of(run: Run, station_id: str, finding: Finding) -> str:
    row = row_of(run, finding, run.rows(station_id))
    return row.key if row is not None else ""


class ReviewScreen(Dialogue[ReviewAnswer]):
    """Returns where to go or what to do."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s", "sign", "sign", show=False),
        Binding("h", "hold", "hold", show=False),
        Binding("f8,f10", "leave", "back", show=False),
    ]
    broad = True
    title_text = "review and sign"
    keys_text = "Enter go there   s sign   h hold   Esc back"

    def __init__(self, run: Run, charset: Charset) -> None:
        super().__init__(charset)
        self.run = run
        self.read_again = reminders(run) if run.signed is None else []
        self.entries = review_entries(run, charset, self.read_again)
        if run.signed is not None:
            self.keys_text = "Enter go there   Esc back"

    def fields(self) -> Iterable[Widget]:
        """The count and the list."""
        state = readiness(self.run)
        yield self.said(f"{state[0].upper()}{state[1:]}. {len(self.run.stations)} stations: {counted(self.run)}.")
        yield OptionList(
            *(Option(content(spans, self.charset), disabled=answer is None) for spans, answer in self.entries)
        )

    def on_mount(self) -> None:
        """Ready to sign: that line is the current one, unless something is to be read once more."""
        if self.run.signed is None and not why_not_signed(self.run):
            sign = len(self.entries) - 2
            looks = [sign - len(self.read_again) + place for place, one in enumerate(self.read_again) if one.grave]
            self.query_one(OptionList).highlighted = next(iter(looks), sign)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter or a click."""
        self.dismiss(self.entries[event.option_index][1])

    def action_sign(self) -> None:
        """Sign; where something stands against it, go to the first of it."""
        if self.run.signed is not None:
            self.app.bell()
        else:
            self.dismiss(blocked(self.run) if why_not_signed(self.run) else ReviewAnswer("sign"))

    def action_hold(self) -> None:
        """Hold."""
        if self.run.signed is not None:
            self.app.bell()
        else:
            self.dismiss(ReviewAnswer("hold"))
