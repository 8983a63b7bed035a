"""The terminal app. It is given everything it needs; it reads no file, no clock and no setting of its own."""

from __future__ import annotations

import os
import signal
from typing import TYPE_CHECKING

from textual.app import App, SystemCommand
from textual.screen import ModalScreen
from textual.worker import WorkerFailed

from preflight.errors import OWN_FAILURE
from preflight.own_failure import InputFailedError
from preflight.tui.charset import UNICODE, Charset
from preflight.tui.commands import COMMANDS, key_name
from preflight.tui.key_gate import KeyGate, Receipt, Seen, passes_gate
from preflight.tui.modes.run import RunScreen
from preflight.tui.themes import THEMES

if TYPE_CHECKING:
    from collections.abc import Iterable
    from types import FrameType

    from rich.console import RenderableType
    from textual.events import Event
    from textual.screen import Screen

    from preflight.tui.wiring import Wiring


class PreflightApp(App[None]):
    """The guided start-up check on a screen."""

    TITLE = "preflight"

    def __init__(
        self, wiring: Wiring, charset: Charset = UNICODE, theme: str = THEMES[0].name, rest: float = 0.0
    ) -> None:
        """rest: seconds that the key which changed the screen must rest before it counts again."""
        # With NO_COLOR the default filter makes look-alike greys of all hues; native colours are then dropped whole.
        super().__init__(ansi_color=True if "NO_COLOR" in os.environ else None)
        for one in THEMES:
            self.register_theme(one)
        self.theme = theme
        self.wiring = wiring
        self.charset = charset
        self.gate = KeyGate(self, super().on_event, self._keys_dropped, rest)
        self.failures: list[BaseException] = []
        """Failures of the app itself; the first one closes it."""
        self.kept = True
        """With a failure: whether the draft holds everything that was typed."""
        self.unopened = ""
        """Why no run could be opened; empty once one was, or where nobody tried."""

    def on_mount(self) -> None:
        """From here on the gate knows what is on the screen."""
        self.screen_change_signal.subscribe(self, lambda _: self.gate.changed(), immediate=True)
        self.gate.changed()
        self._go_on_after_a_stop()

    def _go_on_after_a_stop(self) -> None:
        """A process that was stopped from outside goes on with the reader of the keyboard that it has.

        The framework starts a second one, as after a stop of its own; the first then may never end, nor the process.
        """
        driver, number = self._driver, getattr(signal, "SIGCONT", None)
        before = signal.getsignal(number) if number is not None else None
        if self.is_headless or number is None or not callable(before):
            return

        def goes_on(given: int, frame: FrameType | None) -> None:
            if getattr(driver, "_must_signal_resume", True):
                before(given, frame)
            else:
                self.refresh()

        signal.signal(number, goes_on)

    async def on_event(self, event: Event) -> None:
        """Keys and clicks pass the gate; what comes back from it, and all else, goes the framework's way."""
        if passes_gate(event):
            await self.gate.came(event)
        else:
            await super().on_event(event)

    def _display(self, screen: Screen[object], renderable: RenderableType | None) -> None:
        """The framework's door to the terminal: tells the gate from when on a screen can be seen."""
        if renderable is not None:
            self.gate.painting(screen)
        super()._display(screen, renderable)

    async def on_receipt(self, message: Receipt) -> None:
        """A key is done."""
        await self.gate.returned(message)

    async def on_seen(self, message: Seen) -> None:
        """A screen stands whole on the terminal."""
        await self.gate.seen(message.screen)

    # failures of the app itself -----------------------------------------------------------------------------------

    def fail(self, error: Exception) -> None:
        """Close the app for a failure of its own: keep the draft once more, leave with that exit status.

        Nothing is printed here; who started the app says it once the terminal is a plain one again.
        """
        self._handle_exception(error)

    def _handle_exception(self, error: Exception) -> None:
        """The framework comes here with whatever a handler, a worker or the start fails with."""
        cause = error.error if isinstance(error, WorkerFailed) else error
        self.failures.append(cause)
        super()._handle_exception(error)
        self._return_code = OWN_FAILURE

    def _fatal_error(self) -> None:
        """In place of a traceback with local variables."""
        if len(self.failures) == 1:
            self._keep_once_more()
        self._close_messages_no_wait()

    def panic(self, *renderables: RenderableType) -> None:
        """In place of printing: an error that would show itself, or a traceback from the thread that reads the keys."""
        if self.failures:
            self._fatal_error()
            return
        stacks = [stack for one in renderables for stack in getattr(getattr(one, "trace", None), "stacks", ())]
        places = [(frame.filename, frame.lineno, frame.name) for stack in stacks for frame in stack.frames]
        self.fail(InputFailedError(", ".join(stack.exc_type for stack in stacks), places))

    def _keep_once_more(self) -> None:
        """What is on the screen, into the draft: the failure may have come between a key and its draft."""
        run = next(iter(self.screen_stack), None)
        if isinstance(run, RunScreen):
            try:
                self.kept = run.keep_at_failure()
            except Exception as error:  # noqa: BLE001  (the app is failing: what comes on top must not hide why)
                self.failures.append(error)
                self.kept = False

    # leaving and commands -----------------------------------------------------------------------------------------

    def _keys_dropped(self) -> None:
        """Keys were typed for what stood before: heard, and said where it was another run of the same screen."""
        self.bell()
        if isinstance(self.screen, RunScreen) and (self.gate.anew or self.screen.loaded is None):
            self.screen.typed_before_shown()

    async def action_quit(self) -> None:
        """The framework's own key for leaving asks like ours; what lies over the run goes first, without an answer."""
        run, top = self.screen_stack[0], self.screen
        if isinstance(run, RunScreen) and run.loaded is None:
            self.unopened = run.trouble
            self.exit()  # nothing is open yet that could be lost
        elif leave := getattr(top, "action_leave", None) if not isinstance(top, ModalScreen) else None:
            leave()  # practice asks about a drill that is begun
        else:
            if top is not run:
                await top.dismiss(None)
            if isinstance(self.screen, RunScreen):
                self.screen.action_quit()

    def get_default_screen(self) -> Screen[None]:
        """The run; other areas become modes when they come."""
        return RunScreen(self.wiring, self.charset, self.gate.rests)

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
