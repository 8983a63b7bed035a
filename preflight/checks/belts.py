from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    return []
