"""The terminal app. It is given everything it needs; it reads no file, no clock and no setting of its own."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from textual.app import App, SystemCommand

from preflight.tui.charset import UNICODE, Charset
from preflight.tui.commands import COMMANDS, key_name
from preflight.tui.modes.run import RunScreen
from preflight.tui.themes import THEMES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from textual.screen import Screen

    from preflight.tui.wiring import Wiring


class PreflightApp(App[None]):
    """The guided start-up check on a screen."""

    TITLE = "preflight"

    def __init__(self, wiring: Wiring, charset: Charset = UNICODE, theme: str = THEMES[0].name) -> None:
        # With NO_COLOR the default filter makes look-alike greys of all hues; native colours are then dropped whole.
        super().__init__(ansi_color=True if "NO_COLOR" in os.environ else None)
        for one in THEMES:
            self.register_theme(one)
        self.theme = theme
        self.wiring = wiring
        self.charset = charset

    async def action_quit(self) -> None:
        """The framework's own key for leaving asks like ours; a dialogue that is open goes first, without an answer."""
        run = self.screen_stack[0]
        if isinstance(run, RunScreen) and run.loaded is None:
            self.exit()  # nothing is open yet that could be lost
            return
        if not isinstance(self.screen, RunScreen):
            await self.screen.dismiss(None)
        if isinstance(self.screen, RunScreen):
            self.screen.action_quit()

    def get_default_screen(self) -> Screen[None]:
        """The run; other areas become modes when they come."""
        return RunScreen(self.wiring, self.charset)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Every command of the run, and the two themes."""
        if isinstance(screen, RunScreen):
            for command in COMMANDS:
                if screen.check_action(command.id, ()):
                    action = getattr(screen, f"action_{command.id}")
                    yield SystemCommand(f"{command.label}  ({key_name(command)})", command.help, action)
        for one in THEMES:
            name = one.name.removeprefix("preflight-")
            yield SystemCommand(
                f"{name} colours", f"Use the {name} theme.", lambda theme=one.name: setattr(self, "theme", theme)
            )
