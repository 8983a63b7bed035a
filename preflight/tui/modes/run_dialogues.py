"""The run's dialogues: reasons, words, actions, events, cards, review, signing. Each is imported when first opened."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual import work
from textual.screen import Screen

from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.tui.run import action_key

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import TypeVar

    from preflight.tui.charset import Charset
    from preflight.tui.run import Run
    from preflight.tui.widgets.entry_table import EntryTable
    from preflight.tui.widgets.why_panel import WhyPanel
    from preflight.tui.wiring import Loaded, Pick, Wiring

    T = TypeVar("T")

JOB_DONE = "job done"
"""The event that is no event: it opens the run record."""


class RunDialogues(Screen[None]):
    """What the run screen asks in a box of its own. `RunScreen` says what is shown and typed."""

    wiring: Wiring
    charset: Charset
    run: Run
    station_id: str
    loaded: Loaded | None
    entries: EntryTable
    why: WhyPanel

    if TYPE_CHECKING:  # what `RunScreen` gives

        def say(self, text: str) -> None:
            """A sentence in the panel until the next key."""

        def take(self, loaded: Loaded) -> None:
            """Go on with another run."""

        def go(self, station_id: str, key: str = "") -> None:
            """Go to a station."""

        def show_row(self, key: str) -> None:
            """Show the run with that row as the current one."""

        def accept(self) -> None:
            """The current answer is left standing."""

        def keep(self) -> None:
            """Put what was typed into the draft."""

        def reload(self) -> None:
            """Read profiles, cards, records and the draft anew."""

        async def in_thread(self, work: Callable[[], T]) -> T | None:
            """What the work returns; None, with its message in the panel, when it says what a person can put right."""

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
            self.show_row(self.entries.key)
            self.keep()

    @work(exclusive=True, group="dialogue")
    async def action_happened(self) -> None:
        """An event voids what it voids."""
        from preflight.tui.dialogues.pick import pick

        event = await pick(self.app, "What happened? Only what it voids is asked again.", self._events(), self.charset)
        if event == JOB_DONE:
            await self._job_done()
        elif event is not None and self.wiring.happened is not None:
            self.accept()
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
            self.accept()
            await self._taking(partial(self.wiring.picked, self.run, subject, card))

    async def _taking(self, work: Callable[[], Loaded]) -> None:
        loaded = await self.in_thread(work)
        if loaded is not None:
            self.take(loaded)
            self.keep()

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
        self.accept()
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

        self.accept()
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

        people = await self.in_thread(self.wiring.people)
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
        saved = await self.in_thread(save)
        if saved is None:
            return False
        choices = [Pick("next", "next start-up check", "Profiles and cards are read again."), Pick("leave", "leave")]
        if await pick(self.app, saved, choices, self.charset) == "leave":
            self.app.exit()
        else:
            self.reload()
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

            choices = [Pick("leave", "leave", "The draft is kept for the next time."), Pick("stay", "stay")]
            if await pick(self.app, "Leave this start-up check?", choices, self.charset) != "leave":
                return
        self.app.exit()
