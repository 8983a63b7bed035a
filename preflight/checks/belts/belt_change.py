"""Whether a head carries another belt than at the start-up before: told by the ids of belt cards."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import SetupSheet


def other_belts(sheet: SetupSheet, history: History | None) -> tuple[str, ...]:
    """Heads that carry another belt than at the start-up before; none when there was none."""
    if history is None or not history.last:
        return ()
    before = {on.get("head"): card_id(on.get("card")) for on in history.last.get("belts", ())}
    return tuple(
        on.head
        for on in sheet.belts
        if on.card is not None and before.get(on.head) and card_id(on.card) != before[on.head]
    )


def card_id(card: Any) -> str:
    """Id of a belt card that a sheet names, holds as a table, or holds as a model."""
    if isinstance(card, Mapping):
        return str(card.get("id", ""))
    return str(getattr(card, "id", card) or "")
