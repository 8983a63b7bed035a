"""Listens at the keyboard's side of the app: what was typed, accepted, left standing by Enter, and confirmed."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, cast
from unittest import mock

from preflight.tui.dialogues.form import Form
from preflight.tui.modes.run import RunScreen
from preflight.tui.run import FED
from preflight.tui.widgets.entry_table import EntryTable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preflight.tui.wiring import Loaded


class Kind(StrEnum):
    """What was heard."""

    SHOWN = "shown"
    """A run is there to be worked on."""
    TYPED = "typed"
    """An answer changed by hand; nobody has accepted it yet."""
    ACCEPTED = "accepted"
    """The current answer was accepted, by whatever key."""
    COMMITTED = "committed"
    """Enter was pressed on a row that holds an answer."""
    CONFIRMED = "confirmed"
    """The key that saves was pressed in a form that is filled in; `row` is its title."""


@dataclass(frozen=True, slots=True)
class Heard:
    """One thing heard."""

    kind: Kind
    machine: str = ""
    """Id of the machine."""
    row: str = ""
    text: str = ""


def left_standing(table: EntryTable) -> Heard | None:
    """What Enter would leave standing now; None where it means nothing for an answer."""
    screen = cast("RunScreen", table.screen)
    row, view = table.row, screen.run.view
    if screen.loaded is None or screen.busy or screen.run.signed is not None:
        return None
    if row is None or view is None or not row.asked or row.key == FED or not table.text.strip():
        return None
    if row.key in screen.run.half:  # half typed when the app ended: asked again, it never stood
        return None
    return Heard(Kind.COMMITTED, view.machine.id, row.key, table.text.strip())


@contextlib.contextmanager
def listening(told: Callable[[Heard], None]) -> Iterator[None]:
    """Tell of everything that is heard while this lasts, once the app has done what it does."""
    press, typed, accept = EntryTable.press, RunScreen.typed, RunScreen.accept
    take, confirm = RunScreen.take, Form.action_confirm

    def is_pressed(table: EntryTable, key: str, character: str | None) -> bool:
        committed = left_standing(table) if key == "enter" else None
        done = press(table, key, character)
        if committed is not None:
            told(committed)
        return done

    def is_typed(screen: RunScreen, key: str, text: str) -> None:
        typed(screen, key, text)
        if screen.run.view is not None and not screen.busy:
            told(Heard(Kind.TYPED, screen.run.view.machine.id, key, screen.run.typed.get(key, "").strip()))

    def is_accepted(screen: RunScreen) -> None:
        accept(screen)
        told(Heard(Kind.ACCEPTED, row=screen.entries.key))

    def is_shown(screen: RunScreen, loaded: Loaded) -> None:
        take(screen, loaded)
        told(Heard(Kind.SHOWN))

    def is_confirmed(form: Form) -> None:
        before = form.saving
        confirm(form)
        if form.saving and not before:
            told(Heard(Kind.CONFIRMED, row=form.title_text))

    with contextlib.ExitStack() as patches:
        for owner, name, listener in (
            (EntryTable, "press", is_pressed),
            (RunScreen, "typed", is_typed),
            (RunScreen, "accept", is_accepted),
            (RunScreen, "take", is_shown),
            (Form, "action_confirm", is_confirmed),
        ):
            patches.enter_context(mock.patch.object(owner, name, listener))
        yield
