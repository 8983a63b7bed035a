"""Lines that scroll, with a current one when they are a list; paints what is in view, however long the rest is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.message import Message

from preflight.tui.painting import filled, under
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.events import Click, MouseScrollDown, MouseScrollUp

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line

WHEEL = 3


class AuditPane(Painted):
    """`content` is all lines; `cursor` the current one, None when nothing is chosen among them."""

    DEFAULT_CSS = "AuditPane { background: $background; }"

    class Opened(Message):
        """The current line was clicked."""

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(charset, id=id)
        self.content: Sequence[Line] = ()
        self.cursor: int | None = None
        self.top = 0

    def show(self, content: Sequence[Line], cursor: int | None = None) -> None:
        """Other content, from its beginning or with that line in view."""
        self.content, self.cursor, self.top = content, cursor, 0
        self._into_view()
        self.repaint()

    def move(self, step: int) -> bool:
        """Move the current line, or scroll; False when there is nothing more that way."""
        if self.cursor is None:
            last = max(0, len(self.content) - self.size.height)
            before, self.top = self.top, min(last, max(0, self.top + step))
            self.repaint()
            return self.top != before
        wanted = min(len(self.content) - 1, max(0, self.cursor + step))
        if wanted == self.cursor:
            return False
        self.cursor = wanted
        self._into_view()
        self.repaint()
        return True

    def _into_view(self) -> None:
        if self.cursor is not None and self.size.height:
            self.top = min(self.cursor, max(self.top, self.cursor - self.size.height + 1))

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The lines in view."""
        shown = []
        for place in range(self.top, min(len(self.content), self.top + height)):
            line = self.content[place]
            shown.append(under(filled(line, width), "current") if place == self.cursor else line)
        return shown

    def on_click(self, event: Click) -> None:
        """A click makes a line current; a second one opens it."""
        event.stop()
        place = self.top + event.y
        if self.cursor is None or place >= len(self.content):
            return
        if place == self.cursor:
            self.post_message(self.Opened())
        self.move(place - self.cursor)

    def on_mouse_scroll_down(self, event: MouseScrollDown) -> None:
        """The wheel."""
        event.stop()
        self.move(WHEEL)

    def on_mouse_scroll_up(self, event: MouseScrollUp) -> None:
        """The wheel."""
        event.stop()
        self.move(-WHEEL)
