"""How the screens ask: one run of dialogues at a time, and one answer to each."""

from __future__ import annotations

import asyncio
from functools import update_wrapper
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar

from textual import work
from textual.await_complete import AwaitComplete
from textual.screen import Screen

if TYPE_CHECKING:
    from collections.abc import Callable, Coroutine

    from textual.events import Key

T = TypeVar("T")
S = TypeVar("S", bound=Screen[Any])
P = ParamSpec("P")
ASKING = "asking"
"""Group of the workers that open dialogues."""


class Once(Screen[T]):
    """A screen that is left once: a second answer changes nothing."""

    answered = False

    def dismiss(self, result: T | None = None) -> AwaitComplete:
        """The answer. With a second one, or under the palette, the framework would close another screen."""
        if self.answered:
            return AwaitComplete(asyncio.sleep(0))
        self.answered = True
        if self.app.screen is not self:
            self.pop_until_active()
        return super().dismiss(result)

    def on_key(self, event: Key) -> None:
        """A key that comes after the answer ends here."""
        if self.answered:
            event.stop()


def asks(flow: Callable[Concatenate[S, P], Coroutine[Any, Any, None]]) -> Callable[Concatenate[S, P], None]:
    """A method that asks in dialogues and waits for the answers: one at a time on each screen, a second is refused.

    A worker that is cancelled leaves its dialogue behind with nobody to take the answer; hence not `exclusive`.
    """
    begin = work(group=ASKING)(flow)

    def asking(screen: S, /, *args: P.args, **named: P.kwargs) -> None:
        if any(w.node is screen and w.group == ASKING and not w.is_finished for w in screen.app.workers):
            screen.app.bell()
        else:
            begin(screen, *args, **named)

    update_wrapper(asking, flow)
    return asking
