"""The worked example in each formula's docstring is run."""

from __future__ import annotations

import doctest
import importlib

import pytest

MODULES = [
    "abrasives", "board_remedy", "head_balance", "instrument", "marks", "removal",
    "removal_plan", "share_levels", "tension", "thickness", "tracking",
]  # fmt: skip


@pytest.mark.parametrize("name", MODULES)
def test_the_worked_examples_hold(name: str) -> None:
    found = doctest.testmod(importlib.import_module(f"preflight.engine.{name}"))
    assert found.attempted > 0
    assert found.failed == 0
