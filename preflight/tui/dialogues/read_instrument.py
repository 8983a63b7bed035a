"""Practice: an instrument drawn to be read, and the reading that was typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Input

from preflight.tui.dialogues.frame import Dialogue
from preflight.tui.dialogues.reading import Prose

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.widget import Widget

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line


class Drawing(Prose):
    """Lines as drawn, never wrapped."""

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """Every line; what is too wide is cut at the edge."""
        return self.text


class ReadInstrumentScreen(Dialogue[str]):
    """Returns what was typed, or None."""

    title_text = "PRACTICE"
    keys_text = "Enter judge   Esc back"

    def __init__(self, ask: str, drawing: Sequence[Line], charset: Charset) -> None:
        super().__init__(charset)
        self.ask = ask
        self.drawing = drawing

    def fields(self) -> Iterable[Widget]:
        """The question, the instrument, the reading."""
        yield self.said(self.ask)
        yield Drawing(self.drawing, self.charset)
        yield Input(compact=True, max_length=20, id="reading")

    def on_mount(self) -> None:
        """There is one thing to type."""
        self.query_one(Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter with something typed."""
        if event.value.strip():
            self.dismiss(event.value.strip())
