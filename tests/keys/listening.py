"""Listens to Enter: which answers were left standing, told before the app says anything of them."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from preflight.tui.run import FED
from preflight.tui.widgets.entry_table import EntryTable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preflight.tui.modes.run import RunScreen


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
    return Committed(view.machine.id, row.key, table.text.strip())


@contextlib.contextmanager
def listening(told: Callable[[Committed], None]) -> Iterator[None]:
    """Tell of every answer that Enter leaves standing, while this lasts."""
    heard = EntryTable.press

    def press(table: EntryTable, key: str, character: str | None) -> bool:
        committed = current(table) if key == "enter" else None
        done = heard(table, key, character)
        if committed is not None:
            told(committed)
        return done

    EntryTable.press = press  # type: ignore[method-assign, assignment]
    try:
        yield
    finally:
        EntryTable.press = heard  # type: ignore[method-assign]
