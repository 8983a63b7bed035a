"""After the job: one line a question, then who signs it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widgets import Button, Input

from preflight.checklist.secret import Secret
from preflight.tui.dialogues.frame import Dialogue
from preflight.tui.wiring import Finished

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.widget import Widget

    from preflight.tui.charset import Charset
    from preflight.tui.job_done import Asked


class JobDoneScreen(Dialogue[Finished]):
    """Returns the answers, or None."""

    title_text = "job done"
    keys_text = "Enter next   Esc back"
    CSS = f"{Dialogue.CSS} JobDoneScreen Input {{ margin-bottom: 0; }}"

    def __init__(
        self,
        name: str,
        questions: Sequence[Asked],
        charset: Charset,
        secret_word: str = "",
        refused: str = "",
        kept: dict[str, str] | None = None,
    ) -> None:
        super().__init__(charset)
        self.signer = name
        self.questions = questions
        self.secret_word = secret_word
        self.refused = refused
        self.kept = kept if kept is not None else {}
        """What was typed so far, by question; it outlives Esc. Never the secret."""

    def fields(self) -> Iterable[Widget]:
        """The questions, each over its answer; a name when none was picked, the secret where people have keys."""
        lines: list[Widget] = [self.said(self.refused)] if self.refused else []
        for one in self.questions:
            lines.append(self.said(one.question, "hint"))
            lines.append(Input(self.kept.get(one.key, one.first), compact=True, max_length=400, id=_id(one.key)))
        if not self.signer:
            lines += [self.said("Who saves this record?", "hint"), Input(compact=True, max_length=60, id="name")]
        if self.secret_word:
            secret = Input(password=True, compact=True, max_length=200, id="secret")
            lines += [self.said(f"{self.secret_word}, not shown", "hint"), secret]
        yield VerticalScroll(*lines, Button("save run record", id="confirm", compact=True), can_focus=False)

    def on_input_changed(self, event: Input.Changed) -> None:
        """What is typed is kept for the next time this opens."""
        key = next((one.key for one in self.questions if _id(one.key) == event.input.id), "")
        if key:
            self.kept[key] = event.value

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Next line, then the button."""
        self.focus_next()

    def on_button_pressed(self) -> None:
        """Saved, once somebody stands for it."""
        answers = {one.key: self.query_one(f"#{_id(one.key)}", Input).value for one in self.questions}
        name = self.signer or self.query_one("#name", Input).value.strip()
        secret = self.query_one("#secret", Input).value if self.secret_word else ""
        if not name or (self.secret_word and not secret):
            self.query_one("#secret" if name else "#name", Input).focus()
            self.app.bell()
        else:
            self.dismiss(Finished(answers, name, Secret(secret)))


def _id(key: str) -> str:
    return f"q-{key.replace('.', '-')}"
