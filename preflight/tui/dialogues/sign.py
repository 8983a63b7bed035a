"""Sign-off: who, what the signature means, and the confirmation."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Button, Input, OptionList
from textual.widgets.option_list import Option

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

    def __init__(self, name: str, meanings: Sequence[str], charset: Charset) -> None:
        super().__init__(charset)
        self.signer = name
        self.meanings = meanings

    def fields(self) -> Iterable[Widget]:
        """Name, meaning, confirmation."""
        yield self.said("Name", "hint")
        yield Input(self.signer, compact=True, max_length=60, id="name")
        yield self.said("What the signature means", "hint")
        yield OptionList(*(Option(content([(f" {meaning}", "text")], self.charset)) for meaning in self.meanings))
        yield Button("sign", id="confirm", compact=True)

    def on_mount(self) -> None:
        """A picked name needs no second look."""
        self.query_one(OptionList).highlighted = 0
        (self.query_one(OptionList) if self.signer else self.query_one(Input)).focus()

    def on_input_submitted(self) -> None:
        """On to the meaning."""
        self.query_one(OptionList).focus()

    def on_option_list_option_selected(self) -> None:
        """On to the confirmation."""
        self.query_one(Button).focus()

    def on_button_pressed(self) -> None:
        """Signed, if there is a name."""
        name = self.query_one(Input).value.strip()
        at = self.query_one(OptionList).highlighted
        if not name:
            self.query_one(Input).focus()
            self.app.bell()
        else:
            self.dismiss(Signing(name, self.meanings[at or 0]))
