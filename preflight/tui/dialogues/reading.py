"""Something to read that may be longer than the screen: the full reason, the words."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from preflight.tui.dialogues.frame import Dialogue
from preflight.tui.painting import width_of, wrap
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.geometry import Size
    from textual.widget import Widget

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line


def hanging(line: Line, width: int) -> list[Line]:
    """The line with its last span wrapped beside what stands before it."""
    if not line:
        return [[("", "text")]]
    *lead, (text, role) = line
    indent = width_of(lead) + len(text) - len(text.lstrip())
    rows = wrap(text, max(10, width - indent))
    first: list[Line] = [[*lead, (" " * (indent - width_of(lead)) + (rows[0] if rows else ""), role)]]
    return [*first, *([(" " * indent, "text"), (row, role)] for row in rows[1:])]


class Prose(Painted):
    """Wrapped lines, as high as they need."""

    DEFAULT_CSS = "Prose { height: auto; width: 1fr; }"

    def __init__(self, text: Sequence[Line], charset: Charset) -> None:
        super().__init__(charset)
        self.text = text

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Lines after wrapping."""
        return len(self.lines(width, 0))

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """All lines; the scroll container shows a part."""
        return [row for line in self.text for row in hanging(line, width)]


class ReadingScreen(Dialogue[None]):
    """Arrows and PageUp/PageDown scroll, Esc or the key that opened it goes back."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("f3,f1,f9,f6,enter,q", "leave", "back", show=False)]
    broad = True
    keys_text = "Up Down PgUp PgDn scroll   Esc back"

    def __init__(self, title: str, text: Sequence[Line], charset: Charset) -> None:
        super().__init__(charset)
        self.title_text = title
        self.text = text

    def fields(self) -> Iterable[Widget]:
        """The text in a scroll container that takes the keys."""
        yield VerticalScroll(Prose(self.text, self.charset))
