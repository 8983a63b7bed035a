"""Sign-off: who, what the signature means, and the confirmation."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Button, Input, OptionList
from textual.widgets.option_list import Option

from preflight.checklist.secret import Secret
from preflight.tui.dialogues.frame import Dialogue, content
from preflight.tui.wiring import Signing

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.widget import Widget

    from preflight.tui.charset import Charset


class SignScreen(Dialogue[Signing]):
    """Returns name and meaning, or None."""

    title_text = "sign"
    keys_text = "Enter next   Esc back"

    def __init__(
        self, name: str, meanings: Sequence[str], charset: Charset, secret_word: str = "", refused: str = ""
    ) -> None:
        super().__init__(charset)
        self.secret_word = secret_word
        self.refused = refused
        self.signer = name
        self.meanings = meanings

    def fields(self) -> Iterable[Widget]:
        """Why the try before was refused; name, meaning, the secret where people have keys, confirmation."""
        if self.refused:
            yield self.said(self.refused)
        yield self.said("Name", "hint")
        yield Input(self.signer, compact=True, max_length=60, id="name")
        yield self.said("What the signature means", "hint")
        yield OptionList(*(Option(content([(f" {meaning}", "text")], self.charset)) for meaning in self.meanings))
        if self.secret_word:
            yield self.said(f"{self.secret_word}, not shown", "hint")
            yield Input(password=True, compact=True, max_length=200, id="secret")
        yield Button("sign", id="confirm", compact=True)

    def on_mount(self) -> None:
        """A picked name needs no second look."""
        self.query_one(OptionList).highlighted = 0
        again = self.refused and self.signer and self.secret_word
        self.query_one("#secret" if again else "OptionList" if self.signer else "#name").focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """On to the meaning; from the secret to the confirmation."""
        self.query_one("#confirm" if event.input.id == "secret" else "OptionList").focus()

    def on_option_list_option_selected(self) -> None:
        """On to the secret, or the confirmation."""
        self.query_one("#secret" if self.secret_word else "#confirm").focus()

    def on_button_pressed(self) -> None:
        """Signed, if there is a name."""
        name = self.query_one("#name", Input).value.strip()
        secret = Secret(self.query_one("#secret", Input).value if self.secret_word else "")
        at = self.query_one(OptionList).highlighted
        if not name:
            self.query_one("#name").focus()
            self.app.bell()
        elif self.secret_word and not secret.reveal():
            self.query_one("#secret").focus()
            self.app.bell()
        else:
            self.dismiss(Signing(name, self.meanings[at or 0], secret))
