"""What a draft holds, as the run wants it: answers, when each was given, and what stood there before."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.outside_text import shown
from preflight.tui.signed import SIGNED

_NOTES = {"record": str, "since": int, "happened": str, SIGNED: int}
_RECORD_ID = re.compile(r"[A-Za-z0-9-]{8,64}")
RUN = "run"
"""Key of a draft: id of the run record that is being saved, and the chain's newest number before it."""

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.tui.wiring import Earlier, Times, Unaccepted


@dataclass(frozen=True, slots=True)
class Drafted:
    """A draft that was read."""

    typed: Mapping[str, str]
    entered: Times
    earlier: Earlier
    unaccepted: Mapping[str, tuple[datetime | None, str]]
    """Answers that were being typed: what was accepted in their place before."""
    record: Mapping[str, Any]
    """Id of the record it becomes, the chain's newest number when it was begun, the event that it follows, and the
    number of the record that it became already."""

    @property
    def began(self) -> datetime | None:
        """When an answer was last given; None when none was."""
        return max(self.entered.values(), default=None)

    @property
    def settled(self) -> dict[str, str]:
        """The answers that were accepted, each as it was accepted last."""
        return {**self.typed, **{key: text for key, (_, text) in self.unaccepted.items()}}


def draft_content(typed: Mapping[str, str], entered: Times, earlier: Earlier, unaccepted: Unaccepted) -> dict[str, Any]:
    """The plain tables of a draft: the inverse of `read_draft`."""
    return {
        "typed": dict(typed),
        "unaccepted": {key: [at.isoformat() if at else None, text] for key, (at, text) in unaccepted.items()},
        "entered": {key: at.isoformat() for key, at in entered.items()},
        "earlier": {
            key: [[at.isoformat() if at else None, text] for at, text in values] for key, values in earlier.items()
        },
    }


def read_draft(content: Mapping[str, Any]) -> Drafted | None:
    """The draft, or None when what it holds is not what a draft of ours holds."""
    tables = [content.get(name, {}) for name in ("typed", "entered", "earlier", "unaccepted")]
    if not all(isinstance(table, dict) for table in tables):
        return None
    typed, entered, earlier, unaccepted = tables
    try:
        times = {key: _moment(at) for key, at in entered.items()}
        before = {
            key: tuple((_moment(at) if at is not None else None, _text(text)) for at, text in values)
            for key, values in earlier.items()
        }
        standing = {
            key: (_moment(at) if at is not None else None, _text(text)) for key, (at, text) in unaccepted.items()
        }
        texts = {key: _text(text) for key, text in typed.items()}
    except (TypeError, ValueError):
        return None
    kept = {key: content[key] for key, kind in _NOTES.items() if type(content.get(key)) is kind}
    if not {"record", "since"} <= set(kept) or not _RECORD_ID.fullmatch(kept["record"]) or kept["since"] < 0:
        kept = {key: text for key, text in kept.items() if key not in ("record", "since")}  # it becomes a new one
    return Drafted(texts, times, before, standing, kept)


def _moment(value: object) -> datetime:
    at = datetime.fromisoformat(_text(value))
    if at.tzinfo is None:
        raise ValueError("a time without its offset")
    return at


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"text is wanted, not {value!r}")
    return shown(value)
