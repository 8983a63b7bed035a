"""Whose profiles and cards a command uses: one shop's, never two shops' together; the demo's only when it is said."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from preflight.cli.shop_path import NAME_IT, shop_path
from preflight.shop.folder import Shop, home_of, is_path, shop_at

if TYPE_CHECKING:
    from pathlib import Path


def shop_files(option: str | None, *refs: str | None) -> Shop:
    """The files of the shop folder; the demo's where there is none, and that is said unless only paths are named."""
    folder = shop_path(option).existing
    if folder is None and not (refs and all(ref is None or is_path(ref) for ref in refs)):
        print(f"NOTE: There is no shop folder, so these are the demo's profiles. {NAME_IT}", file=sys.stderr)
    return shop_at(folder)


def files_for_sheet(sheet: Path, option: str | None) -> Shop:
    """The files that a sheet's names are looked up in: the shop that `--shop` names, else the one it lies in, else the
    usual one. A bundled sample lies in the demo's."""
    if option:
        return shop_at(shop_path(option).existing)
    folder = home_of(sheet) or shop_path(None).existing
    return Shop(() if folder is None else (folder,))
