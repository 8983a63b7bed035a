"""Signing beneath a record: who, a remark, and the secret where people have keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widgets import Button, Input, OptionList, Static
from textual.widgets.option_list import Option

from preflight.checklist.addition import COUNTERSIGNERS
from preflight.checklist.secret import Secret
from preflight.tui.audit_signing import MEANING, Countersigning
from preflight.tui.dialogues.frame import Dialogue, content

if TYPE_CHECKING:
    from collections.abc import Iterable

    from textual.widget import Widget

    from preflight.tui.charset import Charset

UNSIGNED = "This shop has no people yet: it is saved unsigned, and nobody checks name and role."


class CountersignScreen(Dialogue[Countersigning]):
    """Returns who countersigns and the remark, or None."""

    title_text = "countersign"
    keys_text = "Enter next   Esc back"
    # a screen's CSS stands in place of that of its parent
    CSS = f"""
    {Dialogue.CSS}
    CountersignScreen Input {{ margin-bottom: 0; }}
    """

    def __init__(
        self, about: str, charset: Charset, secret_word: str, before: Countersigning, refused: str = ""
    ) -> None:
        super().__init__(charset)
        self.about = about
        self.secret_word = secret_word
        self.before = before
        self.refused = refused

    def fields(self) -> Iterable[Widget]:
        """Why the try before was refused; the record and the meaning; name, role or secret, remark, confirmation."""
        lines: list[Widget] = [self.said(self.refused, "said missing")] if self.refused else []
        lines += [self.said(self.about), self.said(f'"{MEANING}"'), self.said("Name", "hint")]
        lines.append(Input(self.before.name, compact=True, max_length=60, id="name"))
        if not self.secret_word:
            roles = OptionList(*(Option(content([(f" {role}", "text")], self.charset)) for role in COUNTERSIGNERS))
            lines += [self.said(UNSIGNED), self.said("As", "hint"), roles]
        lines.append(self.said("Remark; may stay empty", "hint"))
        lines.append(Input(self.before.remark, compact=True, max_length=400, id="remark"))
        if self.secret_word:
            lines.append(self.said(f"{self.secret_word}, not shown", "hint"))
            lines.append(Input(password=True, compact=True, max_length=200, id="secret"))
        lines += [self.said("", "missing still"), Button("countersign", id="confirm", compact=True)]
        yield VerticalScroll(*lines, can_focus=False)

    def on_mount(self) -> None:
        """On to what is still to be given."""
        if not self.secret_word:
            known = self.before.role in COUNTERSIGNERS
            self.query_one(OptionList).highlighted = COUNTERSIGNERS.index(self.before.role) if known else 0
        first = "#name" if not self.before.name else "#secret" if self.refused and self.secret_word else "#remark"
        self.query_one(first).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Next line, then the button; said by name, so that a second Enter skips nothing."""
        after = {"name": "#remark" if self.secret_word else "OptionList", "remark": "#secret"}
        wanted = after.get(event.input.id or "", "#confirm")
        self.query_one(wanted if self.query(wanted) else "#confirm").focus()

    def on_option_list_option_selected(self) -> None:
        """On to the remark."""
        self.query_one("#remark").focus()

    def on_button_pressed(self) -> None:
        """Signed, once there is a name and, where people have keys, a secret."""
        name = self.query_one("#name", Input).value.strip()
        secret = Secret(self.query_one("#secret", Input).value if self.secret_word else "")
        if not name or (self.secret_word and not secret.reveal()):
            self.query_one(".still", Static).update(f"Still empty: {self.secret_word if name else 'name'}")
            self.query_one("#secret" if name else "#name").focus()
            self.app.bell()
            return
        at = None if self.secret_word else self.query_one(OptionList).highlighted
        role = "" if at is None else COUNTERSIGNERS[at]
        self.dismiss(Countersigning(name, role, self.query_one("#remark", Input).value.strip(), secret))
