"""Practice: the stations of a drill, each judged by the trainee before its finding, picture and numbers are shown."""

from __future__ import annotations

import asyncio
import time
from functools import partial
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import work
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen

from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.training.drill import worst_first
from preflight.training.explain import HELP, help_lines, reasons, words_for
from preflight.training.question import causes, remedies
from preflight.training.reading import readings
from preflight.training.records import MEANING
from preflight.training.report import result_lines, standing_lines
from preflight.training.score import Judgement
from preflight.training.session import told
from preflight.tui.dialogues.pick import PickScreen
from preflight.tui.practice_desk import DRAWN
from preflight.tui.run import Run
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.widgets.cells import PicturePane
from preflight.tui.widgets.practice_lines import PracticeBanner, PracticeKeys, ReadingsPane
from preflight.tui.widgets.station_list import StationList
from preflight.tui.widgets.why_panel import WhyPanel
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult

    from preflight.training.session import Session
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Line
    from preflight.tui.practice_desk import PracticeDesk

T = TypeVar("T")
NOBODY = "\n"
"""In place of a name: nothing is kept. No name holds a line break."""


class PracticePick(PickScreen):
    """A list to pick from, marked as practice."""

    title_text = "PRACTICE"


def run_of(session: Session) -> Run:
    """What the list and the pictures show: the stations asked, with findings of those judged and of no other."""
    scene = session.drill.scene
    stations = tuple(station for station in STATIONS if station.id in session.drill.asked)
    results = {check: session.result(check) for check in session.judged}
    return Run(stations, view=scene.view, history=scene.history, sheet=scene.sheet, results=results)


class TrainScreen(Screen[None]):
    """Owns one `Session` at a time and replaces it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "accept", "judge", show=False),
        Binding("pagedown", "next_station", "next station", show=False),
        Binding("pageup", "previous_station", "station before", show=False),
        Binding("down", "down", "line down", show=False),
        Binding("up", "up", "line up", show=False),
        Binding("f3,f1", "why", "why", show=False),
        Binding("f9,f6", "words", "words", show=False),
        Binding("escape,ctrl+q", "leave", "leave practice", show=False),
    ]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-normal"), (110, "-wide")]  # noqa: RUF012 (declared in the base)
    DEFAULT_CSS = """
    TrainScreen {
        #middle { height: 1fr; }
        #stations { width: 20; height: 1fr; }
        #readings { width: 1fr; height: 1fr; }
        #picture { width: 1fr; height: 1fr; display: none; }
        #why { height: 6; }
        &.-wide #readings { min-width: 60; }
        &.-wide #picture { display: block; }
        &.-narrow #middle { layout: vertical; }
        &.-narrow #stations { width: 100%; height: 1; }
    }
    """

    def __init__(self, desk: PracticeDesk, charset: Charset, words: Sequence[tuple[str, str]] = ()) -> None:
        super().__init__()
        self.desk = desk
        self.charset = charset
        self.glossary = words
        self.session: Session | None = None
        self.trainee = NOBODY
        self.drawn = False
        self.station_id = STATIONS[0].id
        self._began = 0.0
        self.banner = PracticeBanner(charset, id="top")
        self.stations = StationList(Run(STATIONS), self.station_id, charset, id="stations")
        self.readings = ReadingsPane(charset, id="readings")
        self.picture = PicturePane(charset, id="picture")
        self.why = WhyPanel(charset, id="why")

    def compose(self) -> ComposeResult:
        """All widgets there will ever be."""
        yield self.banner
        with Horizontal(id="middle"):
            yield self.stations
            yield self.readings
            yield self.picture
        yield self.why
        yield PracticeKeys(self.charset, id="footer")

    def on_mount(self) -> None:
        """Ask who practises and what."""
        self.choose()

    # choosing ----------------------------------------------------------------------------------------------------

    @work(exclusive=True, group="practice")
    async def choose(self) -> None:
        """Who practises, then what; leaves practice when nothing is chosen."""
        if self.trainee == NOBODY:
            names = await self._in_thread(self.desk.names) or []
            picks = [*(Pick(name, name) for name in names), Pick(NOBODY, "just looking, or somebody new")]
            who = await self._pick("Who practises? It can be kept under another name at the end.", picks)
            if who is None:
                self.dismiss(None)
                return
            self.trainee = who
        await self._choose_drill()

    async def _choose_drill(self) -> None:
        levels = [Pick(f"{DRAWN}{level}", f"a drill drawn for you, level {level}", HELP[level]) for level in HELP]
        what = await self._pick(
            "What?", [*levels, Pick("written", "a written drill"), Pick("standing", "where everybody stands")]
        )
        if what is None:
            self.dismiss(None)
        elif what == "standing":
            await self._standing()
            await self._choose_drill()
        elif what == "written":
            drill = await self._pick("Which one?", await self._in_thread(self.desk.drills) or [])
            level = await self._pick("How much help?", [Pick(str(one), HELP[one]) for one in HELP]) if drill else None
            if drill is None or level is None:
                await self._choose_drill()
            else:
                await self._start(drill, int(level))
        else:
            await self._start(DRAWN, int(what))

    async def _start(self, drill: str, level: int) -> None:
        name = "" if self.trainee == NOBODY else self.trainee
        session = await self._in_thread(partial(self.desk.start, drill, level, name))
        if session is None:
            return
        self.session, self.drawn = session, drill == DRAWN
        self.station_id = session.left[0]
        self._show()
        self.say(session.drill.situation)

    # what is shown -----------------------------------------------------------------------------------------------

    def say(self, text: str) -> None:
        """A sentence in the panel until something else is shown."""
        self.why.notice = text
        self.why.repaint()

    def _show(self) -> None:
        """Hand the session to every widget."""
        session, check = self.session, self.station_id
        if session is None:
            return
        run, shown = run_of(session), session.shown(check)
        station = run.station(check)
        self.banner.title = session.drill.title
        self.banner.judged, self.banner.asked = len(session.judged), len(session.drill.asked)
        self.stations.run, self.stations.current = run, check
        self.readings.station = (station.title, station.purpose)
        self.readings.readings = readings(session.drill.scene, check)
        self.readings.helps = () if shown else help_lines(session.answer, check, session.level)
        self.readings.mark = session.mark(check) if shown else None
        self.readings.told = told(self.readings.mark) if self.readings.mark else ""
        self.readings.first = 0
        self.why.notice = ""
        self.why.finding = reasons(shown)[0] if shown else None
        self.why.caution = station.caution
        size = self.picture.size
        draw = station.picture if shown else None
        self.picture.picture = draw(run, size.width, size.height, self.charset) if draw and size.width else ()
        self._began = time.monotonic()
        for widget in (self.banner, self.stations, self.readings, self.why, self.picture):
            widget.repaint()

    def on_resize(self) -> None:
        """The picture is drawn for its new size."""
        self.call_after_refresh(self._show)

    # judging -----------------------------------------------------------------------------------------------------

    def on_station_list_chosen(self, message: StationList.Chosen) -> None:
        """A station was clicked."""
        self._go(message.station_id)

    def _go(self, station_id: str) -> None:
        if self.session is not None and station_id in self.session.drill.asked:
            self.station_id = station_id
            self._show()

    def _step(self, step: int) -> None:
        if self.session is None:
            return
        asked = self.session.drill.asked
        at = asked.index(self.station_id) + step
        if 0 <= at < len(asked):
            self._go(asked[at])

    def action_next_station(self) -> None:
        """Next station of the drill."""
        self._step(1)

    def action_previous_station(self) -> None:
        """Station before."""
        self._step(-1)

    def action_down(self) -> None:
        """A line further down in the readings."""
        self.readings.scroll_lines(1)

    def action_up(self) -> None:
        """A line up."""
        self.readings.scroll_lines(-1)

    @work(exclusive=True, group="practice")
    async def action_accept(self) -> None:
        """Judge this station; where it was judged go on to the next one, and after the last to the result."""
        session = self.session
        if session is None:
            await self._choose_drill()
        elif self.station_id not in session.judged:
            await self._judge(session, self.station_id)
        elif session.left:
            self._go(session.left[0])
        else:
            await self._finish(session)

    async def _judge(self, session: Session, check: str) -> None:
        title = run_of(session).station(check).title
        word = await self._pick(f"Your verdict on {title}?", [Pick(one.word, one.word) for one in Verdict])
        if word is None:
            return
        verdict, cause, remedy = Verdict[word.upper()], "", ""
        if verdict is not Verdict.OK:
            for question in (causes(session.drill, check), remedies(session.drill, check)):
                line = await self._pick(question.ask, [Pick(one, one) for one in question.choices])
                if line is None:
                    return  # nothing was given yet: the station is judged anew
                cause, remedy = (line, "") if not cause else (cause, line)
        seconds = time.monotonic() - self._began
        self.session = session.judging(Judgement(check, verdict, cause, remedy, seconds))
        self._show()

    async def _finish(self, session: Session) -> None:
        """The result, why it matters, and whether it is kept."""
        marked = session.marked
        lines: list[Line] = [[(line.strip(), "strong")] for line in result_lines(marked)]
        lines += [[("", "text")], [(session.drill.why, "text")]]
        await self._read(f"PRACTICE result: {session.drill.title}", lines)
        picks = [Pick("keep", "keep it on record, as practice"), Pick("next", "next drill, keep nothing")]
        choice = await self._pick(f"Score {marked.score} of 100.", [*picks, Pick("leave", "leave practice")])
        if choice == "keep" and not await self._keep(session):
            return
        if choice is None:
            return
        if choice == "leave":
            self.dismiss(None)
        else:
            await self._choose_drill()

    async def _keep(self, session: Session) -> bool:
        """Sign and save; whether that was done."""
        from preflight.tui.dialogues.sign import SignScreen

        name, refused = "" if self.trainee == NOBODY else self.trainee, ""
        while True:
            word = await self._in_thread(partial(self.desk.secret_word, name)) or ""
            screen = SignScreen(name, (MEANING,), self.charset, word, refused)
            screen.title_text = "PRACTICE"
            signing = await self.app.push_screen_wait(screen)
            if signing is None:
                return False
            said = await self._in_thread(partial(self.desk.keep, session, self.drawn, signing))
            if said is not None:
                self.trainee = signing.name
                self.say(said)
                return True
            name, refused = signing.name, self.why.notice

    # reading -----------------------------------------------------------------------------------------------------

    def action_why(self) -> None:
        """All findings of a judged station with their workings, what was planted, and the words in them."""
        if self.session is None or self.session.shown(self.station_id) is None:
            self.say("First your verdict: Enter. The reason comes after it.")
            return
        self._explain(self.session)

    @work(exclusive=True, group="practice")
    async def _explain(self, session: Session) -> None:
        from preflight.tui.full_reason import full_reason

        check = self.station_id
        lines: list[Line] = [
            [("planted  ", "dim"), (f"{fault.cause}. First: {fault.remedy}. {fault.why}", "strong")]
            for fault in session.drill.faults_at(check)
        ]
        wrong = [one for one in worst_first(session.result(check).findings) if one.verdict is not Verdict.OK]
        lines += [
            [("word  ", "dim"), (f"{word}: {meaning}", "text")] for word, meaning in words_for(session.drill, wrong)
        ]
        lines += [[("", "text")], *full_reason(run_of(session), check, self.charset)]
        await self._read(f"PRACTICE: {check.replace('_', ' ')}, why", lines)

    @work(exclusive=True, group="practice")
    async def action_words(self) -> None:
        """The glossary."""
        await self._read(
            "PRACTICE: words", [[(word, "strong"), (f"  {means}", "text")] for word, means in self.glossary]
        )

    async def _standing(self) -> None:
        """The trainer's view: everybody's results, what is due, the gate."""
        found = await self._in_thread(self.desk.standings) or []
        lines: list[Line] = [[(line, "text")] for one in found for line in [*standing_lines(one), ""]]
        await self._read("PRACTICE: where everybody stands", lines or [[("Nobody has practised here yet.", "text")]])

    @work(exclusive=True, group="practice")
    async def action_leave(self) -> None:
        """Leave practice; with a drill begun ask once."""
        if self.session is not None and self.session.judged and not self.session.done:
            picks = [Pick("stay", "stay"), Pick("leave", "leave practice", "This drill is not kept.")]
            if await self._pick("Leave this drill?", picks) != "leave":
                return
        self.dismiss(None)

    # asking ------------------------------------------------------------------------------------------------------

    async def _pick(self, question: str, picks: Sequence[Pick]) -> str | None:
        return await self.app.push_screen_wait(PracticePick(question, picks, self.charset))

    async def _read(self, title: str, lines: Sequence[Line]) -> None:
        from preflight.tui.dialogues.reading import ReadingScreen

        await self.app.push_screen_wait(ReadingScreen(title, lines, self.charset))

    async def _in_thread(self, work: Callable[[], T]) -> T | None:
        """What the work returns; None, with its message in the panel, when it says what a person can put right."""
        try:
            return await asyncio.to_thread(work)
        except PreflightError as error:
            self.say(str(error))
            return None
