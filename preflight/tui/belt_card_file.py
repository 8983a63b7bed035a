"""The card file of a belt that was measured at the machine."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomli_w

from preflight.disk import Folder
from preflight.errors import PreflightError
from preflight.publishing import NotOfferedError
from preflight.shop.cards import BeltCard
from preflight.shop.files import LARGEST_FILE
from preflight.shop.folder import FOLDERS
from preflight.shop.head_names import folded

if TYPE_CHECKING:
    from preflight.tui.run import Run

BELTS = FOLDERS[BeltCard]


def new_card(run: Run, head_id: str) -> dict[str, Any] | None:
    """The card of a belt measured in this run for that head, as a table; None when its card was there before."""
    on = next((belt for belt in run.raw.get("belts", ()) if belt.get("head") == head_id), None)
    card = on.get("card") if on else None
    return card if isinstance(card, dict) else None


def card_file(run: Run, head_id: str) -> tuple[str, bytes] | None:
    """File stem and bytes of a new belt's card; None when the belt had one."""
    card = new_card(run, head_id)
    if card is None:
        return None
    stem = re.sub(r"[^A-Za-z0-9._-]+", "-", str(card["id"])).strip(".-") or f"new-{head_id}"
    return stem, tomli_w.dumps({key: value for key, value in card.items() if value is not None}).encode()


def write_cards(shop: Path, run: Run) -> None:
    """Write the card of each belt that this run measured for the first time; one that is there as it is, stays.

    PreflightError when one cannot be written, or another belt has its number.
    """
    assert run.view is not None
    cards = [card for head in run.view.machine.heads if (card := card_file(run, head.id)) is not None]
    if not cards:
        return
    try:
        with Folder.open(shop) as folder, folder.folder(BELTS, make=True) as files:
            for stem, data in cards:
                _write_card(files, stem, data)
    except (OSError, NotOfferedError) as error:
        reason = (error.strerror or str(error)) if isinstance(error, OSError) else "it cannot hold a new file safely"
        raise PreflightError(
            f"The card of a new belt cannot be written to {shop / BELTS}: {reason}.",
            "Nothing was saved and the draft is kept. Make the folder writable, then sign again.",
        ) from error


def _write_card(files: Folder, stem: str, data: bytes) -> None:
    taken = [name for entry in files.entries() if folded(name := Path(entry.name).stem) == folded(stem)]
    if not taken:
        files.create(f"{stem}.toml", data)
    elif taken != [stem] or files.read(f"{stem}.toml", LARGEST_FILE) != data:  # an earlier try may have written it
        raise PreflightError(
            f"There is a belt {taken[0]} already, so the new one cannot be called {stem}.",
            "Nothing was saved and the draft is kept. Chalk another number on it and type that.",
        )
