"""Everything that practice asks in a box: who and what, the signature, the verdict, reading an instrument.

Each box says PRACTICE. The methods are awaited inside a worker of the practice view.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from textual.widgets import OptionList

from preflight.checks.finding import Verdict
from preflight.errors import PreflightError, out_of_reach
from preflight.training.explain import HELP
from preflight.training.question import causes, remedies
from preflight.training.records import MEANING
from preflight.training.report import result_lines, standing_lines
from preflight.tui.dialogues.pick import PickScreen
from preflight.tui.dialogues.reading import ReadingScreen
from preflight.tui.practice_desk import DRAWN
from preflight.tui.wiring import Pick, Signing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import App
    from textual.events import Key

    from preflight.training.kept_drill import KeptDrill
    from preflight.training.sitting import Sitting
    from preflight.tui.charset import Charset
    from preflight.tui.form import Filled
    from preflight.tui.painting import Line
    from preflight.tui.practice_desk import PracticeDesk

T = TypeVar("T")
NOBODY, NEWCOMER = "\n", "\n\n"
"""In place of a name: somebody who is only looking; somebody whose name is typed. No name holds a line break."""
WRITTEN, READ, STANDING = "written", "read", "standing"
NEXT, STAY, LEAVE = "next", "stay", "leave"


class PracticePick(PickScreen):
    """A list to pick from, marked as practice."""

    title_text = "PRACTICE"


class VerdictPick(PracticePick):
    """A list whose answer is final: nothing is marked at first, a digit or an arrow marks a line and Enter takes it.

    Two different keys, so that no key pressed twice gives a verdict.
    """

    keys_text = "1 to 9, arrows mark   Enter takes it   Esc back"

    def on_mount(self) -> None:
        """Nothing is marked before a key does it."""
        self.query_one(OptionList).highlighted = None

    def on_key(self, event: Key) -> None:
        """A digit marks that line. The base class would take it as the answer unless its default is prevented."""
        if event.character and event.character in "123456789":
            event.stop()
            event.prevent_default()
            if int(event.character) <= len(self.picks):
                self.query_one(OptionList).highlighted = int(event.character) - 1


@dataclass(frozen=True, slots=True)
class PracticeTalk:
    """The boxes of one practice view."""

    app: App[object]
    desk: PracticeDesk
    charset: Charset

    async def pick(self, question: str, picks: Sequence[Pick]) -> str | None:
        """One line of a list, or None."""
        return await self.app.push_screen_wait(PracticePick(question, picks, self.charset))

    async def tell(self, title: str, lines: Sequence[Line]) -> None:
        """Something to read."""
        name = f"PRACTICE: {title}" if title else "PRACTICE"
        await self.app.push_screen_wait(ReadingScreen(name, lines, self.charset))

    async def who(self) -> str | None:
        """Name of the trainee, `NEWCOMER`, `NOBODY`, or None."""
        names = await self._in_thread(self.desk.names) or []
        picks = [
            *(Pick(name, name) for name in names),
            Pick(NEWCOMER, "another name"),
            Pick(NOBODY, "just looking", "Nothing is kept."),
        ]
        return await self.pick("Who practises? What is begun under a name counts, also when it is left.", picks)

    async def what(self) -> tuple[str, int] | None:
        """A drill's id or `DRAWN`, and the level; None to leave. Instruments and standings are shown on the way."""
        levels = [Pick(str(level), f"a drill drawn for you, level {level}", HELP[level]) for level in HELP]
        others = [
            Pick(WRITTEN, "a written drill"),
            Pick(READ, "read a gauge or a caliper"),
            Pick(STANDING, "where everybody stands"),
        ]
        while True:
            chosen = await self.pick("What?", [*levels, *others])
            if chosen is None:
                return None
            if chosen == READ:
                await self.instrument()
            elif chosen == STANDING:
                await self.standing()
            elif chosen == WRITTEN:
                if (drill := await self._written()) is not None:
                    return drill
            else:
                return DRAWN, int(chosen)

    async def _written(self) -> tuple[str, int] | None:
        drill = await self.pick("Which one?", await self._in_thread(self.desk.drills) or [])
        if drill is None:
            return None
        level = await self.pick("How much help?", [Pick(str(one), HELP[one]) for one in HELP])
        return (drill, int(level)) if level else None

    async def start(self, drill: str, level: int, trainee: str) -> Sitting | None:
        """The sitting of that drill; None when it cannot be had, which was told."""
        name = "" if trainee in (NOBODY, NEWCOMER) else trainee
        return await self._in_thread(partial(self.desk.start, drill, level, name))

    async def judgement(self, sitting: Sitting, check: str, title: str) -> tuple[Verdict, str, str] | None:
        """Verdict, cause and remedy; None when left half way: then nothing was given."""
        word = await self._verdict(f"Your verdict on {title}?", [one.word for one in Verdict])
        if word is None:
            return None
        lines: list[str] = []
        for question in (causes(sitting.drill, check), remedies(sitting.drill, check)):
            if word == Verdict.OK.word:
                lines.append("")
                continue
            line = await self._verdict(question.ask, question.choices)
            if line is None:
                return None
            lines.append(line)
        return Verdict[word.upper()], lines[0], lines[1]

    async def _verdict(self, question: str, choices: Sequence[str]) -> str | None:
        picks = [Pick(one, one) for one in choices]
        return await self.app.push_screen_wait(VerdictPick(question, picks, self.charset))

    async def result(self, sitting: Sitting, kept: str) -> str | None:
        """The result, what became of it, and why it matters; `NEXT`, `LEAVE`, or None to look once more."""
        marked = sitting.marked
        lines: list[Line] = [[(line.strip(), "strong")] for line in result_lines(marked)]
        lines += [[("", "text")], [(kept, "text")], [("", "text")], [(sitting.drill.why, "text")]]
        await self.tell(f"result of {sitting.drill.title}", lines)
        picks = [*([] if sitting.surprise else [Pick(NEXT, "next drill")]), Pick(LEAVE, "leave practice")]
        return await self.pick(f"Score {marked.score} of 100. {kept}", picks)

    async def leaves(self, sitting: Sitting, on_record: bool) -> bool:
        """Whether a drill that was begun is left before its end."""
        judged = f"{len(sitting.judged)} of {len(sitting.drill.asked)} stations judged"
        becomes = "It is kept as given up; what is not judged counts as missed." if on_record else "It is not kept."
        picks = [Pick(STAY, "stay"), Pick(LEAVE, "give this drill up" if on_record else "leave this drill", becomes)]
        return await self.pick(f"Leave this drill? {judged}.", picks) == LEAVE

    async def begin(self, sitting: Sitting, drawn: bool, trainee: str) -> KeptDrill | None:
        """Sign that the drill begins, before anything of it is shown; None when it was not signed."""
        from preflight.tui.dialogues.form import Form
        from preflight.tui.forms import practice_form, signer_of

        name = "" if trainee == NEWCOMER else trainee
        kept: KeptDrill | None = None

        async def save(filled: Filled) -> str:
            nonlocal kept
            signing = Signing(signer_of(name, filled), MEANING, filled.secret)
            kept = await asyncio.to_thread(self.desk.begin, sitting, drawn, signing)
            return ""

        word = await self._in_thread(partial(self.desk.secret_word, name)) or ""
        form = practice_form(name, word, MEANING, save, self.desk.opens_key)
        await self.app.push_screen_wait(Form(form, self.charset))
        return kept

    async def standing(self) -> None:
        """The trainer's view: everybody's results, what is due, the gate."""
        found = await self._in_thread(self.desk.standings) or []
        lines: list[Line] = [[(line, "text")] for one in found for line in [*standing_lines(one), ""]]
        await self.tell("where everybody stands", lines or [[("Nobody has practised here yet.", "text")]])

    async def instrument(self) -> None:
        """Draw an instrument, take the reading, say how it was."""
        from preflight.training.instruments import INSTRUMENTS, number_in, read
        from preflight.tui.dialogues.read_instrument import ReadInstrumentScreen

        name = await self.pick("Which instrument?", [Pick(one.id, one.name, one.unit) for one in INSTRUMENTS])
        if name is None:
            return
        instrument, value, grid = self.desk.instrument(name)
        ask = f"{instrument.name}: read it in {instrument.unit}, as finely as its scale allows."
        typed = await self.app.push_screen_wait(ReadInstrumentScreen(ask, grid, self.charset))
        if typed is None:
            return
        said = number_in(instrument, typed)
        wanted = f"{typed!r} is no number in {instrument.unit}."
        await self.tell("", [[(read(instrument, value, said).statement if said is not None else wanted, "strong")]])

    async def _in_thread(self, work: Callable[[], T]) -> T | None:
        """What the work returns; None when it says what a person can put right, which is told."""
        try:
            return await asyncio.to_thread(work)
        except (PreflightError, OSError) as error:
            said = error if isinstance(error, PreflightError) else out_of_reach(error)
            await self.tell("", [[(str(said), "text")]])
            return None
