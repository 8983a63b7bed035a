"""Killed with -9 at a real terminal in the middle of a number: it comes back as half typed and counts for nothing."""

from __future__ import annotations

import time
from datetime import datetime
from random import Random
from typing import TYPE_CHECKING

import pytest
from keys.shops import Templates, desk_of
from keys.terminal import READY, Terminal, code

from preflight.checks.finding import Verdict

if TYPE_CHECKING:
    from pathlib import Path

    from keys.shops import MonkeyShop

SECONDS = 60.0
PASSED_BY = 0.4
"""Seconds in which the program has done what one key asks."""


@pytest.fixture
def complete(tmp_path: Path) -> MonkeyShop:
    """A shop with a draft of this shift in which everything is answered."""
    return Templates(tmp_path / "made").shop(
        tmp_path / "run", "complete", Random(1), datetime.now().astimezone(), peopled=False
    )


def opened(shop: MonkeyShop, notes: Path, words: bytes) -> Terminal:
    """The program at a terminal, once these words stand on the screen."""
    terminal = Terminal(shop, notes, (80, 24))
    assert terminal.read(SECONDS, READY)
    assert terminal.read(SECONDS, words), terminal.written[-2000:]
    return terminal


def drafted(shop: MonkeyShop) -> str:
    return next((shop.root / "drafts").glob("m-*.json")).read_text(encoding="utf-8")


def test_a_number_half_typed_at_a_kill_is_half_typed_when_the_program_is_opened_again(
    complete: MonkeyShop, tmp_path: Path
) -> None:
    terminal = opened(complete, tmp_path / "notes", b"resumed")
    for key in ("pageup",) * 10 + ("down", "2", "9"):
        terminal.write(code(key))
        terminal.read(PASSED_BY)
    until = time.monotonic() + SECONDS
    while '"29"' not in drafted(complete) and time.monotonic() < until:
        terminal.read(PASSED_BY)
    terminal.kill()
    terminal.close()

    desk = desk_of(complete)
    loaded = desk.load()
    desk.close()
    assert "Half typed, asked again: thickest piece" in loaded.notice
    assert loaded.run.verdict("stock") is Verdict.OPEN
    assert loaded.run.sheet is not None
    assert "29 mm" not in [reading.text for reading in loaded.run.sheet.stock.thickness]

    again = opened(complete, tmp_path / "notes", b"half typed")
    again.close()
