"""Draws the pictures of `screenshots/` from the running app: `python -m tests.screenshots`.

The demo shop is filled in as a person would, with one thing wrong at some stations, and each picture is taken from the
app itself. Clock, ids and host are fixed, so the same app gives the same files.
"""

from __future__ import annotations

import asyncio
import itertools
import os
import re
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")

from typing import TYPE_CHECKING

from preflight.cli.init import make_shop
from preflight.tui.app import PreflightApp
from preflight.tui.demo_shop import MACHINE, YESTERDAY, add_history
from preflight.tui.desk_door import DeskDoor
from preflight.tui.modes.run import RunScreen

if TYPE_CHECKING:
    from collections.abc import Mapping

OUT = Path(__file__).parent.parent / "screenshots"
NOW = datetime(2026, 11, 26, 6, 41, tzinfo=UTC)
SMALL, LARGE = (80, 24), (140, 40)

PICTURES: tuple[tuple[str, str, tuple[int, int], Mapping[str, str]], ...] = (
    ("stock", "stock", SMALL, {"stock.metal": ""}),
    ("glue-smeared", "glue", SMALL, {"glue.state": "smeared"}),
    ("tension-too-high", "tension", SMALL, {"tension.2": "4.4"}),
    ("extraction", "extraction", LARGE, {}),
    ("extraction-starved", "extraction", SMALL, {"extraction.static": "400"}),
    ("removal", "removal", LARGE, {}),
    ("feed", "feed", LARGE, {}),
    ("test-board", "test_board", LARGE, {"test_board.right": "27.38"}),
)
"""File name, station, size, and what differs from a start-up in order."""


async def draw(shop: Path) -> None:
    """Take every picture."""
    for name, station, size, changes in PICTURES:
        counter = itertools.count()
        door = DeskDoor(shop, MACHINE, lambda: NOW, lambda c=counter: f"picture-{next(c):08d}", "bench", 1)  # type: ignore[misc]
        app = PreflightApp(door.wiring())
        async with app.run_test(size=size) as pilot:
            screen = app.screen
            assert isinstance(screen, RunScreen)
            while screen.loaded is None:
                await pilot.pause(0.05)
            typed = {**screen.run.typed, **YESTERDAY, **changes}
            screen.run = screen.run.resumed({key: text for key, text in typed.items() if text}, {}, {})
            screen.go(station)
            await pilot.pause()
            OUT.joinpath(f"{name}.svg").write_text(plain(app.export_screenshot(title="preflight")), encoding="utf-8")
        door.close()


def plain(svg: str) -> str:
    """The drawing without fonts from the network and without the random word in its class names."""
    svg = re.sub(r"@font-face \{.*?\}\s*", "", svg, flags=re.DOTALL)
    return re.sub(r"terminal-\d+", "terminal-1", svg)


def main() -> None:
    """Make a demo shop, fill it in, draw."""
    OUT.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="preflight-pictures-") as folder:
        shop = Path(folder, "shop")
        make_shop(shop, empty=False)
        counter = itertools.count()
        add_history(shop, lambda: NOW, lambda: f"history-{next(counter):08d}", fed=True)
        asyncio.run(draw(shop))
    print(f"{len(PICTURES)} pictures in {OUT.name}/", file=sys.stderr)


if __name__ == "__main__":
    main()
