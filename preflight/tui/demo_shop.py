"""History for the throwaway demo shop: what its invented people signed on the days before."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def add_history(shop: Path) -> None:
    """Yesterday's signed start-up of the two-head machine, so that belts and gates are as yesterday."""
