"""What tests do with an open app."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractAsyncContextManager
from typing import TYPE_CHECKING

from textual.events import Key

if TYPE_CHECKING:
    from textual.pilot import Pilot

    from preflight.tui.modes.run import RunScreen

Opened = tuple["RunScreen", "Pilot[None]"]
OpenApp = Callable[..., AbstractAsyncContextManager[Opened]]


def screen_lines(screen: RunScreen) -> list[str]:
    """What stands on the terminal now, one string a row."""
    return [strip.text for strip in screen._compositor.render_strips(screen.size)]


async def burst(pilot: Pilot[None], *keys: str) -> None:
    """Keys that arrive faster than any of them is handled, as from a wedge scanner or a quick hand."""
    for key in keys:
        character = key if len(key) == 1 else " " if key == "space" else None
        pilot.app.post_message(Key(key, character))
    await pilot.pause()
    await pilot.pause()
