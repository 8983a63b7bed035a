"""A draft that some terminal has open now, looked at from outside: who has it, since when, how far it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.checklist.draft import decoded, read_holder
from preflight.checklist.lock import Lock, try_lock

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.draft import Holder

FOLDER = "drafts"
"""Folder of a shop that holds them."""


@dataclass(frozen=True, slots=True)
class OpenDraft:
    """One machine's."""

    holder: Holder
    answers: int = 0
    """How many were given; what was carried over from earlier records does not count."""
    newest: datetime | None = None
    """When one was last given; None when none was."""


def open_draft(shop: Path, machine: str) -> OpenDraft | None:
    """The draft of that machine if a terminal has it open now. Changes nothing; what cannot be read counts as none."""
    folder = shop / FOLDER
    try:
        with (folder / f".{machine}.lock").open("r+b", buffering=0) as file:
            holder = read_holder(file)
            # Closing empties the file; a killed terminal leaves its name there without its lock.
            if holder is None or try_lock(file) is Lock.HELD:
                return None
    except OSError:
        return None
    return _read(folder, machine, holder)


def _read(folder: Path, machine: str, holder: Holder) -> OpenDraft:
    """How far it is; on a moment when the file is being put in place, what is known without it."""
    try:
        found = decoded((folder / f"{machine}.json").read_bytes(), machine)
        content = found[1] if found else {}
        times = [datetime.fromisoformat(at) for at in content.get("entered", {}).values()]
        typed = content.get("typed", {})
        answers = sum(bool(typed.get(key)) for key in content.get("entered", {}))
        return OpenDraft(holder, answers, max(times, default=None))
    except (OSError, ValueError, TypeError, AttributeError):
        return OpenDraft(holder)
