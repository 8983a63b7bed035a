"""A form as data: its fields, what was filled in, and what keeps it from being saved. No Textual here."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

from preflight.checklist.stray_secret import holds_secret, looks_like_secret, typed_part
from preflight.outside_text import unfit
from preflight.tui.wiring import NO_SECRET

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping, Sequence

    from preflight.checklist.secret import Secret

NAME, SECRET = "name", "secret"
"""Keys of the fields that most forms have."""


class FieldKind(Enum):
    """How a field is answered."""

    TEXT = "typed"
    CHOICE = "chosen"
    SECRET = "typed, not shown"


@dataclass(frozen=True, slots=True)
class FormField:
    """One question of a form."""

    key: str
    label: str
    kind: FieldKind = FieldKind.TEXT
    hint: str = ""
    """How it is written, behind the label."""
    first: str = ""
    """What stands there at first: what the checks say, a tally. Never a reading."""
    choices: tuple[str, ...] = ()
    required: bool = True
    kept: bool = True
    """Stands again when the form is opened anew after Esc. A secret never does."""
    longest: int = 400
    reader: Callable[[str], str] | None = None
    """Says what is wrong with the text; empty: nothing."""

    @property
    def is_secret(self) -> bool:
        """Whether it is a PIN or passphrase."""
        return self.kind is FieldKind.SECRET


@dataclass(frozen=True, slots=True)
class Filled:
    """What was filled in."""

    texts: Mapping[str, str] = field(default_factory=dict)
    """By key, without blanks at the ends; of what is typed and of what is chosen."""
    secrets: Mapping[str, Secret] = field(default_factory=dict)

    @property
    def secret(self) -> Secret:
        """The one of whoever signs."""
        return self.secrets.get(SECRET, NO_SECRET)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a form is not saved as it stands, and where the next key goes."""

    key: str
    """The field to put right; empty: the one that is current stays."""
    statement: str
    emptied: bool = False
    """What stood in that field is taken out."""


@dataclass(frozen=True, slots=True)
class FormSpec:
    """What a form asks, and what it does in the end."""

    title: str
    fields: tuple[FormField, ...]
    confirm: str
    """What the button does: "sign and release"."""
    save: Callable[[Filled], Awaitable[str]]
    """Saves; the sentence that says where. A `PreflightError` is shown in the form, which stays."""
    intro: tuple[str, ...] = ()
    """Sentences over the fields: what is signed, by whom, what it means."""
    check: Callable[[Filled], Refusal | None] = lambda _: None
    """What is wrong with the answers together, before a key is opened; asked off the loop."""
    opens_key: Callable[[str], bool] = lambda _: False
    """Whether a text opens a key at hand: half a second for each that could be one, asked off the loop."""
    kept: dict[str, str] = field(default_factory=dict)
    """What was typed so far, by key; it outlives Esc. Never a secret."""


@dataclass(frozen=True, slots=True)
class Saved:
    """A form that was saved."""

    sentence: str
    filled: Filled


def name_field(label: str = "Name", first: str = "") -> FormField:
    """Somebody's name, typed."""
    return FormField(NAME, label, first=first, longest=60)


def secret_field(word: str, key: str = SECRET) -> FormField:
    """A PIN or passphrase; `word` says which."""
    return FormField(key, f"{word}, not shown", FieldKind.SECRET, longest=200)


def stray(one: FormField, text: str, secrets: Sequence[Secret]) -> Refusal | None:
    """The refusal of a text that is, or looks like, a secret typed into the wrong field. It repeats none of it."""
    if one.kind is not FieldKind.TEXT or not text.strip() or text.strip() == one.first.strip():
        return None
    if holds_secret(text, secrets):
        return taken_out(one, "held the PIN or passphrase")
    if looks_like_secret(typed_part(text, one.first), spaced=one.reader is None):
        return taken_out(one, "looked like a PIN")
    return None


def taken_out(one: FormField, why: str) -> Refusal:
    """A text that must not leave the form."""
    return Refusal(
        one.key, f"{one.label.rstrip('?:')}: what stood there {why}. It is taken out and kept nowhere.", True
    )


def missing(fields: Sequence[FormField], filled: Filled) -> Refusal | None:
    """All required fields that are empty, by name; the first of them is where the next key goes."""
    empty = [one for one in fields if one.required and not _given(one, filled)]
    if not empty:
        return None
    labels = [one.label if one.label.endswith("?") else f"{one.label}." for one in empty]
    return Refusal(empty[0].key, f"Still empty: {' '.join(labels)}")


def unread(fields: Sequence[FormField], filled: Filled) -> Refusal | None:
    """The first field whose text its reader refuses, or nobody can see; the sentence does not repeat the text."""
    for one in fields:
        text = filled.texts.get(one.key, "")
        if why := unfit(text):
            return Refusal(one.key, f"{one.label.rstrip('?:')}: {why}. Type it anew.")
        if one.reader is not None and text and (statement := one.reader(text)):
            return Refusal(one.key, statement.replace(repr(text), "this"))
    return None


def _given(one: FormField, filled: Filled) -> bool:
    return bool(filled.secrets.get(one.key, NO_SECRET).reveal() if one.is_secret else filled.texts.get(one.key))
