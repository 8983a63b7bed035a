"""Practice: the stations of a drill, each judged by the trainee before its finding, picture and numbers are shown."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen

from preflight.training.explain import reasons
from preflight.training.reading import readings
from preflight.training.score import Judgement
from preflight.training.sitting import told
from preflight.tui.dialogues.practice import KEEP, LEAVE, NOBODY, PracticeTalk
from preflight.tui.practice_desk import DRAWN
from preflight.tui.practice_run import reason_lines, run_of
from preflight.tui.run import Run
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.widgets.cells import PicturePane
from preflight.tui.widgets.practice_lines import PracticeBanner, PracticeKeys, ReadingsPane
from preflight.tui.widgets.station_list import StationList
from preflight.tui.widgets.why_panel import WhyPanel
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult

    from preflight.training.sitting import Sitting
    from preflight.tui.charset import Charset
    from preflight.tui.practice_desk import PracticeDesk

SMALLEST_PICTURE = 3
"""Rows under which a picture shows nothing."""


class TrainScreen(Screen[None]):
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
        begun: tuple[Sitting, str] | None = None,
    ) -> None:
        """begun: the sitting to go through, and whose it is; else both are asked."""
        super().__init__()
        self.desk = desk
        self.charset = charset
        self.glossary = words
        self.sitting: Sitting | None = None
        self.trainee = NOBODY
        if begun is not None:
            self.sitting, self.trainee = begun
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
        """Ask who practises and what, unless that is settled."""
        if self.sitting is None:
            self.choose()
        else:
            self._go(self.sitting.left[0])

    @property
    def talk(self) -> PracticeTalk:
        """Everything that is asked in a box."""
        return PracticeTalk(self.app, self.desk, self.charset)

    # choosing ----------------------------------------------------------------------------------------------------

    @work(exclusive=True, group="practice")
    async def choose(self) -> None:
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
            if sitting is not None:
                self.sitting, self.drawn = sitting, chosen[0] == DRAWN
                self._go(sitting.left[0])
                return
        self.dismiss(None)

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

    @work(exclusive=True, group="practice")
    async def action_accept(self) -> None:
        """Judge this station; where it was judged go on to the next one, and after the last to the result."""
        sitting = self.sitting
        if sitting is None:
            await self._next_drill()
        elif self.station_id not in sitting.judged:
            await self._judge(sitting, self.station_id)
        elif sitting.left:
            self._go(sitting.left[0])
        else:
            await self._finish(sitting)

    async def _judge(self, sitting: Sitting, check: str) -> None:
        given = await self.talk.judgement(sitting, check, run_of(sitting).station(check).title)
        if given is not None:
            self.sitting = sitting.judging(Judgement(check, *given, time.monotonic() - self._began))
            self._show()

    async def _finish(self, sitting: Sitting) -> None:
        """The result, then keep it, go on or leave."""
        choice = await self.talk.result(sitting)
        if choice == KEEP:
            kept = await self.talk.keep(sitting, self.drawn, self.trainee)
            if kept is None:
                return
            self.trainee, said = kept
            await self.talk.tell("", [[(said, "text")]])
        if choice == LEAVE or (choice == KEEP and sitting.surprise):
            self.dismiss(None)
        elif choice is not None:
            await self._next_drill()

    # reading -----------------------------------------------------------------------------------------------------

    def action_why(self) -> None:
        """All findings of a judged station with their workings, what was planted, and the words in them."""
        if self.sitting is None or self.sitting.shown(self.station_id) is None:
            self.say("First your verdict: Enter. The reason comes after it.")
            return
        self._explain(self.sitting)

    @work(exclusive=True, group="practice")
    async def _explain(self, sitting: Sitting) -> None:
        check = self.station_id
        lines = reason_lines(sitting, check, self.charset)
        await self.talk.tell(f"{check.replace('_', ' ')}, why", lines)

    @work(exclusive=True, group="practice")
    async def action_words(self) -> None:
        """The glossary."""
        await self.talk.tell("words", [[(word, "strong"), (f"  {means}", "text")] for word, means in self.glossary])

    @work(exclusive=True, group="practice")
    async def action_leave(self) -> None:
        """Leave practice; with a drill begun ask once."""
        if self.sitting is not None and self.sitting.judged and not self.sitting.done:
            picks = [Pick("stay", "stay"), Pick(LEAVE, "leave practice", "This drill is not kept.")]
            if await self.talk.pick("Leave this drill?", picks) != LEAVE:
                return
        self.dismiss(None)
