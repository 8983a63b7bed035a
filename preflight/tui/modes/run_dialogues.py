"""The run's dialogues: reasons, words, actions, events, cards, review, signing. Each is imported when first opened."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual import work

from preflight.tui.asking import asks
from preflight.tui.attention import slip_meant, to_act_on, undone_cautions
from preflight.tui.modes.run_saving import RunSaving
from preflight.tui.run import action_key

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from preflight.checks.finding import Finding
    from preflight.tui.wiring import Loaded, Pick

JOB_DONE = "job done"
"""The event that is no event: it opens the run record."""
TAKE_BACK = "take back"
"""The event that takes back the one before."""


class RunDialogues(RunSaving):
    """What the run screen asks in a box of its own. `RunScreen` says what is shown and typed."""

    undoable: tuple[str, Mapping[str, str]] = ("", {})
    """The event said last, and the answers as it left them."""
    acted: tuple[str, str] | None = None
    """Station and subject of a caution of which it was said that it has its action."""

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

    @asks
    async def action_act(self) -> None:
        """Choose what was done about a caution that has no action yet: the one shown, the row's, the station's first.

        Where a unit likely slipped, take the reading that was meant.
        """
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        if self.run.signed is not None:
            self.say(self.run.signed.sentence)
            return
        if meant := slip_meant(self.run, self.station_id, self.entries.row):
            self.typed(self.entries.key, meant)
            return
        finding = to_act_on(self.run, self.station_id, self.entries.row, self.why.finding) or self._act_again()
        if finding is None:
            return
        chosen = await pick(self.app, finding.statement, [Pick(text, text) for text in finding.actions], self.charset)
        if chosen is not None:
            key = action_key(self.station_id, finding)
            self.run = self.run.typing(key, chosen, self.wiring.clock()).accepting(key)
            self.show_row(self.entries.key)
            self.keep()
            self.say(self._noted(finding, chosen))

    def _act_again(self) -> Finding | None:
        """With nothing left to act on: the caution shown, to change its action, once that was said and asked for."""
        shown = self.why.finding
        if shown is None or shown not in self.run.cautions(self.station_id):
            self.say("No caution here asks for an action. A stop is put right, or the start-up is held: F8.")
            return None
        acted = (self.station_id, shown.subject)
        if self.acted == acted:
            self.acted = None
            return shown
        self.acted = acted
        self.say(f"This caution has its action: {self.run.action(self.station_id, shown)}. F4 once more changes it.")
        return None

    def _noted(self, finding: Finding, chosen: str) -> str:
        """That the action was taken down, for a caution whose row may be another one."""
        left = len(undone_cautions(self.run, self.station_id))
        more = f" {left} more here without an action: F4." if left else ""
        return f"Taken down for {finding.subject}: {chosen}.{more}"

    @asks
    async def action_happened(self) -> None:
        """An event voids what it voids."""
        await self.ask_event()

    async def ask_event(self) -> None:
        """Ask what has happened, on which head, whether to ask again what that voids; then go on without that."""
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        event = await pick(self.app, "What happened? Only what it voids is asked again.", self._events(), self.charset)
        if event == JOB_DONE:
            await self.job_done()
        elif event == TAKE_BACK:
            await self._take_back()
        elif event is not None and self.wiring.happened is not None:
            label = next(one.label for one in self.wiring.events if one.id == event)
            if heads := self.wiring.event_picks(self.run, event):
                event = await pick(self.app, f"{label.capitalize()}. On which head?", heads, self.charset)
            if event is None:
                return
            yes, no = Pick("yes", "ask these again"), Pick("no", "nothing of the kind")
            if await pick(self.app, self.wiring.voids(self.run, event), [yes, no], self.charset) != "yes":
                return
            self.accept()
            if await self._taking(partial(self.wiring.happened, self.run, event)):
                self.undoable = (label, self.run.typed)

    @property
    def event_to_undo(self) -> str:
        """What was said to have happened, while no answer was given since; else empty."""
        label, typed = self.undoable
        return label if self.wiring.taken_back is not None and typed is self.run.typed else ""

    @asks
    async def action_take_back(self) -> None:
        """Everything as it was before what F2 said has happened."""
        if self.event_to_undo:
            await self._take_back()
        else:
            self.say("There is nothing to take back: F2 said nothing, or something was answered since.")

    async def _take_back(self) -> None:
        if self.wiring.taken_back is not None:
            await self._taking(self.wiring.taken_back)

    def _events(self) -> Sequence[Pick]:
        from preflight.tui.wiring import Pick

        last = self.event_to_undo
        back = [Pick(TAKE_BACK, f"take back: {last}", "Everything stands again as it did before.")] if last else []
        job_done = [Pick(JOB_DONE, "the job is done", "What was really fed: the run record.")]
        return [*back, *(job_done if self.wiring.done is not None else []), *self.wiring.events]

    @asks
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

    async def _taking(self, work: Callable[[], Loaded]) -> bool:
        loaded = await self.in_thread(work)
        if loaded is None:
            return False
        self.take(loaded)
        if self.run.signed is None:
            self.keep()
        return True

    @asks
    async def action_done(self) -> None:
        """The job is done: what was really fed."""
        await self.job_done()

    @asks
    async def action_review(self) -> None:
        """What is open, cautioned and stopped; jump there, sign, or hold."""
        from preflight.tui.dialogues.review import ReviewScreen

        self.accept()
        answer = await self.app.push_screen_wait(ReviewScreen(self.run, self.charset))
        if answer is None:
            return
        if answer.kind == "go":
            self.go(answer.station_id, answer.key)
            self.say(answer.said)
        elif answer.kind == "sign":
            await self.sign()
        else:
            await self.hold()

    def action_practice(self) -> None:
        """Practice in a view of its own; this run stays as it is."""
        if self.wiring.practice is None:
            self.say("There is no practice at this terminal.")
            return
        from preflight.tui.modes.train import TrainScreen

        self.app.push_screen(TrainScreen(self.wiring.practice(), self.charset, self.wiring.words()))

    @work(exclusive=True, group="leave")
    async def action_quit(self) -> None:
        """Leave; with a draft ask once. Not while a record is being saved."""
        if self.loaded is not None and self.busy:
            self.app.bell()
            return
        if self.loaded is not None and self.run.signed is None and self.wiring.has_draft(self.run):
            from preflight.tui.dialogues.pick import pick
            from preflight.tui.wiring import Pick

            self.keep()
            trouble = self.draft.trouble
            after = "What was typed since then is lost." if trouble else "The draft is kept for the next time."
            choices = [Pick("leave", "leave", after), Pick("stay", "stay")]
            question = f"{trouble} Leave this start-up check?".strip()
            if await pick(self.app, question, choices, self.charset) != "leave":
                return
        self.app.exit()
