"""No test of the command line sees the shop of whoever runs it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(autouse=True)
def no_shop_of_ones_own(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An environment without a shop; returns the home it points at."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.delenv("PREFLIGHT_SHOP", raising=False)
    monkeypatch.delenv("PREFLIGHT_DEBUG", raising=False)
    for variable in ("HOME", "USERPROFILE", "LOCALAPPDATA", "XDG_DATA_HOME"):
        monkeypatch.setenv(variable, str(home))
    return home
