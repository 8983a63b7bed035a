"""The audit: today, the list of records with filters, one record whole, patterns and trends. Changes no record."""

from __future__ import annotations

import asyncio
import sqlite3
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import work
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.worker import get_current_worker

from preflight.audit.queries import EVERYTHING
from preflight.errors import PreflightError
from preflight.tui.audit_desk import COLUMNS, RecordPage
from preflight.tui.audit_lines import record_line, section_lines
from preflight.tui.dialogues.pick import pick
from preflight.tui.painting import filled, spread
from preflight.tui.widgets.audit_pane import AuditPane
from preflight.tui.widgets.cells import PicturePane
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult

    from preflight.audit.queries import Filter
    from preflight.audit.sections import Section
    from preflight.tui.audit_desk import AuditDesk
    from preflight.tui.charset import Charset

T = TypeVar("T")
KEYS = (
    ("f2", "today", "today"),
    ("f3", "list", "records"),
    ("f4", "patterns", "patterns"),
    ("f7", "trends", "trends"),
    ("f8", "narrow", "narrow"),
    ("escape", "back", "back"),
)
"""Key, action and label, in the order of the footer."""


def narrowed_by(only: Filter, column: str, value: str) -> Filter:
    """The filter with one column changed; an empty value takes it away."""
    given = {name: getattr(only, name) for name in COLUMNS} | {column: value}
    return replace(only, machine=given["machine"], person=given["person"], verdict=given["verdict"], kind=given["kind"])


class AuditScreen(Screen[None]):
    """Shows one view at a time in one pane; the index fills behind it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(key, action, label, id=f"audit.{action}", show=False) for key, action, label in KEYS),
        Binding("enter", "open", "open the record", id="audit.open", show=False),
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("pageup", "leap(-1)", show=False),
        Binding("pagedown", "leap(1)", show=False),
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
        self.page = RecordPage((), 0)
        self.notice = ""
        self.top = PicturePane(charset, id="audit-top")
        self.pane = AuditPane(charset, id="audit-pane")
        self.foot = PicturePane(charset, id="audit-foot")
        self._sections: Sequence[Section] = ()

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

    def _read(self, done: int, total: int) -> None:
        first = not self.notice
        self.notice = f"Reading records {done} of {total} (^X stops)"
        self._bars()
        if (first or done == total) and self.view in ("today", "list"):
            self._again()

    def _filled(self, said: str) -> None:
        read = bool(self.notice)
        self.notice = said
        self._bars()
        if read:
            self._again()

    def _again(self) -> None:
        if self.view == "today":
            self.action_today()
        elif self.view == "list" and not self.pane.cursor:
            self.action_list()

    def _bars(self) -> None:
        chosen = (self.page.names.get(self.only.machine, self.only.machine), self.only.person)
        narrowed = ", ".join(text for text in (*chosen, self.only.verdict, self.only.kind) if text)
        width = max(20, self.size.width)
        left = [(f" records: {self.view} ", "strong"), (f" {narrowed}" if narrowed else "", "text")]
        count = f"{self.page.total} records " if self.view == "list" else ""
        self.top.picture = [spread(left, [(self.notice or count, "dim")], width)]
        keys = [(key.upper() if key != "escape" else "Esc", label) for key, _, label in KEYS]
        line = [part for key, label in keys for part in ((f" {key}", "key"), (f" {label} ", "dim"))]
        self.foot.picture = [filled(line, width)]
        self.top.repaint()
        self.foot.repaint()

    def on_resize(self) -> None:
        """Lines are made anew for the width."""
        self._bars()
        self._paint(self.pane.cursor)

    def _paint(self, cursor: int | None = None) -> None:
        width = max(30, self.size.width)
        if self.view == "list":
            lines = [record_line(one, self.page.names, width, self.charset) for one in self.page.rows]
            self.pane.show(lines or [[("No record is left by this filter.", "dim")]], cursor if lines else None)
        else:
            self.pane.show(section_lines(self._sections, width))

    async def _asked(self, question: Callable[[], T]) -> T | None:
        try:
            return await self.desk.ask(asyncio.get_running_loop(), question)
        except (PreflightError, sqlite3.Error) as error:
            self.notice = str(error)
            self._bars()
            return None

    @work(exclusive=True, group="view")
    async def _show(self, view: str, *questions: Callable[[], list[Section]]) -> None:
        """The answer of each question replaces that of the one before."""
        for question in questions:
            found = await self._asked(question)
            if found is not None:
                self.view, self._sections = view, found
                self._bars()
                self._paint()

    @work(exclusive=True, group="view")
    async def _load(self, question: Callable[[], RecordPage], at_end: bool = False) -> None:
        page = await self._asked(question)
        if page is not None and (page.rows or self.view != "list" or not self.page.rows or page.total == 0):
            self.view, self.page = "list", page
            self._bars()
            self._paint(len(page.rows) - 1 if at_end else 0)

    # actions

    def action_today(self) -> None:
        """What a lead acts on today."""
        self._show("today", lambda: self.desk.today(whole=False), self.desk.today)

    def action_patterns(self) -> None:
        """Flags worth a talk."""
        self._show("patterns", self.desk.patterns)

    def action_trends(self) -> None:
        """Trends of the machine the list is narrowed to, or the drifting ones of all."""
        self._show("trends", lambda: self.desk.trends(self.only.machine))

    def action_list(self) -> None:
        """The newest records."""
        self._load(lambda: self.desk.page(self.only))

    def action_open(self) -> None:
        """The current record whole."""
        if self.view == "list" and self.pane.cursor is not None:
            one = self.page.rows[self.pane.cursor]
            self._show("record", lambda: self.desk.record(one))

    def on_audit_pane_opened(self) -> None:
        """A click on the current line."""
        self.action_open()

    def action_back(self) -> None:
        """From a record to the list where it was, else to the run."""
        if self.view == "record":
            place = next((n for n, one in enumerate(self.page.rows) if self._is_shown(one.machine, one.sequence)), 0)
            self.view = "list"
            self._bars()
            self._paint(place)
        else:
            self.dismiss(None)

    def _is_shown(self, machine: str, sequence: int) -> bool:
        return bool(self._sections) and self._sections[0].title == f"Record {sequence} of {machine}"

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

    @work(exclusive=True, group="narrow")
    async def action_narrow(self) -> None:
        """Choose a column and a value; the list shows what is left."""
        picks = [Pick(name, name, getattr(self.only, name)) for name in COLUMNS]
        column = await pick(self.app, "Narrow the list by", [*picks, Pick("all", "show everything")], self.charset)
        if column == "all":
            self.only = EVERYTHING
        elif column is not None:
            values = await self._asked(lambda: self.desk.values(column)) or []
            names = await self._asked(self.desk.names) or {}
            shown = [Pick(value, names.get(value, value)) for value in values]
            value = await pick(self.app, column, [Pick("", "any"), *shown], self.charset)
            if value is None:
                return
            self.only = narrowed_by(self.only, column, value)
        else:
            return
        self.action_list()
