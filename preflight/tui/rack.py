"""The belts on the rack, judged for a head: kept with the run, since they follow from cards and job, not from keys."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable

    from preflight.checks.belts.belt_choice import BeltFit
    from preflight.shop.machine import Head
    from preflight.shop.view import ShopView
    from preflight.tui.run import Run


@dataclass(slots=True)
class Rack:
    """What was judged already for one view of the shop; another view makes it forget.

    The rows of a station are made several times a key, and a rack of a dozen belts takes milliseconds to judge.
    """

    _view: ShopView | None = None
    _judged: dict[Hashable, list[BeltFit]] = field(default_factory=dict)

    def belts(self, run: Run, view: ShopView, head: Head) -> list[BeltFit]:
        """Belt cards of this head or of none, those that fit head and job first."""
        from preflight.checks.belts.belt_choice import belts_for

        if self._view is not view:
            self._view, self._judged = view, {}
        sheet = run.sheet
        job = view.job(sheet) if sheet is not None else None
        on = sheet.belt_on(head.id) if sheet is not None else None
        platen = on.platen if on is not None and on.platen is not None else "lifted"
        at = sheet.at if sheet is not None else datetime.fromisoformat(str(run.base["at"]))
        key = (head.id, sheet.job if sheet is not None else None, platen)
        if not isinstance(key[1], str | None):  # a card of its own, with no name to keep it by
            return belts_for(own_cards(view, head), head, job, at, platen)
        if key not in self._judged:
            self._judged[key] = belts_for(own_cards(view, head), head, job, at, platen)
        return self._judged[key]


def own_cards(view: ShopView, head: Head) -> ShopView:
    """The view with the belt cards of this head, or of none."""
    return replace(view, belts={ref: card for ref, card in view.belts.items() if card.head in (None, head.id)})
