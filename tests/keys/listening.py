"""Listens to Enter: which answers were left standing, told before the app says anything of them."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast
from unittest import mock

from preflight.tui.modes.run import RunScreen
from preflight.tui.run import FED
from preflight.tui.widgets.entry_table import EntryTable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@dataclass(frozen=True, slots=True)
class Committed:
    """An answer that stood when Enter was pressed on its row."""

    machine: str
    """Id of the machine."""
    row: str
    text: str


def current(table: EntryTable) -> Committed | None:
    """What Enter would leave standing now; None where it means nothing for an answer."""
    screen = cast("RunScreen", table.screen)
    row, view = table.row, screen.run.view
    if screen.loaded is None or screen.busy or screen.run.signed is not None:
        return None
    if row is None or view is None or not row.asked or row.key == FED or not table.text.strip():
        return None
    if row.key in screen.run.half:  # half typed when the app ended: asked again, it never stood
        return None
    return Committed(view.machine.id, row.key, table.text.strip())


@contextlib.contextmanager
def listening(
    told: Callable[[Committed], None], typing: Callable[[Committed, bool], None] = lambda _typed, _half: None
) -> Iterator[None]:
    """Tell of every answer that Enter leaves standing, while this lasts.

    typing: told of each answer as it is typed (half: True) and as it is accepted, by any key (half: False).
    """
    heard, typed, accepted = EntryTable.press, RunScreen.typed, RunScreen.accept

    def press(table: EntryTable, key: str, character: str | None) -> bool:
        committed = current(table) if key == "enter" else None
        done = heard(table, key, character)
        if committed is not None:
            told(committed)
        return done

    def is_typed(screen: RunScreen, key: str, text: str) -> None:
        typed(screen, key, text)
        if screen.run.view is not None and not screen.busy:
            typing(Committed(screen.run.view.machine.id, key, screen.run.typed.get(key, "").strip()), True)

    def is_accepted(screen: RunScreen) -> None:
        accepted(screen)
        if screen.run.view is not None:
            typing(Committed(screen.run.view.machine.id, screen.entries.key, ""), False)

    with contextlib.ExitStack() as patches:
        for owner, name, listener in (
            (EntryTable, "press", press),
            (RunScreen, "typed", is_typed),
            (RunScreen, "accept", is_accepted),
        ):
            patches.enter_context(mock.patch.object(owner, name, listener))
        yield
