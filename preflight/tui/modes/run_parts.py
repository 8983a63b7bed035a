"""What the parts of the run screen share: its values and widgets, and what each part asks of the others."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.screen import Screen

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TypeVar

    from preflight.tui.charset import Charset
    from preflight.tui.kept_draft import KeptDraft
    from preflight.tui.run import Run
    from preflight.tui.widgets.entry_table import EntryTable
    from preflight.tui.widgets.why_panel import WhyPanel
    from preflight.tui.wiring import Loaded, Wiring

    T = TypeVar("T")


class RunParts(Screen[None]):
    """The ground of the run screen: saving, dialogues and moving stand on it, `RunScreen` fills it in."""

    wiring: Wiring
    charset: Charset
    run: Run
    station_id: str
    loaded: Loaded | None
    entries: EntryTable
    why: WhyPanel
    draft: KeptDraft
    kept: dict[str, dict[str, str]]
    """By dialogue what was typed into it and not saved yet: it stands again when the dialogue is opened again."""
    rests: Callable[[], None]
    """Called where a key did what is to be read first: struck again at once it does not count."""
    busy: bool = False
    """Files are read or written for this run: until it is known what became of it no key does anything.

    One that opened a dialogue would end the one that waits, and an answer might reach another machine's draft.
    """

    if TYPE_CHECKING:  # what the parts above give

        def say(self, text: str) -> None:
            """A sentence in the panel until the next key."""

        def take(self, loaded: Loaded) -> None:
            """Go on with another run."""

        def go(self, station_id: str, key: str = "") -> None:
            """Go to a station."""

        def show_row(self, key: str) -> None:
            """Show the run with that row as the current one."""

        def typed(self, key: str, text: str) -> None:
            """An answer changed."""

        def accept(self) -> None:
            """The current answer is left standing."""

        def keep(self) -> None:
            """Put what was typed into the draft."""

        async def read_anew(self) -> None:
            """Read profiles, cards, records and the draft anew, and show them."""

        async def working(self, work: Callable[[], T]) -> T:
            """What the work returns, in a thread, while no key does anything."""

        async def in_thread(self, work: Callable[[], T]) -> T | None:
            """What the work returns; None, with its message in the panel, when it says what a person can put right."""
