"""A start-up that cannot go on: what stops it, who was told, what was tried."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Button, Input

from preflight.tui.dialogues.frame import Dialogue
from preflight.tui.wiring import Holding

if TYPE_CHECKING:
    from collections.abc import Iterable

    from textual.widget import Widget

    from preflight.tui.charset import Charset

QUESTIONS = (("what", "What stops it?"), ("told", "Who was told?"), ("tried", "What was tried?"))


class HoldScreen(Dialogue[Holding]):
    """Returns the held record's texts, or None."""

    title_text = "held record"
    keys_text = "Enter next   Esc back"

    def __init__(self, name: str, stops: str, charset: Charset) -> None:
        super().__init__(charset)
        self.holder = name
        self.questions = QUESTIONS if name else (*QUESTIONS, ("name", "Who saves this record?"))
        self.stops = stops

    def fields(self) -> Iterable[Widget]:
        """Three lines of text, and a name when none was picked; the first starts with what the checks say."""
        for key, question in self.questions:
            yield self.said(question, "hint")
            yield Input(self.stops if key == "what" else "", compact=True, max_length=400, id=key)
        yield Button("save held record", id="confirm", compact=True)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Next line, then the button."""
        self.focus_next()

    def on_button_pressed(self) -> None:
        """Saved once all are answered."""
        texts = {key: self.query_one(f"#{key}", Input).value.strip() for key, _ in self.questions}
        empty = next((key for key, text in texts.items() if not text), None)
        if empty is not None:
            self.query_one(f"#{empty}", Input).focus()
            self.app.bell()
        else:
            self.dismiss(Holding(**{"name": self.holder, **texts}))
