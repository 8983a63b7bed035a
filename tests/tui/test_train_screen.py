"""The practice view: marked on every view, nothing shown before the judgement, and kept apart from the start-up."""

from __future__ import annotations

from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

import pytest
from checklist.people_samples import PIN, PeopledShop
from opened_app import screen_lines
from practice_samples import AT, tokens
from textual.app import App
from textual.widgets import OptionList

from preflight.checklist.register import read_register
from preflight.checklist.shop_check import verify_folder
from preflight.glossary import WORDS
from preflight.training.drill_file import written, written_drill
from preflight.training.question import causes, remedies
from preflight.training.records import practice
from preflight.training.sitting import begin
from preflight.tui.charset import ASCII, UNICODE, Charset
from preflight.tui.dialogues.practice import PracticePick
from preflight.tui.modes.train import TrainScreen
from preflight.tui.practice_desk import PracticeDesk
from preflight.tui.practice_run import run_of
from preflight.tui.themes import THEMES
from preflight.tui.widgets.practice_lines import banner, key_line

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from textual.pilot import Pilot

    from preflight.checklist.key_folder import KeyFolder

DRILL = "new-belt-cone"


class OnlyPractice(App[None]):
    """An app that holds nothing but the practice view."""

    def __init__(self, desk: PracticeDesk, charset: Charset) -> None:
        super().__init__()
        for one in THEMES:
            self.register_theme(one)
        self.theme = THEMES[0].name
        self.desk, self.charset = desk, charset

    def on_mount(self) -> None:
        self.push_screen(TrainScreen(self.desk, self.charset, WORDS))


@asynccontextmanager
async def practising(
    tmp_path: Path,
    size: tuple[int, int] = (80, 24),
    charset: Charset = UNICODE,
    drill: str = DRILL,
    keys: KeyFolder | None = None,
) -> AsyncIterator[tuple[TrainScreen, Pilot[None]]]:
    """The view with a written drill begun at level 3."""
    app = OnlyPractice(PracticeDesk(tmp_path, lambda: AT, tokens("desk"), keys), charset)
    app.animation_level = "none"
    async with app.run_test(size=size) as pilot:
        nobody = len(app.desk.names())
        for at in (nobody, 3, written().index(drill), 2):  # nobody yet, a written drill, that one, no help
            await until(pilot, lambda: isinstance(app.screen, PracticePick))
            dialogue = app.screen
            dialogue.query_one(OptionList).highlighted = at
            await pilot.press("enter")
            await until(pilot, lambda dialogue=dialogue: app.screen is not dialogue)
        await until(pilot, lambda: isinstance(app.screen, TrainScreen) and app.screen.sitting is not None)
        screen = app.screen
        assert isinstance(screen, TrainScreen)
        yield screen, pilot


async def until(pilot: Pilot[None], held: object) -> None:
    for _ in range(100):
        await pilot.pause(0.02)
        if held():  # type: ignore[operator]
            return
    raise AssertionError("it did not come to that")


def shown(pilot: Pilot[None]) -> str:
    return "\n".join(screen_lines(pilot.app.screen))  # type: ignore[arg-type]


async def judge_right(screen: TrainScreen, pilot: Pilot[None]) -> None:
    """Judge the current station right, keyboard only."""
    sitting, check = screen.sitting, screen.station_id
    assert sitting is not None
    fault = next(iter(sitting.drill.faults_at(check)), None)
    picks = [int(sitting.result(check).verdict)]
    if fault is not None:
        picks += [
            causes(sitting.drill, check).choices.index(fault.cause),
            remedies(sitting.drill, check).choices.index(fault.remedy),
        ]
    await pilot.press("enter")
    for at in picks:
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        assert "PRACTICE" in shown(pilot)
        dialogue = pilot.app.screen
        await pilot.press(str(at + 1))
        await until(pilot, lambda dialogue=dialogue: pilot.app.screen is not dialogue)
    await until(pilot, lambda: screen.sitting is not None and check in screen.sitting.judged)


async def test_nothing_of_a_station_is_shown_before_it_is_judged(tmp_path: Path) -> None:
    async with practising(tmp_path) as (screen, pilot):
        before = shown(pilot)
        assert "PRACTICE" in before
        assert "1897.0 mm, 1900.5 mm" in before
        assert "belt cone" not in before
        assert "✕" not in before
        await pilot.press("f3")
        await pilot.pause()
        assert "First your verdict" in shown(pilot)
        await judge_right(screen, pilot)
        after = shown(pilot)
        assert "belt cone" in after
        assert "found. Cause right" in after
        assert "✕ belts" in after
        assert "PRACTICE" in after


async def test_a_drill_goes_from_the_first_station_to_the_record_by_keyboard(tmp_path: Path) -> None:
    async with practising(tmp_path) as (screen, pilot):
        sitting = screen.sitting
        assert sitting is not None
        for check in sitting.drill.asked:
            assert screen.station_id == check
            await judge_right(screen, pilot)
            await pilot.press("enter")
            await pilot.pause()
        await until(pilot, lambda: "Score 100 of 100" in shown(pilot))
        assert "PRACTICE" in shown(pilot)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        await pilot.press("1")
        await until(pilot, lambda: "What the signature means" in shown(pilot))
        await pilot.press(*"Kim", "enter")
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("enter")
        await until(pilot, lambda: bool(practice(tmp_path)))
        (kept,) = practice(tmp_path)
        assert (kept.trainee, kept.drill.score) == ("Kim", 100)
        assert [folder.name[:9] for folder in (tmp_path / "checklists").iterdir()] == ["practice-"]


async def test_a_drill_is_kept_with_a_pin_which_is_asked_again_when_it_was_wrong(tmp_path: Path) -> None:
    peopled = PeopledShop.founded(tmp_path, tmp_path / "keys")
    peopled.admit("D. Marrow", "operator", keep=True)
    async with practising(tmp_path, keys=peopled.keys) as (screen, pilot):
        sitting = screen.sitting
        assert sitting is not None
        for _ in sitting.drill.asked:
            await judge_right(screen, pilot)
            await pilot.press("enter")
            await pilot.pause()
        await until(pilot, lambda: "Score 100 of 100" in shown(pilot))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        await pilot.press("1")
        await until(pilot, lambda: "What the signature means" in shown(pilot))
        await pilot.press(*"D. Marrow", "enter", "enter")
        await pilot.press(*"48190376", "enter", "enter")
        await until(pilot, lambda: "does not open the key of D. Marrow" in shown(pilot))
        assert "48190376" not in shown(pilot)
        assert not practice(tmp_path)
        await pilot.press(*PIN, "enter", "enter")
        await until(pilot, lambda: "Kept as practice of D. Marrow" in shown(pilot))
        (kept,) = practice(tmp_path, read_register(tmp_path))
        assert (kept.trainee, kept.role, kept.counts) == ("D. Marrow", "operator", True)
        (chain,) = (one for one in verify_folder(tmp_path).chains if one.machine.startswith("practice-"))
        assert (chain.intact, chain.unsigned) == (1, 0)


async def test_the_reason_in_full_names_what_was_planted_and_the_words(tmp_path: Path) -> None:
    async with practising(tmp_path) as (screen, pilot):
        await judge_right(screen, pilot)
        await pilot.press("f3")
        await until(pilot, lambda: "planted" in shown(pilot))
        assert "conical belt" in shown(pilot)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (130, 40)])
@pytest.mark.parametrize("charset", [UNICODE, ASCII])
async def test_every_size_says_practice_and_leads_to_every_line(
    tmp_path: Path, size: tuple[int, int], charset: Charset
) -> None:
    async with practising(tmp_path, size, charset) as (screen, pilot):
        assert shown(pilot).startswith(" PRACTICE ")
        for _ in range(30):
            await pilot.press("down")
            if "more lines" not in shown(pilot):
                break
        assert "no glue line" in shown(pilot)
        assert charset is UNICODE or shown(pilot).isascii()
        assert screen.size.width == size[0]


async def test_the_picture_of_a_judged_station_has_its_place(tmp_path: Path) -> None:
    for size in ((80, 24), (130, 40)):
        async with practising(tmp_path, size, drill="always-the-fence") as (screen, pilot):
            screen._go("feed")
            await pilot.pause()
            before = shown(pilot)
            assert "share of best" not in before
            await judge_right(screen, pilot)
            await pilot.pause()
            assert screen.picture.picture or screen.readings.picture


async def test_leaving_a_drill_begun_asks_once(tmp_path: Path) -> None:
    async with practising(tmp_path) as (screen, pilot):
        await judge_right(screen, pilot)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        await pilot.press("1")
        await until(pilot, lambda: pilot.app.screen is screen)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        await pilot.press("2")
        await until(pilot, lambda: pilot.app.screen is not screen)
        assert not practice(tmp_path)


def test_the_list_holds_findings_of_judged_stations_only() -> None:
    assert run_of(begin(written_drill(DRILL), 1)).results == {}


def test_banner_and_keys_fit_on_their_lines() -> None:
    assert sum(len(text) for text, _ in banner("A very long title of a drill " * 4, 3, 11, 80, UNICODE)) == 80
    assert sum(len(text) for text, _ in key_line(60)) == 60
    assert "".join(text for text, _ in key_line(80)).rstrip().endswith("leave practice")
