"""The frame that every dialogue shares: one quiet box in the middle, Esc leaves without an answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalGroup
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from preflight.tui.asking import Once

if TYPE_CHECKING:
    from collections.abc import Iterable

    from textual.app import ComposeResult
    from textual.widget import Widget

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Span

T = TypeVar("T")

STYLES = {
    "dim": "$quiet",
    "strong": "bold",
    "title": "$primary bold",
    "key": "$primary bold",
    "ok": "$ok",
    "caution": "$caution",
    "open": "$open",
    "stop": "$stop bold",
    "badge": "#ffffff on $stop-ground bold",
}
"""Roles as styles of text that Textual's own widgets wrap."""


def content(spans: Iterable[Span], charset: Charset) -> Content:
    """Spans as text for an option or a label."""
    return Content.assemble(*((charset.plain(text), STYLES.get(role, "")) for text, role in spans))


class Dialogue(Once[T | None], ModalScreen[T | None]):
    """A question over the run; `fields` gives what stands in the box."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "back", show=False),
        Binding("down", "app.focus_next", "next", show=False),
        Binding("up", "app.focus_previous", "before", show=False),
    ]
    SCOPED_CSS = False
    CSS = """
    Dialogue {
        align: center middle;
        background: $background 60%;
        #frame {
            width: 74; max-width: 100%; height: auto; max-height: 94%;
            background: $surface; border: round $hairline; border-title-color: $primary; border-title-style: bold;
            border-subtitle-color: $quiet; padding: 0 1;
        }
        &.-broad #frame { width: 100%; max-width: 100; }
        VerticalScroll { height: auto; max-height: 80vh; }
        &.-ascii #frame { border: ascii $hairline; }
        .said { margin-bottom: 1; }
        .hint { color: $quiet; }
        .missing { color: $stop; }
        OptionList { height: auto; max-height: 60vh; background: $surface; border: none; padding: 0; }
        OptionList:focus { background-tint: $surface 0%; border: none; }
        OptionList > .option-list--option-highlighted {
            background: $current-ground; text-style: none; color: $foreground;
        }
        OptionList > .option-list--option-disabled { color: $quiet; }
        OptionList:nocolor > .option-list--option-highlighted { text-style: reverse; }
        Input { background: $field-ground; margin-bottom: 1; }
        Input:nocolor { text-style: underline; }
        Button { min-width: 12; margin-top: 1; }
    }
    """
    broad = False
    """Whether the box takes the whole width of a small terminal."""
    title_text = ""
    keys_text = "Enter choose   Esc back"

    def __init__(self, charset: Charset) -> None:
        super().__init__()
        self.charset = charset

    def fields(self) -> Iterable[Widget]:
        """Widgets of the dialogue, top first."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """The box."""
        self.set_class(self.charset.name == "ascii", "-ascii")
        self.set_class(self.broad, "-broad")
        frame = VerticalGroup(*self.fields(), id="frame")
        frame.border_title = Content(self.charset.plain(self.title_text))
        frame.border_subtitle = Content(self.charset.plain(self.keys_text))
        yield frame

    def said(self, text: str, kind: str = "said") -> Static:
        """A sentence in the box."""
        return Static(Content(self.charset.plain(text)), classes=kind)

    def action_leave(self) -> None:
        """No answer."""
        self.dismiss(None)
