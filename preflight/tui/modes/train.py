"""Practice: the stations of a drill, each judged by the trainee before its finding, picture and numbers are shown."""

from __future__ import annotations

import asyncio
import time
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal

from preflight.errors import PreflightError
from preflight.training.explain import reasons
from preflight.training.reading import readings
from preflight.training.score import Judgement
from preflight.training.sitting import told
from preflight.tui.asking import Once
from preflight.tui.dialogues.practice import LEAVE, NOBODY, PracticeTalk
from preflight.tui.practice_desk import DRAWN
from preflight.tui.practice_run import reason_lines, run_of
from preflight.tui.run import Run
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.widgets.cells import PicturePane
from preflight.tui.widgets.practice_lines import PracticeBanner, PracticeKeys, ReadingsPane
from preflight.tui.widgets.station_list import StationList
from preflight.tui.widgets.why_panel import WhyPanel

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Sequence

    from textual.app import ComposeResult

    from preflight.training.kept_drill import KeptDrill
    from preflight.training.sitting import Sitting
    from preflight.tui.charset import Charset
    from preflight.tui.practice_desk import PracticeDesk

NOT_KEPT = "Nothing is kept: no name was given."
SMALLEST_PICTURE = 3
"""Rows under which a picture shows nothing."""


class TrainScreen(Once[None]):
    """Owns one `Sitting` at a time and replaces it."""

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

    def __init__(
        self,
        desk: PracticeDesk,
        charset: Charset,
        words: Sequence[tuple[str, str]] = (),
        offered: tuple[Sitting, str] | None = None,
    ) -> None:
        """offered: the sitting to begin, and whose it is; else both are asked."""
        super().__init__()
        self.talking = False
        """A box is open, or on its way: until it is answered no key does anything here."""
        self.desk = desk
        self.charset = charset
        self.glossary = words
        self.sitting: Sitting | None = None
        self.trainee = NOBODY
        self.offered = offered
        self.kept: KeptDrill | None = None
        """The record that the drill was begun, until its end is saved."""
        self.outcome = NOT_KEPT
        """What became of the record of this drill, in a sentence."""
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
        """Ask who practises and what, unless that is settled."""
        self._talk(self._choose if self.offered is None else partial(self._begin_offered, *self.offered))

    @property
    def talk(self) -> PracticeTalk:
        """Everything that is asked in a box."""
        return PracticeTalk(self.app, self.desk, self.charset)

    def _talk(self, step: Callable[[], Awaitable[None]]) -> None:
        """Ask or tell in a box; one at a time, and a key that comes before it is there does nothing."""
        if not self.talking:
            self.talking = True
            self.run_worker(self._until_answered(step), group="practice")

    async def _until_answered(self, step: Callable[[], Awaitable[None]]) -> None:
        try:
            await step()
        finally:
            self.talking = self not in self.app.screen_stack  # once it is left nothing is asked any more

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Nothing while a box is open or on its way."""
        return not self.talking

    # choosing ----------------------------------------------------------------------------------------------------

    async def _choose(self) -> None:
        """Who practises, then what; leaves practice when nothing is chosen."""
        who = await self.talk.who()
        if who is None:
            self.dismiss(None)
            return
        self.trainee = who
        await self._next_drill()

    async def _next_drill(self) -> None:
        """Choose a drill and begin it; leaves practice when nothing is chosen."""
        while (chosen := await self.talk.what()) is not None:
            sitting = await self.talk.start(*chosen, self.trainee)
            if sitting is not None and await self._begin(sitting, drawn=chosen[0] == DRAWN):
                return
        self.dismiss(None)

    async def _begin_offered(self, sitting: Sitting, trainee: str) -> None:
        """Begin that drill; leaves practice when it is not signed."""
        self.trainee = trainee
        if not await self._begin(sitting, drawn=False):
            self.dismiss(None)

    async def _begin(self, sitting: Sitting, *, drawn: bool) -> bool:
        """Put the drill on record where there is a name, then show it; False when it was not signed."""
        self.kept, self.outcome = None, NOT_KEPT
        if self.trainee != NOBODY:
            self.kept = await self.talk.begin(sitting, drawn, self.trainee)
            if self.kept is None:
                return False
            self.trainee, self.outcome = self.kept.by.name, "The end of this drill is not saved yet."
        self.sitting = sitting
        self._go(sitting.left[0])
        return True

    async def _end(self) -> None:
        """Save how the drill ended, where it was begun on record; what goes wrong is told and can be tried again."""
        kept, sitting = self.kept, self.sitting
        if kept is None or sitting is None:
            return
        try:
            self.outcome = await asyncio.to_thread(self.desk.end, kept, sitting)
            self.kept = None
        except PreflightError as error:
            self.outcome = f"Its end is not saved yet: {error}"

    # what is shown -----------------------------------------------------------------------------------------------

    def say(self, text: str) -> None:
        """A sentence in the panel until something else is shown."""
        self.why.notice = text
        self.why.repaint()

    def _show(self) -> None:
        """Hand the sitting to every widget."""
        sitting, check = self.sitting, self.station_id
        if sitting is None:
            return
        run, shown = run_of(sitting), sitting.shown(check)
        station = run.station(check)
        self.banner.title = sitting.drill.title
        self.banner.judged, self.banner.asked = len(sitting.judged), len(sitting.drill.asked)
        self.stations.run, self.stations.current = run, check
        self.readings.station = (station.title, station.purpose)
        self.readings.readings = readings(sitting.drill.scene, check)
        self.readings.helps = () if shown else sitting.helps(check)
        self.readings.mark = sitting.mark(check) if shown else None
        self.readings.told = told(self.readings.mark) if self.readings.mark else ""
        self.readings.first = 0
        self.why.notice = "" if sitting.judged else sitting.drill.situation
        self.why.finding = reasons(shown)[0] if shown else None
        self.why.caution = station.caution
        self._draw(run, check)
        self._began = time.monotonic()
        for widget in (self.banner, self.stations, self.readings, self.why, self.picture):
            widget.repaint()

    def _draw(self, run: Run, check: str) -> None:
        """The picture of a judged station: in its own pane on a wide terminal, else in the room under the readings."""
        self.picture.picture = self.readings.picture = ()
        draw, wide = run.station(check).picture, self.has_class("-wide")
        if draw is None or check not in run.results:
            return
        size = self.picture.size if wide else self.readings.size
        width = size.width if wide else size.width - 2
        height = size.height if wide else size.height - len(self.readings.all_lines(size.width)) - 1
        if width > 0 and height >= SMALLEST_PICTURE:
            drawn = draw(run, width, height, self.charset)
            if wide:
                self.picture.picture = drawn
            else:
                self.readings.picture = drawn[:height]

    def on_resize(self) -> None:
        """The picture is drawn for its new size."""
        self.call_after_refresh(self._show)

    # judging -----------------------------------------------------------------------------------------------------

    def on_station_list_chosen(self, message: StationList.Chosen) -> None:
        """A station was clicked."""
        if not self.talking:
            self._go(message.station_id)

    def _go(self, station_id: str) -> None:
        if self.sitting is not None and station_id in self.sitting.drill.asked:
            self.station_id = station_id
            self._show()

    def _step(self, step: int) -> None:
        if self.sitting is None:
            return
        asked = self.sitting.drill.asked
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

    def action_accept(self) -> None:
        """Judge this station; where it was judged go on to the next one, and after the last to the result."""
        sitting, check = self.sitting, self.station_id
        if sitting is None:
            self._talk(self._next_drill)
        elif check not in sitting.judged:
            self._talk(partial(self._judge, sitting, check))
        elif sitting.left:
            self._go(sitting.left[0])
        else:
            self._talk(partial(self._finish, sitting))

    async def _judge(self, sitting: Sitting, check: str) -> None:
        """The verdict on a station; after the last one the drill is saved before its result is shown."""
        given = await self.talk.judgement(sitting, check, run_of(sitting).station(check).title)
        if given is None:
            return
        self.sitting = sitting.judging(Judgement(check, *given, time.monotonic() - self._began))
        if self.sitting.done:
            await self._end()
        self._show()

    async def _finish(self, sitting: Sitting) -> None:
        """The result, then go on or leave."""
        await self._end()  # nothing, unless it could not be saved before
        choice = await self.talk.result(sitting, self.outcome)
        if choice == LEAVE:
            self.dismiss(None)
        elif choice is not None:
            await self._next_drill()

    # reading -----------------------------------------------------------------------------------------------------

    def action_why(self) -> None:
        """All findings of a judged station with their workings, what was planted, and the words in them."""
        if self.sitting is None or self.sitting.shown(self.station_id) is None:
            self.say("First your verdict: Enter. The reason comes after it.")
            return
        lines = reason_lines(self.sitting, self.station_id, self.charset)
        self._talk(partial(self.talk.tell, f"{self.station_id.replace('_', ' ')}, why", lines))

    def action_words(self) -> None:
        """The glossary."""
        lines = [[(word, "strong"), (f"  {means}", "text")] for word, means in self.glossary]
        self._talk(partial(self.talk.tell, "words", lines))

    def action_leave(self) -> None:
        """Leave practice; a drill that is begun is asked about, and one on record is given up."""
        self._talk(self._leave)

    async def _leave(self) -> None:
        sitting = self.sitting
        begun = sitting is not None and not sitting.done and (sitting.judged or self.kept is not None)
        if sitting is not None and begun and not await self.talk.leaves(sitting, self.kept is not None):
            return
        if self.kept is not None:
            await self._end()
            await self.talk.tell("", [[(self.outcome, "text")]])
        self.dismiss(None)
