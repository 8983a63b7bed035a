"""Keys that arrive together: a dialogue takes one answer, and nothing typed for it reaches what lies under it.

Every dialogue of every mode is opened in the real app and answered by one key; then by the same key twice and eight
others behind it in one write, after which the app stands still for a while. What stands afterwards is the same.
"""

from __future__ import annotations

import asyncio
import threading
import time
from dataclasses import dataclass, field, replace
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import pytest
from audit.audit_samples import NOW, add_record
from fake_stations import NOON, Bench, all_answered
from opened_app import burst
from practice_samples import tokens
from textual.events import Key, MouseDown, MouseUp
from textual.widgets import OptionList

from preflight.training.drill_file import written, written_drill
from preflight.tui.app import PreflightApp
from preflight.tui.audit_desk import AuditDesk
from preflight.tui.demo_shop import MACHINE
from preflight.tui.desk_door import DeskDoor
from preflight.tui.dialogues.frame import Dialogue
from preflight.tui.dialogues.pick import PickScreen
from preflight.tui.key_gate import REST
from preflight.tui.modes.audit import AuditScreen
from preflight.tui.modes.run import TOO_EARLY, RunScreen
from preflight.tui.modes.train import TrainScreen
from preflight.tui.practice_desk import PracticeDesk
from preflight.tui.wiring import Finished, Pick

if TYPE_CHECKING:
    from collections.abc import Sequence

    from desk_samples import Clock
    from opened_app import OpenApp
    from textual.pilot import Pilot
    from textual.screen import Screen

    from preflight.tui.run import Run
    from preflight.tui.wiring import Holding, Wiring

STALL = 0.7
"""Seconds for which the app stands still."""
BEHIND = ("enter", "7", "f8", "space", "5", "f2", "1", "escape")
"""Typed behind the two answers, in the same write."""
SMEARED = {**all_answered(), "glue.state": "smeared"}


@dataclass
class WholeBench(Bench):
    """A bench with records, practice and job done; several machines when asked for."""

    folder: Path = field(default_factory=Path)
    several: bool = False
    finished: list[Finished] = field(default_factory=list)

    def wiring(self) -> Wiring:
        def done(_: Run, finished: Finished) -> str:
            self.finished.append(finished)
            return "Saved as run record 14 of this machine."

        wiring = replace(
            super().wiring(),
            audit=lambda: AuditDesk(self.folder / "shop", lambda: NOW, self.folder / "cache", zone=UTC),
            practice=lambda: PracticeDesk(self.folder / "shop", lambda: NOON, tokens("5eed")),
            done=done,
        )
        machines = (Pick("a", "Machine A"), Pick("b", "Machine B"))
        return replace(wiring, machines=lambda: machines) if self.several else wiring


@dataclass(frozen=True)
class Case:
    """A dialogue: how one comes to it from the run, and the keys of which the last answers it."""

    name: str
    steps: Sequence[tuple[str, str]]
    """Keys, each with a text that then stands on the terminal."""
    answer: str
    typed: dict[str, str] = field(default_factory=all_answered)
    several: bool = False

    def __str__(self) -> str:
        return f"{self.name}, {self.answer}"


REVIEW = ("f8", "11 stations")
WHO = (REVIEW, ("s", "Who signs?"))
HOLD = (REVIEW, ("h", "Who signs?"))
AUDIT = (("ctrl+r", "records: today"),)
RECORD = (*AUDIT, ("f3", "D. Marrow"), ("enter", "record "))
NARROW = (*AUDIT, ("f8", "Narrow the list by"))
DRILLS = (("ctrl+t", "Who practises?"), ("1", "What?"), ("4", "Which one?"))
HELP = (*DRILLS, ("1", "How much help?"))
DRILL = (*HELP, ("1", "begin: F8"), ("N o r a enter f8", written_drill(written()[0]).title))
CASES = [
    *(Case("review", (REVIEW,), key, SMEARED) for key in ("enter", "s", "h", "f8", "escape")),
    *(Case("who signs", WHO, key) for key in ("1", "down enter", "escape")),
    Case("sign", (*WHO, ("1", "sign and release")), "escape"),
    *(Case("who holds", HOLD, key) for key in ("2", "escape")),
    Case("held record", (*HOLD, ("1", "Who was told?")), "escape"),
    *(Case("action on a caution", (("f4", "put aside"),), key, SMEARED) for key in ("1", "enter", "escape")),
    *(Case("what happened", (("f2", "What happened?"),), key) for key in ("2", "3", "enter", "escape")),
    *(Case("job and belts", (("f7", "Job and belts"),), key) for key in ("1", "enter", "escape")),
    *(Case("which card", (("f7", "Job and belts"), ("2", "Which one?")), key) for key in ("1", "enter", "escape")),
    *(Case("why", (("f3", "why"),), key) for key in ("f3", "enter", "escape")),
    *(Case("words", (("f9", "taper"),), key) for key in ("f9", "escape")),
    *(Case("leave", (("ctrl+q", "Leave this start-up"),), key) for key in ("2", "escape")),
    *(Case("which machine", (), key, several=True) for key in ("2", "enter")),
    Case("records before a machine", (("3", "records: today"),), "escape", several=True),
    *(Case("narrow", NARROW, key) for key in ("1", "5", "6", "escape")),
    *(Case("narrow by machine", (*NARROW, ("1", "any")), key) for key in ("1", "enter", "escape")),
    *(Case("days", (*NARROW, ("5", "from a day")), key) for key in ("1", "escape")),
    Case("who countersigns", (*RECORD, ("f8", "countersign")), "escape"),
    Case("audit", AUDIT, "escape"),
    Case("audit record", RECORD, "escape"),
    *(Case("who practises", DRILLS[:1], key) for key in ("1", "enter", "escape")),
    *(Case("what to practise", DRILLS[:2], key) for key in ("1", "4", "5", "6", "enter", "escape")),
    *(Case("which instrument", (*DRILLS[:2], ("5", "Which instrument?")), key) for key in ("1", "escape")),
    Case("instrument", (*DRILLS[:2], ("5", "Which instrument?"), ("1", "as finely as its scale")), "escape"),
    *(Case("which drill", DRILLS, key) for key in ("1", "enter", "escape")),
    *(Case("how much help", HELP, key) for key in ("1", "enter", "escape")),
    *(Case("verdict", (*DRILL, ("enter", "Your verdict")), key) for key in ("1 enter", "2 enter", "escape")),
    *(Case("leave practice", (*DRILL, ("escape", "Leave this drill?")), key) for key in ("1", "2", "escape")),
]


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))


async def comes(pilot: Pilot[None], text: str) -> None:
    """Until that stands on the terminal."""
    for _ in range(400):
        if text in shown(pilot):
            return
        await pilot.pause(0.01)
    raise AssertionError(f"{text!r} did not come; on the terminal stands\n{shown(pilot)}")


def resting(pilot: Pilot[None]) -> None:
    """As at a real terminal: the key that changed the screen counts again when it has rested."""
    assert isinstance(pilot.app, PreflightApp)
    pilot.app.gate.rest = REST


async def settled(pilot: Pilot[None]) -> None:
    """Until nothing more happens: what is shown stays the same for a while."""
    before, same = "", 0
    for _ in range(200):
        await pilot.pause(0.02)
        now = f"{pilot.app.screen_stack}{shown(pilot)}"
        same = same + 1 if now == before else 0
        before = now
        if same == 6:
            return


def standing(pilot: Pilot[None], bench: WholeBench) -> dict[str, Any]:
    """Everything that a key could have changed."""
    state: dict[str, Any] = {
        "screens": [type(screen).__name__ for screen in pilot.app.screen_stack],
        "shown": "" if isinstance(pilot.app.screen, RunScreen) else shown(pilot),
        "left": pilot.app.return_code,
        "records": (len(bench.signed), len(bench.held), len(bench.finished)),
    }
    for screen in pilot.app.screen_stack:
        if isinstance(screen, RunScreen):
            state["notice"] = screen.why.notice.removesuffix(TOO_EARLY).strip()
            state["run"] = (dict(screen.run.typed), dict(screen.run.earlier), screen.station_id, screen.entries.key)
        elif isinstance(screen, AuditScreen):
            state["audit"] = (screen.view, screen.only, screen.pane.cursor)
        elif isinstance(screen, TrainScreen):
            sitting = screen.sitting
            judged = {check: one.verdict for check, one in sitting.judged.items()} if sitting else {}
            state["practice"] = (screen.station_id, sitting.drill.title if sitting else "", judged)
        elif isinstance(screen, PickScreen):
            state["question"] = screen.question
    return state


async def after(open_app: OpenApp, bench: WholeBench, case: Case, *keys: str, stall: float = 0.0) -> dict[str, Any]:
    """What stands after the keys were typed at once into the dialogue of that case."""
    async with open_app(bench, loaded=not case.several) as (_, pilot):
        if case.several:
            await comes(pilot, "Which machine")
        resting(pilot)
        for key, text in case.steps:
            await asyncio.sleep(REST)
            await pilot.press(*key.split())
            await comes(pilot, text)
        await settled(pilot)
        typing = asyncio.ensure_future(burst(pilot, *keys))
        await asyncio.sleep(0)
        time.sleep(stall)  # the loop stands still on purpose
        await typing
        await settled(pilot)
        return standing(pilot, bench)


def bench_for(case: Case, folder: Path) -> WholeBench:
    shop = folder / "shop"
    if not shop.exists():
        shop.mkdir(parents=True)
        for number in (2, 1):
            add_record(shop, number)
    return WholeBench(dict(case.typed), folder=folder, several=case.several)


@pytest.mark.parametrize("case", CASES, ids=str)
async def test_a_dialogue_takes_one_answer_and_nothing_typed_behind_it_goes_further(
    open_app: OpenApp, tmp_path: Path, case: Case
) -> None:
    *marks, answer = case.answer.split()
    once = await after(open_app, bench_for(case, tmp_path / "once"), case, *marks, answer)
    behind = (answer, *BEHIND)
    many = await after(open_app, bench_for(case, tmp_path / "many"), case, *marks, answer, *behind, stall=STALL)
    assert many == once


async def test_the_form_of_a_job_that_is_done_is_left_once(open_app: OpenApp, shop: Path, clock: Clock) -> None:
    door = DeskDoor(shop, MACHINE, clock, tokens("door"), "bench", 1)
    try:
        async with open_app(door) as (screen, pilot):
            await pilot.press("space", "ctrl+o")
            await comes(pilot, "Who signs?")
            await pilot.press("1")
            await comes(pilot, "job done")
            before = dict(screen.run.typed)
            await burst(pilot, "escape", "escape", *BEHIND)
            await settled(pilot)
            assert pilot.app.screen_stack == [screen]
            assert dict(screen.run.typed) == before
    finally:
        door.close()


@pytest.mark.parametrize(
    ("keys", "text"),
    [
        (("f2", "f2"), "What happened?"),
        (("f8", "f8"), "11 stations"),
        (("f3", "f3"), "why"),
        (("f9", "f9"), "taper"),
        (("f7", "f7", "f7"), "Job and belts"),
        (("f2", "f8", "f3"), "What happened?"),
        (("f4", "f4"), "put aside"),
        (("ctrl+q", "ctrl+q"), "Leave this start-up"),
        (("ctrl+r", "ctrl+r"), "records: today"),
        (("ctrl+t", "ctrl+t"), "Who practises?"),
    ],
)
async def test_a_key_that_opens_a_dialogue_opens_one_however_often_it_is_struck(
    open_app: OpenApp, tmp_path: Path, keys: Sequence[str], text: str
) -> None:
    async with open_app(bench_for(Case("", (), "", SMEARED), tmp_path)) as (screen, pilot):
        resting(pilot)
        await burst(pilot, *keys)
        await comes(pilot, text)
        await settled(pilot)
        assert text in shown(pilot)
        modes = [one for one in pilot.app.screen_stack if not isinstance(one, Dialogue)]
        dialogues = [one for one in pilot.app.screen_stack if isinstance(one, Dialogue)]
        assert len(dialogues) <= 1
        assert len(modes) == len({type(one) for one in modes})
        assert dict(screen.run.typed) == SMEARED


async def test_what_is_typed_behind_the_key_that_opens_a_dialogue_is_for_the_dialogue(
    open_app: OpenApp, tmp_path: Path
) -> None:
    async with open_app(bench_for(Case("", (), "", SMEARED), tmp_path)) as (screen, pilot):
        screen.go("glue", "glue.by")
        await burst(pilot, "f4", "2")
        await settled(pilot)
        assert screen.run.typed["action:glue:glue.state"] == "put aside for the lead to look at"
        assert screen.run.typed["glue.by"] == SMEARED["glue.by"]
        await burst(pilot, "f8", *"482915", "enter")
        await settled(pilot)
        assert not any("4829" in text for text in screen.run.typed.values())


async def test_a_key_held_down_answers_one_dialogue_and_is_swallowed_until_it_rests(
    open_app: OpenApp, tmp_path: Path
) -> None:
    async with open_app(bench_for(Case("", (), "", SMEARED), tmp_path)) as (screen, pilot):
        resting(pilot)
        screen.go("tension", "tension.1")
        await pilot.press("f8")
        await comes(pilot, "11 stations")
        for _ in range(12):  # as a keyboard repeats
            pilot.app.post_message(Key("enter", None))
            await asyncio.sleep(0.03)
        await settled(pilot)
        assert (screen.station_id, screen.entries.key) == ("glue", "glue.state")
        await asyncio.sleep(REST)
        await pilot.press("enter")  # stays at the caution, and must rest once more
        await asyncio.sleep(REST)
        await pilot.press("enter")
        assert screen.entries.key != "glue.state"


async def test_a_click_and_an_enter_behind_it_choose_once(open_app: OpenApp, tmp_path: Path) -> None:
    async with open_app(bench_for(Case("", (), "", SMEARED), tmp_path)) as (screen, pilot):
        await pilot.press("f4")
        await comes(pilot, "put aside")
        choices = pilot.app.screen.query_one(OptionList).region
        for event in (MouseDown, MouseUp):
            x, y = choices.x + 5, choices.y + 1
            pilot.app.post_message(event(None, x, y, 0, 0, 1, False, False, False, screen_x=x, screen_y=y))
        await burst(pilot, "enter", "enter", "7")
        await settled(pilot)
        assert screen.run.typed == {**SMEARED, "action:glue:glue.state": "put aside for the lead to look at"}
        assert screen.entries.key == "glue.state"


@pytest.mark.parametrize("doubled", [("enter", "enter"), ("enter",) * 10])
async def test_a_doubled_enter_at_the_last_entry_opens_the_review_and_chooses_nothing_there(
    open_app: OpenApp, tmp_path: Path, doubled: Sequence[str]
) -> None:
    async with open_app(bench_for(Case("", (), ""), tmp_path)) as (screen, pilot):
        resting(pilot)
        screen.go("test_board", "test_board.plan")
        await burst(pilot, *doubled)
        await settled(pilot)
        assert "11 stations" in shown(pilot)
        assert len(pilot.app.screen_stack) == 2


async def test_a_doubled_enter_gives_no_verdict_in_practice(open_app: OpenApp, tmp_path: Path) -> None:
    async with open_app(bench_for(Case("", (), ""), tmp_path)) as (_, pilot):
        resting(pilot)
        for key, text in DRILL:
            await asyncio.sleep(REST)
            await pilot.press(*key.split())
            await comes(pilot, text)
        await burst(pilot, "enter", "enter")
        await settled(pilot)
        assert "Your verdict" in shown(pilot)


async def test_dropped_keys_are_heard(open_app: OpenApp, tmp_path: Path) -> None:
    async with open_app(bench_for(Case("", (), "", SMEARED), tmp_path)) as (_, pilot):
        rung: list[bool] = []
        pilot.app.bell = lambda: rung.append(True)  # type: ignore[method-assign]
        await pilot.press("f4")
        await comes(pilot, "put aside")
        await burst(pilot, "1", "7")
        await settled(pilot)
        assert rung == [True]


async def test_a_screen_that_is_painted_while_the_app_closes_is_no_failure(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        app = pilot.app
        assert isinstance(app, PreflightApp)
    assert app.screen_stack == []
    await app.gate.seen(cast("Screen[object]", screen))


async def test_a_form_whose_record_is_saved_while_the_palette_lies_over_it_closes(
    open_app: OpenApp, tmp_path: Path
) -> None:
    saving, go_on = threading.Event(), threading.Event()

    class Slow(WholeBench):
        def wiring(self) -> Wiring:
            def hold(_: Run, holding: Holding) -> str:
                saving.set()
                assert go_on.wait(10)
                self.held.append(holding)
                return "Saved as held record 13."

            return replace(super().wiring(), hold=hold)

    async with open_app(Slow(all_answered(), folder=tmp_path)) as (_, pilot):
        await pilot.press("f8", "h")
        await pilot.press("1")
        await comes(pilot, "Who was told?")
        for word in ("air", "Ida", "tap"):
            await pilot.press(*word, "enter")
        await pilot.press("f8")
        assert await asyncio.to_thread(saving.wait, 10)
        await pilot.press("ctrl+p")
        go_on.set()
        await comes(pilot, "Saved as held record 13.")
        assert len(pilot.app.screen_stack) == 2
