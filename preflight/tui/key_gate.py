"""The gate between the keyboard and the screens: one key at a time, and each only to the screen it was typed for.

Textual passes a key to the focused widget at once. Of ten keys in one write all ten can then lie with a widget of a
dialogue before the first of them has closed it, and the rest reaches what lies under it. Here the next key waits until
everything that the one before sets off is done, and after a change of the screen:

- what was typed before the change could be seen is dropped: it was meant for what stood there before;
- unless that key itself opened the new screen: what is typed behind F4 is meant for the list that F4 opens;
- where Enter stays, so that a reason is read, Enter struck again at once is the same stroke;
- a key that is held down, bounces or is struck twice counts once: its repeats are dropped until it rests.

Clicks pass the same gate. `PreflightApp` hands all of them in and is told by the screens' own signal when one changes.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

from textual import events
from textual._time import get_time
from textual.message import Message

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from textual.app import App
    from textual.screen import Screen
    from textual.widget import Widget

REST = 0.15
"""Seconds a key rests before it counts anew on a new screen: longer than a key bounces, repeats while it is held, or is
struck twice in haste; shorter than anybody reads a new screen."""
TOGETHER = 0.015
"""Seconds between keys of one write: the terminal's thread stamps them one by one."""
PATIENCE = 1.0
"""Seconds after which a key that never came back counts as done, so that no fault of a widget stops the keyboard."""
HOPS = 2
"""How often the receipt follows a key: behind the key itself, then behind the message that it set off."""


class Receipt(Message):
    """Travels behind a key through the same queues: once the last is back the key is done."""

    def __init__(self, hops: int) -> None:
        super().__init__()
        self.hops = hops
        """How many are still to be sent, this one included."""


class Seen(Message):
    """A screen that has come to the top stands whole on the terminal."""

    def __init__(self, screen: Screen[object]) -> None:
        super().__init__()
        self.screen = screen


def passes_gate(event: events.Event) -> bool:
    """Whether the event is something that a hand did and that must keep its place."""
    typed = isinstance(event, events.Key | events.Paste | events.MouseDown | events.MouseUp)
    return typed and not event.is_forwarded


class KeyGate:
    """Keys that wait, the one on its way, and what was typed for which screen. Lives in the app's own message loop."""

    def __init__(
        self, app: App[None], hand_on: Callable[[events.Event], Awaitable[None]], tell: Callable[[], None], rest: float
    ) -> None:
        """hand_on: what the framework does with a key; tell: called when keys are dropped; rest: see `REST`."""
        self._app = app
        self.rest = rest
        self._hand_on = hand_on
        self._tell = tell
        self._waiting: deque[events.Event] = deque()
        self._receipt: Receipt | None = None
        """Of the key on its way."""
        self._target: Widget | Screen[object] | None = None
        self._since = 0.0
        """When a key was sent or the screen changed."""
        self._depth = 0
        self.anew = False
        """The newest change opened and closed nothing: the same screen shows another run."""
        self._unseen = True
        """The screen has changed and is not painted yet."""
        self._opened = False
        """The key on its way opened it: what follows was typed for it."""
        self._turned = False
        """The key on its way has changed the screen already."""
        self._painted_at = 0.0
        """When the screen was first painted since it changed; 0 before."""
        self._shown_at = 0.0
        """The same, of the screen that is there now."""
        self._means_before = 0.0
        """What was typed earlier means what stood there before."""
        self._last: tuple[str, float] = ("", 0.0)
        """The newest key and when it was typed."""
        self._held: tuple[str, float] = ("", 0.0)
        """The key before the newest change of the screen, and when it was last repeated."""
        self._resting: tuple[str, float] = ("", 0.0)
        """The newest key, where what it did is to be read first, and when it did that."""
        self._burst = 0.0
        """When the last key was typed that belongs to what stood before."""
        self._button_dropped = False
        """The newest press of the mouse button was dropped: so is its release."""

    async def came(self, event: events.Event) -> None:
        """A key, a paste or a click arrives."""
        self._waiting.append(event)
        if get_time() - self._since > PATIENCE:
            self._receipt, self._unseen = None, False
        await self._go_on()

    async def returned(self, receipt: Receipt) -> None:
        """A receipt is back: send it once more, or let the next key go."""
        if receipt is not self._receipt:
            return
        if receipt.hops > 1 and self._target is not None:
            self._follow(self._target, receipt.hops - 1)
            return
        self._receipt = None
        await self._go_on()

    def changed(self) -> None:
        """Another screen has come to the top, or the screen shows another run."""
        depth, before = len(self._app.screen_stack), self._depth
        self._depth, self.anew = depth, depth == before
        self._opened = depth > before and self._receipt is not None and not self._turned
        self._turned = self._unseen = True
        self._since, self._painted_at = get_time(), 0.0
        screen = self._app.screen
        screen.call_after_refresh(lambda: self._app.post_message(Seen(screen)))

    def rests(self) -> None:
        """What the key on its way did is to be read first: the same key counts again once it has rested."""
        self._resting = (self._last[0], get_time())

    def painting(self, screen: Screen[object]) -> None:
        """That screen is about to be written to the terminal."""
        if self._unseen and not self._painted_at and screen in self._app.screen_stack[-1:]:
            self._painted_at = get_time()

    async def seen(self, screen: Screen[object]) -> None:
        """That screen stands whole on the terminal."""
        if screen not in self._app.screen_stack[-1:] or not self._unseen:  # an app that is leaving has no screen
            return
        self._unseen, self._receipt = False, None
        self._held = self._last
        self._shown_at = self._painted_at or get_time()
        if not self._opened:
            self._means_before = self._shown_at
            self._burst = self._last[1]
        await self._go_on()

    async def _go_on(self) -> None:
        while self._waiting and self._receipt is None and not self._unseen:
            event = self._waiting.popleft()
            if not self._dropped(event):
                await self._send(event)

    async def _send(self, event: events.Event) -> None:
        self._last, self._resting = (_name(event), event.time), ("", 0.0)
        self._since, self._turned = get_time(), False
        self._target = target = self._target_of(event)
        self._receipt = Receipt(HOPS)  # a priority binding may change the screen before the key is handed on
        await self._hand_on(event)
        self._follow(target, HOPS)

    def _follow(self, target: Widget | Screen[object], hops: int) -> None:
        """Send a receipt behind the key; where nobody takes messages any more the app itself does."""
        self._receipt = Receipt(hops)
        if not target.post_message(self._receipt):
            self._app.post_message(self._receipt)

    def _target_of(self, event: events.Event) -> Widget | Screen[object]:
        screen = self._app.screen
        if isinstance(event, events.MouseEvent):
            return next((widget for widget, _ in screen.get_widgets_at(event.x, event.y)), screen)
        return self._app.focused or screen

    def _dropped(self, event: events.Event) -> bool:
        """Whether the event was meant for what stood before; a repeat is dropped silently."""
        name, typed = _name(event), event.time
        released = isinstance(event, events.MouseUp) and self._button_dropped
        late = typed < self._means_before or typed - self._burst < TOGETHER
        again = name == self._held[0] and (typed < self._shown_at or typed - self._held[1] < self.rest)
        if name == self._resting[0] == self._last[0]:
            again = again or typed < self._resting[1] or typed - self._last[1] < self.rest
        dropped = released or late or again
        if isinstance(event, events.MouseDown):
            self._button_dropped = dropped
        if late:
            self._burst = typed
        if again:
            self._held = (name, typed)
        if dropped:
            self._last = (name, typed)
            if not again:
                self._tell()
        return dropped


def _name(event: events.Event) -> str:
    return event.key if isinstance(event, events.Key) else "paste" if isinstance(event, events.Paste) else "mouse"
