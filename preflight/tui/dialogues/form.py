"""The one form behind every signature: fields as data, refusals in front of them, and a key of its own that saves.

It stays open until the record is saved, so that what was typed stands where it stood when something was refused.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Button, Input, OptionList, Static
from textual.widgets.option_list import Option

from preflight.checklist.secret import Secret
from preflight.checklist.stray_secret import typed_part
from preflight.errors import PreflightError, out_of_reach
from preflight.tui.dialogues.frame import Dialogue, content
from preflight.tui.form import FieldKind, Filled, FormField, FormSpec, Refusal, Saved, missing, stray, taken_out, unread
from preflight.tui.painting import wrap

if TYPE_CHECKING:
    from collections.abc import Iterable

    from textual.events import Resize
    from textual.widget import Widget

    from preflight.tui.charset import Charset

CONFIRM = "F8"
CONFIRM_KEYS = "f8,ctrl+s"
"""Keys that save: no Enter, and nothing that can be part of a PIN, a passphrase or an answer. F8 stands on the button;
Ctrl+S is for terminals without function keys."""
SAVING = "Saving the record."
OPENING = "Opening the key, then saving the record: about a second."
BESIDE = 4
"""Columns that the frame takes."""


class ConfirmButton(Button, inherit_bindings=False):
    """Does not react to Enter: a chain of Enters ends here."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,space", "screen.not_by_enter", show=False)]


class Form(Dialogue[Saved]):
    """Returns what was saved, or None."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding(CONFIRM_KEYS, "confirm", "save", show=False)]
    # a screen's CSS stands in place of that of its parent
    CSS = f"""
    {Dialogue.CSS}
    Form Input {{ margin-bottom: 0; }}
    Form #refusal {{ display: none; height: auto; color: $stop; text-style: bold; }}
    Form #refusal.-shown {{ display: block; }}
    Form #refusal.-quiet {{ color: $foreground; text-style: none; }}
    """

    def __init__(self, spec: FormSpec, charset: Charset) -> None:
        super().__init__(charset)
        self.spec = spec
        self.title_text = spec.title
        self.keys_text = f"Enter next   {CONFIRM} {spec.confirm}   Esc back"
        self.saving = False
        self._typed_secrets: list[Secret] = []
        """Everything that stood in a field for a secret: none of it may stand anywhere else."""
        self._clean: set[str] = set()
        """Texts that were tried at the keys and open none."""

    # what is shown ------------------------------------------------------------------------------------------------

    def fields(self) -> Iterable[Widget]:
        """The refusal, fixed; under it what scrolls: the sentences, the fields, the button."""
        yield Static(id="refusal")
        lines: list[Widget] = [self.said(text) for text in self.spec.intro]
        for one in self.spec.fields:
            lines += [self.said(f"{one.label}  {one.hint}".rstrip(), "hint"), self._entry(one)]
        lines.append(ConfirmButton(f"{self.spec.confirm}: {CONFIRM} or Ctrl+S", id="confirm", compact=True))
        yield VerticalScroll(*lines, can_focus=False, id="fields")

    def _entry(self, one: FormField) -> Widget:
        shown = self.spec.kept.get(one.key, one.first) if one.kept and not one.is_secret else one.first
        if one.kind is FieldKind.CHOICE:
            choices = OptionList(
                *(Option(content([(f" {text}", "text")], self.charset)) for text in one.choices), id=one.key
            )
            choices.highlighted = one.choices.index(shown) if shown in one.choices else 0
            return choices
        return Input(shown, password=one.is_secret, compact=True, max_length=one.longest, id=one.key)

    def on_mount(self) -> None:
        """The first field first, the button where there is none."""
        self._focus(self.spec.fields[0].key if self.spec.fields else "confirm")

    def on_resize(self, _: Resize) -> None:
        """The fields take what the refusal leaves."""
        self._fit()

    def tell(self, statement: str, *, quiet: bool = False) -> None:
        """A sentence in front of the form; empty: none."""
        line = self.query_one("#refusal", Static)
        line.set_class(bool(statement), "-shown")
        line.set_class(quiet, "-quiet")
        line.update(Content(self.charset.plain(statement)))
        self._fit()

    def _fit(self) -> None:
        line, room = self.query_one("#refusal", Static), self.size.height - 3
        frame = min(74, self.size.width) - BESIDE
        if line.has_class("-shown"):
            room -= len(wrap(str(line.content), frame))
        self.query_one("#fields").styles.max_height = max(3, room)
        self.call_after_refresh(self._into_view)

    def _focus(self, key: str) -> None:
        self.query_one(f"#{key}").focus()
        self.call_after_refresh(self._into_view)

    def _into_view(self) -> None:
        """Where the next key goes stands in what the refusal leaves of the form."""
        if self.focused is not None:
            self.focused.scroll_visible(animate=False)

    # filling it in ------------------------------------------------------------------------------------------------

    def on_input_changed(self, event: Input.Changed) -> None:
        """What is typed is kept for the next time this opens."""
        one = self._field(event.input.id)
        if one is not None and one.kept and not one.is_secret:
            self.spec.kept[one.key] = event.value

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """On to the next field, once this one will do; said by name, so that a doubled Enter skips nothing."""
        one = self._field(event.input.id)
        if one is None or self.saving:
            return
        filled = self.filled()
        alone = [one]
        refusal = stray(one, event.value, self._typed_secrets) or missing(alone, filled) or unread(alone, filled)
        if refusal is not None:
            self.refuse(refusal)
            return
        self.tell("")
        self._focus(self._after(one))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """On to the next field."""
        one = self._field(event.option_list.id)
        if one is not None:
            self.spec.kept[one.key] = one.choices[event.option_index]
            self._focus(self._after(one))

    def _after(self, one: FormField) -> str:
        keys = [other.key for other in self.spec.fields]
        return [*keys, "confirm"][keys.index(one.key) + 1]

    def _field(self, key: str | None) -> FormField | None:
        return next((one for one in self.spec.fields if one.key == key), None)

    def filled(self) -> Filled:
        """What stands in the form."""
        texts: dict[str, str] = {}
        secrets: dict[str, Secret] = {}
        for one in self.spec.fields:
            if one.kind is FieldKind.CHOICE:
                texts[one.key] = one.choices[self.query_one(f"#{one.key}", OptionList).highlighted or 0]
            elif one.is_secret:
                secrets[one.key] = Secret(self.query_one(f"#{one.key}", Input).value)
            else:
                texts[one.key] = self.query_one(f"#{one.key}", Input).value.strip()
        self._typed_secrets += [secret for secret in secrets.values() if secret.reveal()]
        return Filled(texts, secrets)

    def refuse(self, refusal: Refusal) -> None:
        """Say why, and go where it is put right."""
        self.tell(refusal.statement)
        if refusal.emptied:
            self.query_one(f"#{refusal.key}", Input).value = ""
            self.spec.kept.pop(refusal.key, None)
        if refusal.key:
            self._focus(refusal.key)
        self.app.bell()

    # saving -------------------------------------------------------------------------------------------------------

    def dismiss(self, result: Saved | None = None) -> AwaitComplete:
        """Close with that answer. While the record is being saved nobody leaves, by whatever key."""
        if self.saving and result is None:
            self.app.bell()
            return AwaitComplete(asyncio.sleep(0))
        return super().dismiss(result)

    def action_not_by_enter(self) -> None:
        """Enter on the button."""
        self.tell(f"Enter does not do this: {CONFIRM}, or Ctrl+S.", quiet=True)
        self.app.bell()

    def on_button_pressed(self) -> None:
        """A click."""
        self.action_confirm()

    def action_confirm(self) -> None:
        """Save, once every field will do."""
        if self.saving:
            self.app.bell()
            return
        filled = self.filled()
        if (refusal := self._refusal(filled)) is not None:
            self.refuse(refusal)
        else:
            self._lock(True)
            self._save(filled)

    def _refusal(self, filled: Filled) -> Refusal | None:
        """Secrets in the wrong place before all else: no other sentence may repeat one."""
        fields = self.spec.fields
        strays = (stray(one, filled.texts.get(one.key, ""), self._typed_secrets) for one in fields)
        return (
            next((refusal for refusal in strays if refusal is not None), None)
            or missing(fields, filled)
            or unread(fields, filled)
            or self.spec.check(filled)
        )

    @work(exclusive=True, group="form")
    async def _save(self, filled: Filled) -> None:
        self.tell(OPENING if filled.secrets else SAVING, quiet=True)
        refusal = await self._opening(filled)
        sentence = ""
        if refusal is None:
            try:
                sentence = await self.spec.save(filled)
            except (PreflightError, OSError) as error:
                said = error if isinstance(error, PreflightError) else out_of_reach(error)
                secret = next((one.key for one in self.spec.fields if one.is_secret), "")
                refusal = Refusal(secret, str(said), emptied=bool(secret))
        if refusal is None:
            self.dismiss(Saved(sentence, Filled(filled.texts)))
            return
        self._lock(False)
        for one in self.spec.fields:
            if one.is_secret:
                self.query_one(f"#{one.key}", Input).value = ""
        self.refuse(refusal)

    async def _opening(self, filled: Filled) -> Refusal | None:
        """The first text that opens a key at hand."""
        for one in self.spec.fields:
            part = typed_part(filled.texts.get(one.key, ""), one.first)
            if one.kind is not FieldKind.TEXT or not part or part in self._clean:
                continue
            if await asyncio.to_thread(self.spec.opens_key, part):
                return taken_out(one, "opens a key")
            self._clean.add(part)
        return None

    def _lock(self, saving: bool) -> None:
        """While it is saved no key changes anything."""
        self.saving = saving
        self.query_one("#fields").disabled = saving
