"""The audit: today, the list of records with filters, one record whole, patterns and trends; a countersignature."""

from __future__ import annotations

import asyncio
import sqlite3
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import work
from textual.binding import Binding, BindingType
from textual.worker import Worker, WorkerState, get_current_worker

from preflight.audit.period import Period
from preflight.audit.queries import EVERYTHING
from preflight.errors import PreflightError
from preflight.tui.audit_bars import KEYS, SIGN, foot_line, top_lines
from preflight.tui.audit_desk import REVEAL_KEY, RecordPage
from preflight.tui.audit_lines import record_lines, section_lines
from preflight.tui.modes.audit_dialogues import AuditDialogues
from preflight.tui.painting import wrap
from preflight.tui.widgets.audit_pane import AuditPane
from preflight.tui.widgets.cells import PicturePane

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult

    from preflight.audit.queries import Filter, Listed
    from preflight.audit.sections import Section
    from preflight.tui.audit_desk import AuditDesk
    from preflight.tui.charset import Charset

T = TypeVar("T")
WORKING = "Patterns are being worked out."


class AuditScreen(AuditDialogues):
    """Shows one view at a time in one pane; the index fills behind it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(key, action, label, id=f"audit.{action}", show=False) for key, action, label in (*KEYS, SIGN)),
        Binding("enter", "open", "open the record", id="audit.open", show=False),
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("pageup", "leap(-1)", show=False),
        Binding("pagedown", "leap(1)", show=False),
        Binding(REVEAL_KEY.lower(), "reveal", "show what is hidden", id="audit.reveal", show=False),
        Binding("ctrl+x", "cancel", "stop reading records", id="audit.cancel", show=False),
    ]
    DEFAULT_CSS = """
    AuditScreen {
        #audit-top { height: 1; padding: 0; background: $panel; }
        #audit-pane { height: 1fr; }
        #audit-foot { height: 1; padding: 0; background: $background; }
    }
    """

    def __init__(self, desk: AuditDesk, charset: Charset) -> None:
        super().__init__()
        self.desk = desk
        self.charset = charset
        self.view = "today"
        self.only: Filter = EVERYTHING
        self.days, self.days_label = Period(), ""
        self.page = RecordPage((), 0)
        self.notice = ""
        self.top = PicturePane(charset, id="audit-top")
        self.pane = AuditPane(charset, id="audit-pane")
        self.foot = PicturePane(charset, id="audit-foot")
        self._sections: Sequence[Section] = ()
        self._rows_came = False
        self._reading = False
        self._wanted = "today"
        """The view asked for last; it may still be on its way."""
        self._opened: Listed | None = None
        self._revealed = False

    def compose(self) -> ComposeResult:
        """Three widgets, however many records."""
        yield self.top
        yield self.pane
        yield self.foot

    def on_mount(self) -> None:
        """Show what the index knows, and read what it lacks."""
        self._bars()
        self.action_today()
        self.read_records()

    def on_unmount(self) -> None:
        """The reading ends with the screen."""
        self.desk.close()

    @work(thread=True, exclusive=True, group="fill", exit_on_error=False)
    def read_records(self) -> None:
        """Fill the index; lists stay usable meanwhile."""
        worker = get_current_worker()

        def progress(done: int, total: int) -> None:
            if worker.is_cancelled:
                self.desk.cancel()
            elif total:
                self.app.call_from_thread(self._read, done, total)

        try:
            said = self.desk.fill(progress)
        except (PreflightError, sqlite3.Error, OSError) as error:
            said = str(error)
        if not worker.is_cancelled:
            self.app.call_from_thread(self._filled, said)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A failure of the reading that nobody foresaw ends the app like any other, while the screen is open."""
        if event.worker.group == "fill" and event.worker.error is not None and event.state is WorkerState.ERROR:
            raise event.worker.error

    def _read(self, done: int, total: int) -> None:
        self._reading = True
        self.say(f"Reading records {done} of {total} (^X stops)")
        first, self._rows_came = not self._rows_came and done > 0, done > 0
        if first and self._wanted in ("today", "list"):
            self._again()

    def _filled(self, said: str) -> None:
        self._reading = False
        self.say(said)
        if self.desk.changed:
            self._again()

    def _again(self) -> None:
        """What is shown, with the records that were read meanwhile; a record and a place in the list stay."""
        if self._wanted == "list" and not self.pane.cursor:
            self.action_list()
        elif self._wanted == "today":
            self._show("today", self.desk.today)
        elif self._wanted == "patterns":
            self.action_patterns()
        elif self._wanted == "trends":
            self.action_trends()

    def say(self, text: str) -> None:
        """A sentence in the top bar."""
        self.notice = text
        self._bars()

    def _bars(self) -> None:
        record, width = self.shown_record(), max(20, self.size.width)
        view = f"record {record.sequence}" if record is not None else self.view
        count = f"{self.page.total} records " if self.view == "list" else ""
        self.top.picture = top_lines(view, self._narrowed(), self.notice or count, width)
        self.top.styles.height = len(self.top.picture)
        self.foot.picture = [foot_line(width, record=record is not None)]
        self.top.repaint()
        self.foot.repaint()

    def _narrowed(self) -> str:
        """What the view is narrowed to; nothing for views that show everything."""
        machine = self.page.names.get(self.only.machine, self.only.machine)
        rest = (self.only.person, self.only.verdict, self.only.kind, self.days_label)
        if self.view == "patterns" and self.only != EVERYTHING:
            return "of everything: narrowing does not count here"
        shown = {"list": (machine, *rest), "record": (machine, *rest), "trends": (machine,)}.get(self.view, ())
        return ", ".join(text for text in shown if text)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """F8 signs beneath the record that is open, and narrows everywhere else."""
        return (self.view == "record") == (action == "countersign") if action in ("narrow", "countersign") else True

    def on_resize(self) -> None:
        """Lines are made anew for the width."""
        self._bars()
        self._paint(self.pane.cursor)

    def _paint(self, cursor: int | None = None) -> None:
        width = max(30, self.size.width)
        if self.view == "list":
            lines = record_lines(self.page.rows, self.page.names, width, self.charset)
            none = [[(text, "dim")] for text in wrap(self._no_row(), width)]
            self.pane.show(lines or none, cursor if lines else None)
        else:
            self.pane.show(section_lines(self._sections, width))

    def _no_row(self) -> str:
        if self.only == EVERYTHING:
            return self.page.nothing
        return "No record is left by this filter: F8 changes it."

    async def asked(self, question: Callable[[], T]) -> T | None:
        try:
            return await self.desk.ask(asyncio.get_running_loop(), question)
        except (PreflightError, sqlite3.Error, OSError) as error:
            if self.is_attached:
                self.say(str(error))
            return None

    @work(exclusive=True, group="view")
    async def _show(self, view: str, *questions: Callable[[], list[Section]]) -> None:
        """The answer of each question replaces that of the one before."""
        for question in questions:
            found = await self.asked(question)
            if found is not None:
                self.view, self._sections = view, found
                if self.notice == WORKING:
                    self.notice = ""
                self._bars()
                self._paint()

    @work(exclusive=True, group="view")
    async def _load(self, question: Callable[[], RecordPage], at_end: bool = False) -> None:
        page = await self.asked(question)
        if page is not None and (page.rows or self.view != "list" or not self.page.rows or page.total == 0):
            self.view, self.page = "list", page
            self._bars()
            self._paint(len(page.rows) - 1 if at_end else 0)

    def _begin(self, view: str) -> None:
        """That view is asked for; what was said about the one before is over."""
        self._wanted = view
        if not self._reading:
            self.notice = ""
            self._bars()

    # actions

    def action_today(self) -> None:
        """What a lead acts on today."""
        self._begin("today")
        self._show("today", lambda: self.desk.today(whole=False), self.desk.today)

    def action_patterns(self) -> None:
        """Flags worth a talk."""
        self._begin("patterns")
        if not self._reading:
            self.say(WORKING)
        self._show("patterns", self.desk.patterns)

    def action_trends(self) -> None:
        """Trends of the machine the list is narrowed to, or the drifting ones of all."""
        self._begin("trends")
        self._show("trends", lambda: self.desk.trends(self.only.machine))

    def action_list(self) -> None:
        """The newest records."""
        self._begin("list")
        self._load(lambda: self.desk.page(self.only))

    def action_open(self) -> None:
        """The current record whole."""
        if self.view == "list" and self.pane.cursor is not None:
            self.open_record(self.page.rows[self.pane.cursor])

    def open_record(self, one: Listed) -> None:
        """Show that record whole."""
        self._begin("record")
        self._opened, self._revealed = one, False
        self._show("record", lambda: self.desk.record(one))

    def action_reveal(self) -> None:
        """On a record's page show what a correction hides, or hide it again."""
        one = self.shown_record()
        if one is not None:
            self._revealed = reveal = not self._revealed
            self._show("record", lambda: self.desk.record(one, reveal=reveal))

    def shown_record(self) -> Listed | None:
        """The record that is open; None in another view."""
        return self._opened if self.view == "record" else None

    def on_audit_pane_opened(self) -> None:
        """A click on the current line."""
        self.action_open()

    def action_back(self) -> None:
        """From a record to the list where it was, else to the run."""
        if self.view == "record":
            place = next((n for n, one in enumerate(self.page.rows) if one == self._opened), 0)
            self._begin("list")
            self.view = "list"
            self._bars()
            self._paint(place)
            self.app.screen_change_signal.publish(self)  # a second Esc typed for the record does not leave the list
        else:
            self.dismiss(None)

    def action_move(self, step: int) -> None:
        """One line; at the end of a page the next page."""
        if not self.pane.move(step) and self.view == "list":
            self._turn(step)

    def action_leap(self, step: int) -> None:
        """One screen."""
        if not self.pane.move(step * max(1, self.pane.size.height - 1)) and self.view == "list":
            self._turn(step)

    def _turn(self, step: int) -> None:
        if not self.page.rows:
            return
        if step > 0:
            last = self.page.rows[-1].key
            self._load(lambda: self.desk.page(self.only, after=last))
        else:
            first = self.page.rows[0].key
            self._load(lambda: self.desk.page(self.only, before=first), at_end=True)

    def action_cancel(self) -> None:
        """Stop reading records; the rest comes the next time."""
        self.desk.cancel()
