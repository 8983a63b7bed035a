"""The start-up run: one screen for all stations, which only ever changes what its widgets paint."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import work
from textual.binding import Binding, BindingType
from textual.containers import Horizontal

from preflight.checks.finding import Finding, Verdict
from preflight.errors import PreflightError
from preflight.quantities import Quantity
from preflight.tui.commands import COMMANDS
from preflight.tui.modes.run_dialogues import RunDialogues
from preflight.tui.run import Run, Station
from preflight.tui.widgets.cells import PicturePane
from preflight.tui.widgets.entry_table import EntryTable
from preflight.tui.widgets.footer import FooterLine
from preflight.tui.widgets.station_list import StationList
from preflight.tui.widgets.top_line import TopLine
from preflight.tui.widgets.why_panel import WhyPanel

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from preflight.tui.charset import Charset
    from preflight.tui.wiring import Loaded, Wiring

T = TypeVar("T")
CLOCK_SECONDS = 20


def outline(wiring: Wiring) -> Run:
    """The run before anything is loaded: titles alone."""
    return Run(tuple(Station(key, title, "", lambda _: ()) for key, title in wiring.titles))


class RunScreen(RunDialogues):
    """Owns the one `Run` and replaces it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(",".join(command.keys), command.id, command.label, id=command.id, show=False, tooltip=command.help)
        for command in COMMANDS
        if not command.entry
    ]
    AUTO_FOCUS = "#entry"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-normal"), (110, "-wide")]  # noqa: RUF012 (declared in the base)
    VERTICAL_BREAKPOINTS = [(0, "-low"), (32, "-high")]  # noqa: RUF012
    DEFAULT_CSS = """
    RunScreen {
        #middle { height: 1fr; }
        #stations { width: 20; height: 1fr; }
        #entries { width: 1fr; height: 1fr; }
        #picture { width: 1fr; height: 1fr; display: none; }
        #why { height: 6; }
        &.-wide {
            #entries { min-width: 60; }
            #picture { display: block; }
        }
        &.-high #why { height: 8; }
        &.-narrow {
            #middle { layout: vertical; }
            #stations { width: 100%; height: 1; }
            #why { height: 5; }
        }
    }
    """

    def __init__(self, wiring: Wiring, charset: Charset) -> None:
        super().__init__()
        self.wiring = wiring
        self.charset = charset
        self.run = outline(wiring)
        self.station_id = self.run.stations[0].id
        self.loaded: Loaded | None = None
        self._left_at: dict[str, str] = {}
        self._looked_at: tuple[str, str] | None = None
        """The answer with a stop or an open caution at which Enter stayed once."""
        self.top = TopLine(charset, id="top")
        self.stations = StationList(self.run, self.station_id, charset, id="stations")
        self.entries = EntryTable(self.run, self.station_id, charset, id="entries")
        self.picture = PicturePane(charset, id="picture")
        self.why = WhyPanel(charset, id="why")
        self.top.now = wiring.clock()
        self.why.notice = "Reading profiles, cards and history. Keys typed now are kept."
        self.entries.on_typed = self.typed
        self.entries.on_row = self.go_row
        self.entries.on_command = self._entry_command

    def compose(self) -> ComposeResult:
        """All widgets there will ever be."""
        yield self.top
        with Horizontal(id="middle"):
            yield self.stations
            yield self.entries
            yield self.picture
        yield self.why
        yield FooterLine(self.charset, id="footer")

    def on_mount(self) -> None:
        """Load once the first frame is out."""
        self.call_after_refresh(self.load)
        self.set_interval(CLOCK_SECONDS, self._tick)

    def _tick(self) -> None:
        now = self.wiring.clock()
        if self.top.now is None or now.strftime("%H:%M") != self.top.now.strftime("%H:%M"):
            self.top.now = now
            self.top.repaint()

    @work(exclusive=True, group="load")
    async def load(self) -> None:
        """Profiles, history and draft, in a thread; then the keys typed meanwhile."""
        loaded = await self.in_thread(self.wiring.load)
        if loaded is not None:
            self.take(loaded)
            self.entries.replay()

    def reload(self) -> None:
        """Profiles, cards, records and draft anew."""
        self.load()

    async def in_thread(self, work: Callable[[], T]) -> T | None:
        """What the work returns; None, with its message in the panel, when it says what a person can put right."""
        try:
            return await asyncio.to_thread(work)
        except PreflightError as error:
            self.say(str(error))
            return None

    def take(self, loaded: Loaded) -> None:
        """Go on with another run."""
        self.loaded = loaded
        self.run = loaded.run
        self.top.names = (loaded.machine, loaded.job, loaded.operator)
        self._left_at.clear()
        first = next(
            (one.id for one in self.run.stations if self.run.verdict(one.id) is not Verdict.OK), self.run.stations[0].id
        )
        self.station_id = loaded.station or first
        self.why.notice = loaded.notice
        self.show_row(self._first_row())

    def say(self, text: str) -> None:
        """A sentence in the panel until the next key that moves or types."""
        self.why.notice = text
        self.why.repaint()

    # what is shown

    def show_row(self, key: str) -> None:
        """Hand the run to every widget; each paints at most once, all in the same frame."""
        self._left_at[self.station_id] = key
        self.entries.show(self.run, self.station_id, key)
        self.stations.run, self.stations.current = self.run, self.station_id
        self.stations.repaint()
        self.top.verdict = self.run.overall
        self.top.repaint()
        self.why.finding = finding = self.finding_shown()
        self.why.caution = self.run.station(self.station_id).caution
        self.why.chosen = self.run.action(self.station_id, finding) if finding else ""
        self.why.stayed = self._looked_at == (key, self.run.typed.get(key, "").strip())
        self.why.repaint()
        self._draw_picture()

    def _draw_picture(self) -> None:
        draw = self.run.station(self.station_id).picture
        size = self.picture.size
        self.picture.picture = draw(self.run, size.width, size.height, self.charset) if draw and size.width else ()
        self.picture.repaint()

    def on_resize(self) -> None:
        """The picture moves beside or under the entries, and is drawn for its new size."""
        self.call_after_refresh(self._resized)

    def _resized(self) -> None:
        self.entries.picture_here = not self.has_class("-wide")
        self.entries.titled = not self.has_class("-narrow")
        self.entries.repaint()
        self._draw_picture()

    def finding_shown(self) -> Finding | None:
        """What the panel explains: the current row's worst finding, else the station's; an unread answer first."""
        key = self.entries.key
        if key in self.run.unread:
            return Finding(key, Verdict.OPEN, self.run.unread[key])
        row = self.entries.row
        own = self.run.finding(row, self.station_id) if row is not None else None
        findings = self.run.findings(self.station_id)
        return own or (findings[0] if findings else None)

    # typing and moving

    def typed(self, key: str, text: str) -> None:
        """An answer changed: judge, show, keep."""
        self.why.notice = ""
        self.run = self.run.typing(key, text, self.wiring.clock())
        self.show_row(key)
        self.keep()

    def keep(self) -> None:
        """Put what was typed into the draft; what goes wrong with it is said and nothing else is lost."""
        try:
            trouble = self.wiring.save(self.run.typed, self.run.entered, self.run.earlier)
        except PreflightError as error:
            trouble = str(error)
        if trouble:
            self.say(trouble)

    def accept(self) -> None:
        """The current answer is left standing."""
        before = self.run
        self.run = self.run.accepting(self.entries.key)
        if self.run.earlier is not before.earlier:
            self.keep()

    def go_row(self, key: str) -> None:
        """Go to a row of this station."""
        self.accept()
        self.why.notice = ""
        self.show_row(key)

    def go(self, station_id: str, key: str = "") -> None:
        """Go to a station, to the row left last or the first one not answered."""
        self.accept()
        self.why.notice = ""
        self.station_id = station_id
        self.show_row(key or self._left_at.get(station_id) or self._first_row())

    def _first_row(self) -> str:
        rows = self.run.rows(self.station_id)
        asked = [row.key for row in rows if self.run.asks(row) and not self.run.typed.get(row.key)]
        return asked[0] if asked else rows[0].key if rows else ""

    def on_station_list_chosen(self, message: StationList.Chosen) -> None:
        """A station was clicked."""
        if self.loaded is not None:
            self.go(message.station_id)

    def _entry_command(self, command: str) -> None:
        if self.loaded is not None:
            getattr(self, f"action_{command}")()

    def _step_row(self, step: int) -> bool:
        keys = [row.key for row in self.entries.rows]
        at = keys.index(self.entries.key) + step if self.entries.key in keys else 0
        if not 0 <= at < len(keys):
            return False
        self.go_row(keys[at])
        return True

    def _step_station(self, step: int) -> bool:
        ids = [station.id for station in self.run.stations]
        at = ids.index(self.station_id) + step
        if not 0 <= at < len(ids):
            return False
        self.go(ids[at])
        return True

    def action_accept(self) -> None:
        """Next entry that is asked. Enter accepts an answer: without one, or at an unreadable one, it stays.

        At a stop, and at a caution without an action, it stays once, so that the reason is read. What is only shown,
        may stay empty, or stands as before is passed over. The arrows go anywhere.
        """
        key, row = self.entries.key, self.entries.row
        answer = self.run.typed.get(key, "").strip()
        if key in self.run.unread:
            self.entries.mark_all()
            self.app.bell()
        elif row is not None and self.run.asks(row) and not answer:
            what = "Nothing is chosen here yet: Space chooses" if row.choices else "Nothing is typed here yet"
            self.say(f"{what}. The arrows and PageDown go on without it.")
            self.app.bell()
        elif self._wants_a_look() and self._looked_at != (key, answer):
            self._looked_at = (key, answer)
            self.show_row(key)
            self.entries.mark_all()
            self.app.bell()
        else:
            self._next_asked()

    def _wants_a_look(self) -> bool:
        """Whether the current answer stands at a stop, or at a caution of which nothing is done."""
        row = self.entries.row
        found = self.run.finding(row, self.station_id) if row is not None and row.asked else None
        if found is None or not self.run.typed.get(self.entries.key, "").strip():
            return False
        undone = bool(found.actions) and not self.run.action(self.station_id, found)
        doubted = found.verdict is Verdict.OPEN and isinstance(found.measured, Quantity)  # read, but it cannot be right
        return found.verdict is Verdict.STOP or doubted or (found.verdict is Verdict.CAUTION and undone)

    def _next_asked(self) -> None:
        rows = list(self.entries.rows)
        at = next((n for n, row in enumerate(rows) if row.key == self.entries.key), -1)
        asked = next((row.key for row in rows[at + 1 :] if self.run.asks(row)), "")
        if asked:
            self.go_row(asked)
        elif not self._step_station(1):
            self.action_review()

    def action_row_down(self) -> None:
        """Next row of this station."""
        self._step_row(1)

    def action_row_up(self) -> None:
        """Row before."""
        self._step_row(-1)

    def action_next_station(self) -> None:
        """Next station."""
        self._step_station(1)

    def action_previous_station(self) -> None:
        """Station before."""
        self._step_station(-1)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Before profiles are loaded one can only leave."""
        known = {command.id for command in COMMANDS}
        return self.loaded is not None or action not in known or action == "quit"
