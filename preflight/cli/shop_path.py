"""Which folder is the shop: --shop, else PREFLIGHT_SHOP, else the user's data folder. Looking up makes nothing."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Mapping

VARIABLE = "PREFLIGHT_SHOP"
APP = "widebelt-preflight"
NAME_IT = f"Name yours with --shop DIR or {VARIABLE}, or make one with: preflight init DIR"
"""What to do where there is no shop folder."""


class NoShopError(PreflightError):
    """A shop folder that is not there."""


@dataclass(frozen=True, slots=True)
class ShopPath:
    """A shop folder, there or not, and what named it."""

    folder: Path
    why: str
    """"--shop", "PREFLIGHT_SHOP" or "the user's data folder"."""
    named: bool
    """Whether a person named it, rather than the default."""

    @property
    def existing(self) -> Path | None:
        """The folder; None when the default one has not been made yet. A named one that is missing is refused."""
        if self.folder.is_dir():
            return self.folder
        if self.named:
            state = "is not a folder" if self.folder.exists() else "does not exist"
            raise NoShopError(
                f"{self.folder}: this shop folder ({self.why}) {state}.",
                f"Make it with: preflight init {self.folder}, or name another with --shop DIR or {VARIABLE}.",
            )
        return None

    @property
    def needed(self) -> Path:
        """The folder, which has to be there: else `NoShopError`, with the three ways to come to one."""
        if (folder := self.existing) is None:
            raise NoShopError(f"There is no shop folder yet: {self.folder} ({self.why}) does not exist.", NAME_IT)
        return folder


def shop_path(option: str | None, environment: Mapping[str, str] = os.environ) -> ShopPath:
    """The shop folder for `--shop`'s value and an environment."""
    if option:
        return ShopPath(Path(option), "--shop", named=True)
    if chosen := environment.get(VARIABLE):
        return ShopPath(Path(chosen), VARIABLE, named=True)
    import platformdirs

    return ShopPath(Path(platformdirs.user_data_dir(APP, appauthor=False)), "the user's data folder", named=False)
