"""Opens the app on the invented stations, with clock, blinking and animations standing still."""

from __future__ import annotations

from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, cast

import pytest
from textual.widgets import Input

from preflight.tui.app import PreflightApp
from preflight.tui.charset import UNICODE, Charset

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from fake_stations import Bench
    from opened_app import OpenApp, Opened

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
