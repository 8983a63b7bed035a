"""The start-up run: one screen for all stations, which only ever changes what its widgets paint."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import work
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen

from preflight.checks.finding import Finding, Verdict
from preflight.errors import PreflightError
from preflight.tui.commands import COMMANDS
from preflight.tui.run import Run, Station, action_key
from preflight.tui.widgets.cells import PicturePane
from preflight.tui.widgets.entry_table import EntryTable
from preflight.tui.widgets.footer import FooterLine
from preflight.tui.widgets.station_list import StationList
from preflight.tui.widgets.top_line import TopLine
from preflight.tui.widgets.why_panel import WhyPanel

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult

    from preflight.tui.charset import Charset
    from preflight.tui.wiring import Loaded, Pick, Wiring

T = TypeVar("T")
CLOCK_SECONDS = 20
JOB_DONE = "job done"


def outline(wiring: Wiring) -> Run:
    """The run before anything is loaded: titles alone."""
    return Run(tuple(Station(key, title, "", lambda _: ()) for key, title in wiring.titles))


class RunScreen(Screen[None]):
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
            #why { display: none; }
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
        loaded = await self._in_thread(self.wiring.load)
        if loaded is not None:
            self.take(loaded)
            self.entries.replay()

    async def _in_thread(self, work: Callable[[], T]) -> T | None:
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
        self._show(self._first_row())

    def say(self, text: str) -> None:
        """A sentence in the panel until the next key that moves or types."""
        self.why.notice = text
        self.why.repaint()

    # what is shown

    def _show(self, key: str) -> None:
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
        if self.entries.row is not None and self.entries.row.choices:
            self.run = self.run.accepting(key)
        self._show(key)
        self._keep()

    def _keep(self) -> None:
        self.wiring.save(self.run.typed, self.run.entered, self.run.earlier)

    def _accept(self) -> None:
        """The current answer is left standing."""
        before = self.run
        self.run = self.run.accepting(self.entries.key)
        if self.run.earlier is not before.earlier:
            self._keep()

    def go_row(self, key: str) -> None:
        """Go to a row of this station."""
        self._accept()
        self.why.notice = ""
        self._show(key)

    def go(self, station_id: str, key: str = "") -> None:
        """Go to a station, to the row left last or the first one not answered."""
        self._accept()
        self.why.notice = ""
        self.station_id = station_id
        self._show(key or self._left_at.get(station_id) or self._first_row())

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
        """Next entry that is asked; an answer that cannot be read is not passed over by Enter, only by the arrows.

        What is only shown, may stay empty, or stands as before is passed over: the arrows reach it.
        """
        if self.entries.key in self.run.unread:
            self.app.bell()
            return
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

    # dialogues; each module is imported when its key is first pressed

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Before profiles are loaded one can only leave."""
        known = {command.id for command in COMMANDS}
        return self.loaded is not None or action not in known or action == "quit"

    def action_why(self) -> None:
        """All findings of the station."""
        from preflight.tui.dialogues.reading import ReadingScreen
        from preflight.tui.full_reason import full_reason

        station = self.run.station(self.station_id)
        self.app.push_screen(
            ReadingScreen(f"{station.title}: why", full_reason(self.run, self.station_id, self.charset), self.charset)
        )

    def action_words(self) -> None:
        """The glossary."""
        from preflight.tui.dialogues.reading import ReadingScreen

        lines = [[(word, "strong"), (f"  {meaning}", "text")] for word, meaning in self.wiring.words()]
        self.app.push_screen(ReadingScreen("words", lines, self.charset))

    def action_audit(self) -> None:
        """All saved records; the screen is loaded only now."""
        if self.wiring.audit is None:
            self.say("There are no saved records to look at here.")
            return
        from preflight.tui.modes.audit import AuditScreen

        self.app.push_screen(AuditScreen(self.wiring.audit(), self.charset))

    @work(exclusive=True, group="dialogue")
    async def action_act(self) -> None:
        """Choose what was done about a caution: the one shown, else the first of the station without an action."""
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        cautions = self.run.cautions(self.station_id)
        shown = self.why.finding
        undone = [one for one in cautions if not self.run.action(self.station_id, one)]
        finding = shown if shown in cautions else next(iter([*undone, *cautions]), None)
        if finding is None:
            self.say("No caution here asks for an action. A stop is put right, or the start-up is held: F8.")
            return
        chosen = await pick(self.app, finding.statement, [Pick(text, text) for text in finding.actions], self.charset)
        if chosen is not None:
            key = action_key(self.station_id, finding)
            self.run = self.run.typing(key, chosen, self.wiring.clock()).accepting(key)
            self._show(self.entries.key)
            self._keep()

    @work(exclusive=True, group="dialogue")
    async def action_happened(self) -> None:
        """An event voids what it voids."""
        from preflight.tui.dialogues.pick import pick

        event = await pick(self.app, "What happened? Only what it voids is asked again.", self._events(), self.charset)
        if event == JOB_DONE:
            await self._job_done()
        elif event is not None and self.wiring.happened is not None:
            self._accept()
            await self._taking(partial(self.wiring.happened, self.run, event))

    def _events(self) -> Sequence[Pick]:
        from preflight.tui.wiring import Pick

        job_done = [Pick(JOB_DONE, "the job is done", "What was really fed: the run record.")]
        return [*(job_done if self.wiring.done is not None else []), *self.wiring.events]

    @work(exclusive=True, group="dialogue")
    async def action_job(self) -> None:
        """Pick machine, job or a belt card."""
        from preflight.tui.dialogues.pick import pick

        subject = await pick(self.app, "Job and belts", self.wiring.subjects(self.run), self.charset)
        if subject is None or self.wiring.picked is None:
            return
        card = await pick(self.app, "Which one?", self.wiring.picks(self.run, subject), self.charset)
        if card is not None:
            self._accept()
            await self._taking(partial(self.wiring.picked, self.run, subject, card))

    async def _taking(self, work: Callable[[], Loaded]) -> None:
        loaded = await self._in_thread(work)
        if loaded is not None:
            self.take(loaded)
            self._keep()

    @work(exclusive=True, group="dialogue")
    async def action_done(self) -> None:
        """The job is done: what was really fed."""
        await self._job_done()

    async def _job_done(self) -> None:
        from preflight.tui.dialogues.job_done import JobDoneScreen
        from preflight.tui.job_done import asked

        save = self.wiring.done
        if save is None:
            return
        try:
            questions = asked(self.run)
        except PreflightError as error:
            self.say(str(error))
            return
        self._accept()
        name = await self._who()
        if name is None:
            return
        word, refused, told = self.wiring.secret_word(name), "", None
        while True:
            screen = JobDoneScreen(name, questions, self.charset, word, refused, told.answers if told else None)
            told = await self.app.push_screen_wait(screen)
            if told is None or await self._finish(partial(save, self.run, told), word):
                return
            name, refused = told.name, self.why.notice

    @work(exclusive=True, group="dialogue")
    async def action_review(self) -> None:
        """What is open, cautioned and stopped; jump there, sign, or hold."""
        from preflight.tui.dialogues.review import ReviewScreen

        self._accept()
        answer = await self.app.push_screen_wait(ReviewScreen(self.run, self.charset))
        if answer is None:
            return
        if answer.kind == "go":
            self.go(answer.station_id, answer.key)
        elif answer.kind == "sign":
            await self._sign()
        else:
            await self._hold()

    async def _who(self) -> str | None:
        """Who signs: picked, or "" for a name to be typed; None to go back."""
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        people = await self._in_thread(self.wiring.people)
        if not people:
            return ""
        return await pick(
            self.app, "Who signs?", [*(Pick(name, name) for name in people), Pick("", "another name")], self.charset
        )

    async def _sign(self) -> None:
        from preflight.tui.dialogues.sign import SignScreen

        name = await self._who()
        if name is None:
            return
        word, refused = self.wiring.secret_word(name), ""
        while True:
            screen = SignScreen(name, self.wiring.meanings, self.charset, word, refused)
            signing = await self.app.push_screen_wait(screen)
            if signing is None or await self._finish(partial(self.wiring.sign, self.run, signing), word) or not word:
                return
            name, refused = signing.name, self.why.notice

    async def _hold(self) -> None:
        from preflight.tui.dialogues.hold import HoldScreen

        name = await self._who()
        if name is None:
            return
        worst = next(
            (
                found
                for one in self.run.stations
                for found in self.run.findings(one.id)
                if found.verdict is Verdict.STOP
            ),
            None,
        )
        word, refused = self.wiring.secret_word(name), ""
        stops, holding = worst.statement if worst else "", None
        while True:
            screen = HoldScreen(name, stops, self.charset, word, refused, holding)
            holding = await self.app.push_screen_wait(screen)
            if holding is None or await self._finish(partial(self.wiring.hold, self.run, holding), word) or not word:
                return
            refused = self.why.notice

    async def _finish(self, save: Callable[[], str], secret_word: str = "") -> bool:
        """Save the record in a thread, say where it is, then leave or start the next one; False when refused."""
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        self.say("Opening the key, then saving the record: about a second." if secret_word else "Saving the record.")
        saved = await self._in_thread(save)
        if saved is None:
            return False
        choices = [Pick("next", "next start-up check", "Profiles and cards are read again."), Pick("leave", "leave")]
        if await pick(self.app, saved, choices, self.charset) == "leave":
            self.app.exit()
        else:
            self.load()
        return True

    def action_practice(self) -> None:
        """Practice in a view of its own; this run stays as it is."""
        if self.wiring.practice is None:
            self.say("There is no practice at this terminal.")
            return
        from preflight.tui.modes.train import TrainScreen

        self.app.push_screen(TrainScreen(self.wiring.practice(), self.charset, self.wiring.words()))

    @work(exclusive=True, group="leave")
    async def action_quit(self) -> None:
        """Leave; with a draft ask once."""
        if self.loaded is not None and self.wiring.has_draft(self.run):
            from preflight.tui.dialogues.pick import pick
            from preflight.tui.wiring import Pick

            choices = [Pick("leave", "leave", "The draft is kept; it opens where you left."), Pick("stay", "stay")]
            if await pick(self.app, "Leave this start-up check?", choices, self.charset) != "leave":
                return
        self.app.exit()
