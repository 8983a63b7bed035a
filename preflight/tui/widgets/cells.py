"""The one place where lines of (text, role) become Textual strips; every painted widget derives from `Painted`."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from preflight.tui.painting import ROLES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.style import Style

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line


class Painted(Widget):
    """A widget whose lines come from a pure function; colours come only from component classes."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"cell--{role}" for role in ROLES}
    ALLOW_SELECT = False
    DEFAULT_CSS = """
    Painted {
        .cell--dim { color: $quiet; }
        .cell--strong { text-style: bold; }
        .cell--title { color: $primary; text-style: bold; }
        .cell--rule { color: $hairline; }
        .cell--key { color: $primary; text-style: bold; }
        .cell--field { background: $field-ground; }
        .cell--current { background: $current-ground; }
        .cell--bar { background: $panel; }
        .cell--ok { color: $ok; }
        .cell--caution { color: $caution; }
        .cell--open { color: $open; }
        .cell--stop { color: $stop; text-style: bold; }
        .cell--badge { color: #ffffff; background: $stop-ground; text-style: bold; }
        .cell--danger { color: #ffffff; background: $danger-ground; text-style: bold; }
        .cell--warning { color: $warning-ink; background: $warning-ground; text-style: bold; }
        .cell--notice { color: #ffffff; background: $notice-ground; text-style: bold; }
        .cell--wood { color: $wood; }
        .cell--metal { color: $metal; }
        .cell--air { color: $air; }
        .cell--mark { text-style: bold; }
        &:nocolor {
            .cell--current { text-style: bold; }
            .cell--field { text-style: underline; }
            .cell--badge { text-style: reverse; }
            .cell--danger { text-style: reverse; }
            .cell--warning { text-style: reverse; }
            .cell--notice { text-style: reverse; }
        }
    }
    """

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(id=id)
        self.charset = charset
        self._lines: Sequence[Line] | None = None

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The lines to paint; fewer than `height` leaves the rest blank."""
        raise NotImplementedError

    def repaint(self) -> None:
        """Make the lines anew at the next paint."""
        self._lines = None
        self.refresh()

    def painted(self) -> Sequence[Line]:
        """The lines as they stand on the screen now."""
        if self._lines is None:
            self._lines = self.lines(self.size.width, self.size.height)
        return self._lines

    def on_resize(self) -> None:
        """Lines depend on the size."""
        self.repaint()

    def notify_style_update(self) -> None:
        """Breakpoint classes may choose other lines."""
        super().notify_style_update()
        self._lines = None

    def render_line(self, y: int) -> Strip:
        """One line of the widget."""
        lines = self.painted()
        return self.strip(lines[y] if y < len(lines) else (), self.size.width)

    def strip(self, line: Line, width: int) -> Strip:
        """A line on the widget's ground, in exactly `width` cells."""
        ground = self.visual_style.rich_style
        segments = [Segment(self.charset.plain(text), ground + self._style(role)) for text, role in line if text]
        return Strip(segments).adjust_cell_length(width, ground)

    def _style(self, role: str) -> Style:
        return self.get_component_rich_style(*[f"cell--{part}" for part in role.split()], partial=True)


class PicturePane(Painted):
    """A station's picture beside the entries."""

    DEFAULT_CSS = "PicturePane { background: $background; padding: 1 2; }"

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(charset, id=id)
        self.picture: Sequence[Line] = ()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The picture, cut at the pane's edge."""
        return self.picture[:height]
