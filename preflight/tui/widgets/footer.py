"""The keys that matter now, on one line that never overflows; each label can be clicked."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preflight.tui.commands import Command, footer_commands, key_name
from preflight.tui.painting import filled, width_of
from preflight.tui.widgets.cells import Painted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from textual.events import Click

    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line

NARROW = 80
"""Below this width the footer has 4 labels."""
LAST = 9
"""Place of a command that stands in the footer only when it is needed."""


MOST, MOST_NARROW = 6, 4


@dataclass(frozen=True, slots=True)
class Now:
    """What the footer says at this moment besides what it always says."""

    needed: tuple[str, ...] = ()
    """Commands that the current row needs: they go before the others."""
    says: Mapping[str, str] = field(default_factory=dict)
    """By command the words that take the place of its label: "again goes on" behind Enter."""


def footer_labels(width: int, now: Now) -> list[tuple[Command, int, int]]:
    """Commands with first and last column of their labels; where there is no room for all, the least wanted goes."""
    narrow = width < NARROW
    shown = footer_commands(narrow, now.needed)[: MOST_NARROW if narrow else MOST]
    while True:
        at, places = 1, []
        for command in sorted(shown, key=lambda one: one.footer or LAST):
            end = at + len(key_name(command)) + 1 + len(_label(command, now))
            places.append((command, at, end))
            at = end + 2
        if not places or places[-1][2] <= width:
            return places
        shown = shown[:-1]


def _label(command: Command, now: Now) -> str:
    return now.says.get(command.id, command.label)


def footer_line(width: int, now: Now) -> Line:
    """The footer in exactly `width` cells."""
    line: list[tuple[str, str]] = []
    for command, start, _ in footer_labels(width, now):
        wanted = command.id in now.says or command.id in now.needed
        label = (f" {_label(command, now)}", "strong" if wanted else "dim")
        line += [(" " * (start - width_of(line)), "dim"), (key_name(command), "key"), label]
    return filled(line, width)


class FooterLine(Painted):
    """The bottom line of the run."""

    DEFAULT_CSS = "FooterLine { height: 1; background: $background; }"

    def __init__(self, charset: Charset, *, id: str | None = None) -> None:  # noqa: A002 (Textual's name)
        super().__init__(charset, id=id)
        self.now = Now()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """One line."""
        return [footer_line(width, self.now)]

    async def on_click(self, event: Click) -> None:
        """A click on a label does what its key does."""
        event.stop()
        for command, start, end in footer_labels(self.size.width, self.now):
            if start <= event.x < end:
                await self.run_action(f"screen.{command.id}")
