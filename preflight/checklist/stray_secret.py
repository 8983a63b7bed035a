"""A PIN or passphrase that was typed into a line of text: recognised before that text goes into a record for good."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from preflight.checklist.people import SHORTEST_PASSPHRASE, SHORTEST_PIN, secret_fault

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from preflight.checklist.secret import Secret

DIGITS_ALONE = 6
"""So many digits and nothing else are no name and no remark: a PIN, or most of one."""
TELLING = 5
"""A secret at least so long is looked for inside a text; a shorter one, which opens nothing, is compared whole."""


def looks_like_secret(text: str, *, spaced: bool = True) -> bool:
    """Digits alone, or a PIN typed twice; `spaced`: also in groups, which of a row of readings says nothing.

    >>> [looks_like_secret(text) for text in ("4819 0375", "air 4819037548190375", "SN 48190375", "belt 2")]
    [True, True, False, False]
    """
    plain = re.sub(r"[\s.\-]", "", text) if spaced else text.strip()
    if plain.isdecimal() and len(plain) >= DIGITS_ALONE:
        return True
    return any(_twice(run) for run in re.findall(r"[0-9]+", text))


def _twice(run: str) -> bool:
    half = len(run) // 2
    return len(run) % 2 == 0 and half >= DIGITS_ALONE and run[:half] == run[half:]


def holds_secret(text: str, secrets: Iterable[Secret]) -> bool:
    """Whether the text is one of these secrets, or has one in it."""
    plain = _plain(text)
    for secret in secrets:
        word = _plain(secret.reveal())
        if word and (word == plain or (len(word) >= TELLING and word in plain)):
            return True
    return False


def possible_secrets(text: str, role: str) -> Iterator[str]:
    """The parts of a text that may be the secret of somebody of that role: few texts have any, and each costs a try.

    >>> list(possible_secrets("pressed 48190375 twice", "operator"))
    ['48190375']
    >>> list(possible_secrets("told the lead", "lead"))
    []
    """
    if role == "lead":
        whole = text.strip()
        yield from [whole] if len(whole) >= SHORTEST_PASSPHRASE and not secret_fault(role, whole) else []
        return
    runs = dict.fromkeys(re.findall(rf"[0-9]{{{SHORTEST_PIN},}}", text))
    yield from (run for run in runs if not secret_fault(role, run))


def typed_part(text: str, first: str) -> str:
    """What a person added to the text that stood there first, wherever in it.

    >>> typed_part("head 1 reads 5.1 bar ash oak and beech", "head 1 reads 5.1 bar")
    'ash oak and beech'
    """
    start = next((n for n, (a, b) in enumerate(zip(text, first, strict=False)) if a != b), min(len(text), len(first)))
    rest, left = text[start:], first[start:]
    end = next(
        (n for n, (a, b) in enumerate(zip(reversed(rest), reversed(left), strict=False)) if a != b),
        min(len(rest), len(left)),
    )
    return rest[: len(rest) - end].strip()


def _plain(text: str) -> str:
    return unicodedata.normalize("NFC", text).strip()
