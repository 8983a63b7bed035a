"""A start-up that cannot go on: what stops it, who was told, what was tried."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Button, Input, Static

from preflight.checklist.secret import Secret
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

    def __init__(
        self,
        name: str,
        stops: str,
        charset: Charset,
        secret_word: str = "",
        refused: str = "",
        kept: dict[str, str] | None = None,
    ) -> None:
        super().__init__(charset)
        self.secret_word = secret_word
        self.refused = refused
        self.kept = kept if kept is not None else {}
        """What was typed so far, by question; it outlives Esc. Never the secret."""
        self.holder = name
        self.questions = QUESTIONS if name else (*QUESTIONS, ("name", "Who saves this record?"))
        self.stops = stops

    def fields(self) -> Iterable[Widget]:
        """Three lines of text, and a name when none was picked; the first starts with what the checks say."""
        if self.refused:
            yield self.said(self.refused)
        for key, question in self.questions:
            yield self.said(question, "hint")
            first = self.stops if key == "what" else ""
            yield Input(self.kept.get(key, first), compact=True, max_length=400, id=key)
        if self.secret_word:
            yield self.said(f"{self.secret_word}, not shown", "hint")
            yield Input(password=True, compact=True, max_length=200, id="secret")
        yield self.said("", "missing")
        yield Button("save held record", id="confirm", compact=True)

    def on_input_changed(self, event: Input.Changed) -> None:
        """What is typed is kept for the next time this opens."""
        if event.input.id in dict(self.questions):
            self.kept[event.input.id] = event.value

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Next line, then the button."""
        self.focus_next()

    def on_button_pressed(self) -> None:
        """Saved once all are answered."""
        texts = {key: self.query_one(f"#{key}", Input).value.strip() for key, _ in self.questions}
        empty = [key for key, text in texts.items() if not text]
        if empty:
            missing = " ".join(question for key, question in self.questions if key in empty)
            self.query_one(".missing", Static).update(f"Still empty: {missing}")
            self.query_one(f"#{empty[0]}", Input).focus()
            self.app.bell()
        else:
            secret = Secret(self.query_one("#secret", Input).value if self.secret_word else "")
            self.dismiss(Holding(**{"name": self.holder, **texts}, secret=secret))
