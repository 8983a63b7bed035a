"""How a run is saved: who signs, the signature, the held record, the run record after the job, and what comes next."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.tui.modes.run_parts import RunParts

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preflight.tui.wiring import Pick

SHEET, EVENT, LEAVE = "sheet", "event", "leave"
"""What one does once a record is saved: look at it, say what has happened since, leave."""


class RunSaving(RunParts):
    """Each record in a dialogue of its own, saved in a thread; a refusal asks again with what was typed."""

    if TYPE_CHECKING:  # what `RunDialogues` gives

        async def ask_event(self) -> None:
            """Ask what has happened, and go on with what that voids."""

    async def who(self) -> str | None:
        """Who signs: picked, or "" for a name to be typed; None to go back."""
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        people = await self.in_thread(self.wiring.people)
        if not people:
            return ""
        return await pick(
            self.app, "Who signs?", [*(Pick(name, name) for name in people), Pick("", "another name")], self.charset
        )

    async def sign(self) -> None:
        """The signature that releases the start-up."""
        from preflight.tui.dialogues.sign import SignScreen
        from preflight.tui.wiring import Pick

        name = await self.who()
        if name is None:
            return
        word, refused = self.wiring.secret_word(name), ""
        following = (
            Pick(SHEET, "go on: feed", "The sheet stays on the screen, read only, at station feed."),
            Pick(EVENT, "say what has happened since", "New job, belt change, air off, job done: F2 asks it any time."),
        )
        while True:
            screen = SignScreen(name, self.wiring.meanings, self.charset, word, refused)
            signing = await self.app.push_screen_wait(screen)
            if signing is None:
                return
            save = partial(self.wiring.sign, self.run, signing)
            if await self._finish(save, word, following, signing.name) or not word:
                return
            name, refused = signing.name, self.why.notice

    async def _surprise(self, name: str) -> None:
        """A surprise drill, when one is due; the start-up is saved before it begins."""
        desk = self.wiring.practice() if self.wiring.practice is not None else None
        sitting = await self.in_thread(partial(desk.surprise, name)) if desk is not None else None
        if desk is not None and sitting is not None:
            from preflight.tui.modes.surprise import offer

            await offer(self.app, desk, sitting, name, self.charset, self.wiring.words())

    async def hold(self) -> None:
        """The held record of a start-up that does not go on."""
        from preflight.tui.dialogues.hold import HoldScreen
        from preflight.tui.wiring import Pick

        name = await self.who()
        if name is None:
            return
        word, refused, kept = self.wiring.secret_word(name), "", self.kept.setdefault("hold", {})
        following = (Pick(SHEET, "go on from here", "Its readings stand; what stops it is read again."),)
        while True:
            screen = HoldScreen(name, self._worst_stop(), self.charset, word, refused, kept)
            holding = await self.app.push_screen_wait(screen)
            if holding is None:
                return
            if await self._finish(partial(self.wiring.hold, self.run, holding), word, following):
                self.kept.pop("hold", None)
                return
            if not word:
                return
            refused = self.why.notice

    def _worst_stop(self) -> str:
        found = (one for station in self.run.stations for one in self.run.findings(station.id))
        return next((one.statement for one in found if one.verdict is Verdict.STOP), "")

    async def job_done(self) -> None:
        """The run record: what was really fed."""
        from preflight.tui.dialogues.job_done import JobDoneScreen
        from preflight.tui.job_done import asked
        from preflight.tui.wiring import Pick

        save = self.wiring.done
        if save is None:
            return
        try:
            questions = asked(self.run)
        except PreflightError as error:
            self.say(str(error))
            return
        self.accept()
        name = await self.who()
        if name is None:
            return
        word, refused, kept = self.wiring.secret_word(name), "", self.kept.setdefault("job done", {})
        following = (
            Pick(EVENT, "a new job, a belt change", "Asks again only what that voids."),
            Pick(SHEET, "back to the sheet"),
        )
        while True:
            screen = JobDoneScreen(name, questions, self.charset, word, refused, kept)
            told = await self.app.push_screen_wait(screen)
            if told is None:
                return
            if await self._finish(partial(save, self.run, told), word, following):
                self.kept.pop("job done", None)
                return
            name, refused = told.name, self.why.notice

    async def _finish(
        self, save: Callable[[], str], secret_word: str, following: Sequence[Pick], released: str = ""
    ) -> bool:
        """Save the record in a thread, say where it is, read all anew, then what comes next; False when refused.

        released: who signed a start-up that goes on.
        """
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        self.say("Opening the key, then saving the record: about a second." if secret_word else "Saving the record.")
        saved = await self.in_thread(save)
        if saved is None:
            return False
        await self.read_anew()
        if released:
            await self._surprise(released)
        chosen = await pick(self.app, saved, [*following, Pick(LEAVE, "leave")], self.charset)
        if chosen == LEAVE:
            self.app.exit()
        elif chosen == EVENT:
            await self.ask_event()
        return True
