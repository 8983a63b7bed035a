"""Opens the app on the invented stations, with clock, blinking and animations standing still; the desk's shop."""

from __future__ import annotations

from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, cast

import pytest
from desk_samples import Clock, tokens
from textual.widgets import Input

from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.tui.app import PreflightApp
from preflight.tui.charset import UNICODE, Charset
from preflight.tui.demo_shop import MACHINE, add_history
from preflight.tui.desk import Desk, Terminal

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterator
    from pathlib import Path

    from desk_samples import OpenDesk
    from fake_stations import Bench
    from opened_app import OpenApp, Opened

    from preflight.checklist.key_folder import KeyFolder
    from preflight.tui.modes.run import RunScreen


@pytest.fixture(autouse=True)
def _still(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setattr(Input, "cursor_blink", False)


@pytest.fixture
def open_app() -> OpenApp:
    """`async with open_app(bench, size) as (screen, pilot)`, with profiles loaded."""

    @asynccontextmanager
    async def opened(
        bench: Bench, size: tuple[int, int] = (80, 24), charset: Charset = UNICODE, *, loaded: bool = True
    ) -> AsyncIterator[Opened]:
        app = PreflightApp(bench.wiring(), charset)
        app.animation_level = "none"
        async with app.run_test(size=size) as pilot:
            screen = cast("RunScreen", app.screen)
            await pilot.pause()
            if loaded:
                await app.workers.wait_for_complete()
                await pilot.pause()
            yield screen, pilot

    return opened


@pytest.fixture
def clock() -> Clock:
    """Stands at the desk's morning until a test moves it."""
    return Clock()


@pytest.fixture
def shop(tmp_path: Path, clock: Clock) -> Path:
    """A shop with the demo's yesterday: one released start-up of the two-head machine."""
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    add_history(folder, clock, tokens("demo"))
    return folder


@pytest.fixture
def desks(clock: Clock) -> Iterator[OpenDesk]:
    """`desks(shop, machine=..., host=..., pid=..., keys=...)`: a desk at a terminal of its own, closed in the end."""
    opened: list[Desk] = []

    def opening(
        shop: Path, *, machine: str = MACHINE, host: str = "bench", pid: int = 0, keys: KeyFolder | None = None
    ) -> Desk:
        terminal = Terminal(host, pid or len(opened))
        word = tokens(f"desk{len(opened)}")
        opened.append(Desk(shop_at(shop), shop, clock, word, terminal, machine, keys=keys))
        return opened[-1]

    yield opening
    for desk in opened:
        desk.close()
