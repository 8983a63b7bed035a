"""The start-up run: one screen for all stations, which only ever changes what its widgets paint."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import work
from textual.binding import Binding, BindingType
from textual.containers import Horizontal

from preflight.checks.finding import Finding, Verdict
from preflight.errors import PreflightError, out_of_reach
from preflight.tui.attention import explained, no_release, slip_meant
from preflight.tui.commands import COMMANDS
from preflight.tui.kept_draft import KeptDraft
from preflight.tui.modes.run_moves import RunMoves
from preflight.tui.readiness import readiness
from preflight.tui.run import Run, Station
from preflight.tui.widgets.cells import PicturePane
from preflight.tui.widgets.entry_table import EntryTable
from preflight.tui.widgets.footer import FooterLine, Now
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
TOO_EARLY = "What was typed before this was shown is not taken."
RECORDS = "the records (no start-up)"
"""Offered beside the machines, and what the dialogue returns for it: no profile has such a name."""


def outline(wiring: Wiring) -> Run:
    """The run before anything is loaded: titles alone."""
    return Run(tuple(Station(key, title, "", lambda _: ()) for key, title in wiring.titles))


class RunScreen(RunMoves):
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
        }
    }
    """

    def __init__(self, wiring: Wiring, charset: Charset, rests: Callable[[], None] = lambda: None) -> None:
        """rests: called where a key did what is to be read first."""
        super().__init__()
        self.rests = rests
        self.wiring = wiring
        self.charset = charset
        self.run = outline(wiring)
        self.station_id = self.run.stations[0].id
        self.loaded: Loaded | None = None
        self.left_at = {}
        self.kept = {}
        self.top = TopLine(charset, id="top")
        self.stations = StationList(self.run, self.station_id, charset, id="stations")
        self.entries = EntryTable(self.run, self.station_id, charset, id="entries")
        self.picture = PicturePane(charset, id="picture")
        self.why = WhyPanel(charset, id="why")
        self.footer = FooterLine(charset, id="footer")
        self.top.now = wiring.clock()
        self.why.notice = "Reading profiles, cards and history. What is typed before they are shown is not taken."
        self.draft = KeptDraft(self._save, self._draft_told)
        self.trouble = ""
        """What was said last that a person can put right."""
        self.early = False
        """Something was typed before there was an entry to type it into."""
        self.entries.on_typed = self.typed
        self.entries.on_row = self.go_row
        self.entries.on_refused = self.refused
        self.entries.on_command = self._entry_command
        self.entries.on_early = self.typed_before_shown

    def compose(self) -> ComposeResult:
        """All widgets there will ever be."""
        yield self.top
        with Horizontal(id="middle"):
            yield self.stations
            yield self.entries
            yield self.picture
        yield self.why
        yield self.footer

    def on_mount(self) -> None:
        """Load once the first frame is out."""
        self.call_after_refresh(self.load)
        self.set_interval(CLOCK_SECONDS, self._tick)

    def _tick(self) -> None:
        now = self.wiring.clock()
        if self.top.now is None or now.strftime("%H:%M") != self.top.now.strftime("%H:%M"):
            self.top.now = now
            self.top.repaint()
        if self.draft.trouble and not self.busy:
            self.draft.keep(self.run, quiet=True)

    # the draft

    def keep(self) -> None:
        """Put what was typed into the draft."""
        self.draft.keep(self.run)

    def keep_at_failure(self) -> bool:
        """Once more while the app fails; whether everything typed is kept. A record that is being saved keeps its own.

        After the release nothing is kept that was not typed since: its draft is gone.
        """
        if self.loaded is not None and self.run.signed is None and not self.busy:
            self.keep()
        return not self.draft.trouble

    def _save(self, run: Run) -> str | None:
        return self.wiring.save(run.typed, run.entered, run.earlier, run.unaccepted)

    def _draft_told(self, text: str) -> None:
        self.top.unkept = bool(self.draft.trouble)
        self.top.repaint()
        self.say(text)

    # loading

    @work(group="load")
    async def load(self) -> None:
        """Profiles, history and draft, in a thread. Nothing typed meanwhile is taken: nobody saw what it would reach.

        On a fresh sheet it would fall into the first entry, in a resumed one into any.
        """
        loaded = await self._loaded()
        if loaded is not None:
            self.entries.ready = True
            self.take(loaded)

    async def _loaded(self) -> Loaded | None:
        """What there is for the machine of this terminal; it is asked for where it is not known which one is meant."""
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        machines, said = await self.in_thread(self.wiring.machines), ""
        while machines:
            more = (
                [Pick(RECORDS, RECORDS, "Reads only; no machine is opened.")] if self.wiring.audit is not None else []
            )
            question = f"{said} Which machine is started up?".strip()
            chosen = await pick(self.app, question, [*machines, *more], self.charset)
            if chosen is None:
                self.app.exit()
                return None
            if chosen == RECORDS and self.wiring.audit is not None:
                from preflight.tui.modes.audit import AuditScreen

                await self.app.push_screen_wait(AuditScreen(self.wiring.audit(), self.charset))
                continue
            self.wiring.open_on(chosen)
            if (loaded := await self.in_thread(self.wiring.load)) is not None:
                return loaded
            said = self.why.notice
        return None if machines is None else await self.in_thread(self.wiring.load)

    async def read_anew(self) -> None:
        """Profiles, cards, records and draft anew, and show them."""
        loaded = await self.in_thread(self.wiring.load)
        if loaded is not None:
            self.take(loaded)

    async def in_thread(self, work: Callable[[], T]) -> T | None:
        """What the work returns; None, with its message in the panel, when it says what a person can put right."""
        try:
            return await self.working(work)
        except PreflightError as error:
            self.trouble = str(error)
            self.say(self.trouble)
            return None

    async def working(self, work: Callable[[], T]) -> T:
        """What the work returns. PreflightError also where a file or folder cannot be used.

        After any other error it stays busy: that one ends the app, and nobody knows what became of the files.
        """
        self.busy = True
        try:
            done = await asyncio.to_thread(work)
        except OSError as error:
            self.busy = False
            raise out_of_reach(error) from error
        except (PreflightError, asyncio.CancelledError):
            self.busy = False
            raise
        self.busy = False
        return done

    def take(self, loaded: Loaded) -> None:
        """Go on with another run."""
        if self.loaded is not None and self.loaded.machine != loaded.machine:
            self.kept.clear()  # of another machine
        self.loaded = loaded
        self.run = loaded.run
        self.left_at.clear()
        self.entries.look = None
        first = next(
            (one.id for one in self.run.stations if self.run.verdict(one.id) is not Verdict.OK), self.run.stations[0].id
        )
        self.station_id = loaded.station or first
        self.why.notice = loaded.notice
        self.show_row(self.first_row())
        self.app.screen_change_signal.publish(self)  # another run: what was typed for the one before is not for it
        if self.early:
            self.typed_before_shown()
            self.early = False

    def typed_before_shown(self) -> None:
        """Keys were dropped: say so beside what is said of the run that they were not meant for."""
        if self.loaded is None:
            self.early = True
        else:
            self.say(f"{self.loaded.notice} {TOO_EARLY}".strip())

    def say(self, text: str) -> None:
        """A sentence in the panel until the next key that moves or types."""
        self.why.notice = text
        self.why.repaint()

    # what is shown

    def show_row(self, key: str) -> None:
        """Hand the run to every widget; each paints at most once, all in the same frame."""
        self.left_at[self.station_id] = key
        self.entries.show(self.run, self.station_id, key)
        self.stations.run, self.stations.current = self.run, self.station_id
        self.stations.repaint()
        self.top.names = self._names()
        self.top.verdict = self.run.overall
        self.top.state = readiness(self.run)
        self.top.repaint()
        self.why.finding = finding = self.finding_shown()
        self.why.caution = self.run.station(self.station_id).caution
        self.why.chosen = self.run.action(self.station_id, finding) if finding else ""
        self.why.repaint()
        self.footer.now = self._now()
        self.footer.repaint()
        self._draw_picture()

    def _names(self) -> tuple[str, str, str]:
        """Machine, job and operator for the top line; the job as it is picked now."""
        assert self.loaded is not None
        job = self.run.view.job(self.run.sheet) if self.run.view is not None and self.run.sheet is not None else None
        return self.loaded.machine, job.name if job is not None else self.loaded.job, self.loaded.operator

    def _now(self) -> Now:
        """What the footer says for the current row: that Enter goes on past a stop, a key that the row needs."""
        if self.run.signed is not None:
            done = ("done",) if self.wiring.done is not None else ()
            return Now(("happened", *done), {"review": "review"})
        needed, says = [], {}
        if (looked := self.looks_at()) is not None:
            says["accept"] = "again looks on, no release" if no_release(looked) else "again goes on"
        if meant := slip_meant(self.run, self.station_id, self.entries.row):
            needed.append("act")
            says["act"] = f"takes {meant}"
        elif self.why.finding in self.run.cautions(self.station_id) and not self.why.chosen:
            needed.append("act")
        if self.entries.key in {subject.id for subject in self.wiring.subjects(self.run)}:
            needed.append("job")
        return Now(tuple(needed), says)

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
        self.entries.place()
        self.entries.repaint()
        self._draw_picture()

    def finding_shown(self) -> Finding | None:
        """What the panel explains: an unread answer, what Enter stayed for, the current row's finding, the station's.

        A belt half measured stands before what is open only because of it.
        """
        key = self.entries.key
        if key in self.run.unread:
            return Finding(key, Verdict.OPEN, self.run.unread[key])
        own = self.looks_at() or explained(self.run, self.station_id, self.entries.row)
        worst = next(iter(self.run.findings(self.station_id)), None)
        if own is not None or (worst is not None and worst.verdict is Verdict.STOP):
            return own or worst
        half = next((row.key for row in self.entries.rows if row.key in self.run.unread), "")
        return Finding(half, Verdict.OPEN, self.run.unread[half]) if half else worst

    def on_station_list_chosen(self, message: StationList.Chosen) -> None:
        """A station was clicked."""
        if self.loaded is not None and not self.busy:
            self.go(message.station_id)

    def _entry_command(self, command: str) -> None:
        if self.loaded is not None and not self.busy:
            getattr(self, f"action_{command}")()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Before profiles are loaded one can only leave, and while files are written nothing at all."""
        if action not in {command.id for command in COMMANDS}:
            return True
        return not self.busy if self.loaded is not None else action == "quit"
