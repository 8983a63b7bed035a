"""A machine named on the command line: by its id in the shop, by a file, or by the id its records are kept under."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preflight.checklist.register import chain_names
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    from pathlib import Path

_KEPT_UNDER = re.compile(r"m-[0-9a-f]{12}")


def records_of(shop: Path, ref: str) -> str:
    """Id under which the records of a machine are kept, "m-..."; it may be given itself, as `verify` prints it.

    Raises `PreflightError` for a machine that the shop does not know.
    """
    if _KEPT_UNDER.fullmatch(ref) and ref in chain_names(shop):
        return ref
    return shop_at(shop).load(Machine, ref).value.id
