"""The card file of a belt that was measured at the machine."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import tomli_w

from preflight.checklist.publish import write_durably

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.tui.run import Run


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
    """Write the card of each belt that this run measured for the first time; a card that is there stays as it is."""
    assert run.view is not None
    for head in run.view.machine.heads:
        made = card_file(run, head.id)
        if made is None:
            continue
        folder = shop / "belts"
        folder.mkdir(exist_ok=True)
        path = folder / f"{made[0]}.toml"
        if not path.exists():
            temporary = folder / f".{made[0]}.tmp"
            temporary.unlink(missing_ok=True)
            write_durably(temporary, made[1])
            temporary.replace(path)
