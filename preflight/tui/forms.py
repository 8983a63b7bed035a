"""What each form asks: sign, hold, job done, countersign, keep practice. No Textual here.

`name` is whoever was picked to sign, empty where a name is typed; `word` what they type to do so, empty for nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checklist.addition import COUNTERSIGNERS, MEANINGS
from preflight.tui.form import NAME, FieldKind, FormField, FormSpec, name_field, secret_field

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Sequence

    from preflight.tui.form import Filled, Refusal
    from preflight.tui.wiring import SecondPerson

    Save = Callable[[Filled], Awaitable[str]]
    OpensKey = Callable[[str], bool]

MEANING, ROLE, REMARK = "meaning", "role", "remark"
SECOND, SECOND_SECRET = "second", "second-secret"
"""Keys of fields."""
WHAT, TOLD, TRIED = "what", "told", "tried"
UNSIGNED = "This shop has no people yet: it is saved unsigned, and nobody checks name and role."


def sign_form(
    name: str, word: str, meanings: Sequence[str], second: SecondPerson, save: Save, opens_key: OpensKey
) -> FormSpec:
    """The release of a start-up; one meaning is read, several are chosen between. Two sign where it needs two."""
    chosen = FormField(MEANING, "What the signature means", FieldKind.CHOICE, choices=tuple(meanings))
    several = len(meanings) > 1
    return FormSpec(
        "sign",
        (*_typed_name(name), *((chosen,) if several else ()), *_secret(word), *_second(second)),
        "sign and release",
        save,
        intro=(
            *((second.why,) if second.why else ()),
            *_picked(name),
            *(() if several else tuple(f'"{one}"' for one in meanings)),
        ),
        opens_key=opens_key,
    )


def hold_form(name: str, word: str, stop: str, save: Save, opens_key: OpensKey, kept: dict[str, str]) -> FormSpec:
    """A start-up that does not go on; what stops it starts with what the checks say."""
    asked = (
        FormField(WHAT, "What stops it?", first=stop),
        FormField(TOLD, "Who was told?"),
        FormField(TRIED, "What was tried?"),
    )
    return FormSpec(
        "held record",
        (*asked, *_typed_name(name, "Who saves this record?"), *_secret(word)),
        "save held record",
        save,
        intro=_picked(name),
        opens_key=opens_key,
        kept=kept,
    )


def job_done_form(
    name: str,
    word: str,
    questions: Sequence[FormField],
    save: Save,
    check: Callable[[Filled], Refusal | None],
    opens_key: OpensKey,
    kept: dict[str, str],
) -> FormSpec:
    """What was really fed."""
    return FormSpec(
        "job done",
        (*questions, *_typed_name(name, "Who saves this record?"), *_secret(word)),
        "save run record",
        save,
        intro=_picked(name),
        check=check,
        opens_key=opens_key,
        kept=kept,
    )


def countersign_form(about: str, name: str, word: str, save: Save, opens_key: OpensKey) -> FormSpec:
    """A second signature beneath a record; without people the role is said, not known."""
    role = FormField(ROLE, "As", FieldKind.CHOICE, choices=COUNTERSIGNERS)
    remark = FormField(REMARK, "Remark", hint="may stay empty", required=False)
    return FormSpec(
        "countersign",
        (*_typed_name(name), *(() if word else (role,)), remark, *_secret(word)),
        "countersign",
        save,
        intro=(about, f'"{MEANINGS["countersign"]}"', *_picked(name), *(() if word else (UNSIGNED,))),
        opens_key=opens_key,
    )


def practice_form(name: str, word: str, meaning: str, save: Save, opens_key: OpensKey) -> FormSpec:
    """A drill put on record; under which name is still open."""
    return FormSpec(
        "PRACTICE",
        (name_field(first=name), *_secret(word)),
        "begin",
        save,
        intro=(f'"{meaning}"',),
        opens_key=opens_key,
    )


def signer_of(name: str, filled: Filled) -> str:
    """Who signs: picked before, or typed in the form."""
    return filled.texts.get(NAME, name)


def _picked(name: str) -> tuple[str, ...]:
    return (f"{name} signs.",) if name else ()


def _typed_name(name: str, question: str = "Name") -> tuple[FormField, ...]:
    return () if name else (name_field(question),)


def _secret(word: str) -> tuple[FormField, ...]:
    return (secret_field(word),) if word else ()


def _second(second: SecondPerson) -> tuple[FormField, ...]:
    """Who signs beside, and their secret."""
    if not second.why:
        return ()
    who = FormField(SECOND, "Who signs beside", FieldKind.CHOICE, choices=second.names)
    return who, secret_field("Their PIN or passphrase", SECOND_SECRET)
