"""The card file of a belt that was measured at the machine."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import tomli_w

from preflight.tui.signoff import new_card

if TYPE_CHECKING:
    from preflight.tui.run import Run


def card_file(run: Run, head_id: str) -> tuple[str, bytes] | None:
    """File stem and bytes of a new belt's card; None when the belt had one."""
    card = new_card(run, head_id)
    if card is None:
        return None
    stem = re.sub(r"[^A-Za-z0-9._-]+", "-", str(card["id"])).strip(".-") or f"new-{head_id}"
    return stem, tomli_w.dumps({key: value for key, value in card.items() if value is not None}).encode()
