"""How a run is saved: who signs, the signature, the held record, the run record after the job, and what comes next."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.tui.modes.run_parts import RunParts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.tui.form import Filled, FormSpec, Saved
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
        from preflight.tui.dialogues.pick import NamePick
        from preflight.tui.wiring import Pick

        people = await self.in_thread(self.wiring.people)
        if not people:
            return ""
        names = [*(Pick(name, name) for name in people), Pick("", "another name")]
        return await self.app.push_screen_wait(NamePick("Who signs?", names, self.charset))

    async def sign(self) -> None:
        """The signature that releases the start-up."""
        from preflight.tui.forms import MEANING, SECOND, SECOND_SECRET, sign_form, signer_of
        from preflight.tui.wiring import NO_SECRET, Pick, Signing

        name = await self.who()
        if name is None:
            return
        meanings, second = self.wiring.meanings, self.wiring.second(self.run, name)
        if second.why and not second.names:
            self.say(f"{second.why} No second person's key is at this terminal: let a lead sign, or hold it.")
            return

        async def save(filled: Filled) -> str:
            signing = Signing(
                signer_of(name, filled),
                filled.texts.get(MEANING, meanings[0]),
                filled.secret,
                filled.texts.get(SECOND, ""),
                filled.secrets.get(SECOND_SECRET, NO_SECRET),
            )
            return await self.working(partial(self.wiring.sign, self.run, signing))

        form = sign_form(name, self.wiring.secret_word(name), meanings, second, save, self.wiring.opens_key)
        following = (
            Pick(SHEET, "go on: feed", "The sheet stays on the screen, read only, at station feed."),
            Pick(EVENT, "say what has happened since", "New job, belt change, air off, job done: F2 asks it any time."),
        )
        if (saved := await self._filled_in(form)) is not None:
            await self._go_on(saved.sentence, following, signer_of(name, saved.filled))

    async def _surprise(self, name: str) -> None:
        """A surprise drill, when one is due; the start-up is saved before it begins."""
        desk = self.wiring.practice() if self.wiring.practice is not None else None
        sitting = await self.in_thread(partial(desk.surprise, name)) if desk is not None else None
        if desk is not None and sitting is not None:
            from preflight.tui.modes.surprise import offer

            await offer(self.app, desk, sitting, name, self.charset, self.wiring.words())

    async def hold(self) -> None:
        """The held record of a start-up that does not go on."""
        from preflight.tui.forms import TOLD, TRIED, WHAT, hold_form, signer_of
        from preflight.tui.wiring import Holding, Pick

        name = await self.who()
        if name is None:
            return

        async def save(filled: Filled) -> str:
            what, told, tried = (filled.texts[key] for key in (WHAT, TOLD, TRIED))
            holding = Holding(what, told, tried, signer_of(name, filled), filled.secret)
            return await self.working(partial(self.wiring.hold, self.run, holding))

        word, kept = self.wiring.secret_word(name), self.kept.setdefault("hold", {})
        form = hold_form(name, word, self._worst_stop(), save, self.wiring.opens_key, kept)
        if (saved := await self._filled_in(form)) is not None:
            self.kept.pop("hold", None)
            following = (Pick(SHEET, "go on from here", "Its readings stand; what stops it is read again."),)
            await self._go_on(saved.sentence, following)

    def _worst_stop(self) -> str:
        found = (one for station in self.run.stations for one in self.run.findings(station.id))
        return next((one.statement for one in found if one.verdict is Verdict.STOP), "")

    async def job_done(self) -> None:
        """The run record: what was really fed."""
        from preflight.tui.forms import job_done_form, signer_of
        from preflight.tui.job_done import asked, check
        from preflight.tui.wiring import Finished, Pick

        done = self.wiring.done
        if done is None:
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
        keys = {one.key for one in questions}

        async def save(filled: Filled) -> str:
            answers = {key: text for key, text in filled.texts.items() if key in keys}
            finished = Finished(answers, signer_of(name, filled), filled.secret)
            return await self.working(partial(done, self.run, finished))

        word, kept = self.wiring.secret_word(name), self.kept.setdefault("job done", {})
        form = job_done_form(name, word, questions, save, partial(check, self.run), self.wiring.opens_key, kept)
        if (saved := await self._filled_in(form)) is not None:
            self.kept.pop("job done", None)
            following = (
                Pick(EVENT, "a new job, a belt change", "Asks again only what that voids."),
                Pick(SHEET, "back to the sheet"),
            )
            await self._go_on(saved.sentence, following)

    async def _filled_in(self, form: FormSpec) -> Saved | None:
        """The form, open until its record is saved; None when it was left."""
        from preflight.tui.dialogues.form import Form

        return await self.app.push_screen_wait(Form(form, self.charset))

    async def _go_on(self, sentence: str, following: Sequence[Pick], released: str = "") -> None:
        """All read anew, then where the record is and what comes next.

        released: who signed a start-up that goes on.
        """
        from preflight.tui.dialogues.pick import pick
        from preflight.tui.wiring import Pick

        await self.read_anew()
        if released:
            await self._surprise(released)
        chosen = await pick(self.app, sentence, [*following, Pick(LEAVE, "leave")], self.charset)
        if chosen == LEAVE:
            self.app.exit()
        elif chosen == EVENT:
            await self.ask_event()
