"""The drafts of a shop from outside: their folder, who has one open now, since when, how far it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.checklist.draft import LARGEST_DRAFT, DraftError, decoded, read_holder
from preflight.checklist.lock import Lock, try_lock
from preflight.checklist.safe_copy import cannot_be_kept
from preflight.disk import Folder

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


def drafts_folder(shop: Path) -> Path:
    """The folder of a shop's drafts, made where there is none. DraftError when it cannot be used."""
    try:
        with Folder.open(shop) as files:
            files.folder(FOLDER, make=True).close()
    except OSError as error:
        raise DraftError(*cannot_be_kept(error, shop / FOLDER)) from error
    return shop / FOLDER


def open_draft(shop: Path, machine: str) -> OpenDraft | None:
    """The draft of that machine if a terminal has it open now. Changes nothing; what cannot be read counts as none."""
    try:
        with Folder.open(shop, FOLDER) as files, files.open_kept(f".{machine}.lock", make=False) as file:
            holder = read_holder(file)
            # Closing empties the file; a killed terminal leaves its name there without its lock.
            if holder is None or try_lock(file) is Lock.HELD:
                return None
            return _read(files, machine, holder)
    except OSError:
        return None


def _read(files: Folder, machine: str, holder: Holder) -> OpenDraft:
    """How far it is; on a moment when the file is being put in place, what is known without it."""
    try:
        found = decoded(files.read(f"{machine}.json", LARGEST_DRAFT), machine)
        content = found[1] if found else {}
        times = [datetime.fromisoformat(at) for at in content.get("entered", {}).values()]
        typed = content.get("typed", {})
        answers = sum(bool(typed.get(key)) for key in content.get("entered", {}))
        return OpenDraft(holder, answers, max(times, default=None))
    except (OSError, ValueError, TypeError, AttributeError):
        return OpenDraft(holder)
