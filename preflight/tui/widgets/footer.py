"""The keys that matter now, on one line that never overflows; each label can be clicked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.tui.commands import Command, footer_commands, key_name
from preflight.tui.painting import filled, width_of
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.events import Click

    from preflight.tui.painting import Line

NARROW = 80
"""Below this width the footer has 4 labels."""


def footer_labels(width: int) -> list[tuple[Command, int, int]]:
    """Commands with first and last column of their labels; labels that do not fit whole are left out from the end."""
    shown = footer_commands(width < NARROW)
    while True:
        at, places = 1, []
        for command in shown:
            end = at + len(key_name(command)) + 1 + len(command.label)
            places.append((command, at, end))
            at = end + 2
        if not places or places[-1][2] <= width:
            return places
        shown = shown[:-1]


def footer_line(width: int) -> Line:
    """The footer in exactly `width` cells."""
    line: list[tuple[str, str]] = []
    for command, start, _ in footer_labels(width):
        line += [(" " * (start - width_of(line)), "dim"), (key_name(command), "key"), (f" {command.label}", "dim")]
    return filled(line, width)


class FooterLine(Painted):
    """The bottom line of the run."""

    DEFAULT_CSS = "FooterLine { height: 1; background: $background; }"

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """One line."""
        return [footer_line(width)]

    async def on_click(self, event: Click) -> None:
        """A click on a label does what its key does."""
        event.stop()
        for command, start, end in footer_labels(self.size.width):
            if start <= event.x < end:
                await self.run_action(f"screen.{command.id}")
