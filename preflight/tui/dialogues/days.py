"""Days typed: the first and the last of a list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widgets import Button, Input, Static

from preflight.audit.period import Period, typed_period
from preflight.errors import PreflightError
from preflight.tui.dialogues.frame import Dialogue

if TYPE_CHECKING:
    from collections.abc import Iterable

    from textual.widget import Widget

    from preflight.tui.charset import Charset

QUESTIONS = (("first", "First day"), ("last", "Last day"))


class DaysScreen(Dialogue[Period]):
    """Returns the period, or None."""

    title_text = "days"
    keys_text = "Enter next   Esc back"

    def __init__(self, before: Period, charset: Charset) -> None:
        super().__init__(charset)
        self.before = before

    def fields(self) -> Iterable[Widget]:
        """Two days; either may stay empty."""
        yield self.said("Both days are included; an empty one leaves that end open. As in 2026-11-01.")
        for key, question in QUESTIONS:
            day = getattr(self.before, key)
            yield self.said(question, "hint")
            yield Input(day.isoformat() if day else "", compact=True, max_length=10, id=key)
        yield self.said("", "missing")
        yield Button("show", id="confirm", compact=True)

    def on_mount(self) -> None:
        """The first day first."""
        self.query_one("#first").focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Next line; the last one shows the list."""
        if event.input.id == "last":
            self.on_button_pressed()
        else:
            self.focus_next()

    def on_button_pressed(self) -> None:
        """Given back once both can be read."""
        first, last = (self.query_one(f"#{key}", Input).value for key, _ in QUESTIONS)
        try:
            self.dismiss(typed_period(first, last))
        except PreflightError as error:
            self.query_one(".missing", Static).update(Content(self.charset.plain(str(error))))
            self.app.bell()
