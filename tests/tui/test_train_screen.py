"""The practice view: marked on every view, nothing shown before the judgement, and kept apart from the start-up."""

from __future__ import annotations

from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

import pytest
from checklist.people_samples import PIN, PeopledShop
from opened_app import burst, screen_lines
from practice_samples import AT, tokens
from textual.app import App
from textual.widgets import OptionList

from preflight.checklist.register import read_register
from preflight.checklist.shop_check import verify_folder
from preflight.glossary import WORDS
from preflight.training.drill_file import written, written_drill
from preflight.training.generator import generated
from preflight.training.question import causes, remedies
from preflight.training.reading import readings
from preflight.training.records import practice
from preflight.training.sitting import begin
from preflight.tui.charset import ASCII, UNICODE, Charset
from preflight.tui.dialogues.practice import PracticePick
from preflight.tui.modes.train import TrainScreen
from preflight.tui.practice_desk import PracticeDesk
from preflight.tui.practice_run import run_of
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.themes import THEMES
from preflight.tui.widgets.practice_lines import banner, key_line, station_lines

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Sequence
    from pathlib import Path

    from textual.pilot import Pilot

    from preflight.checklist.key_folder import KeyFolder

DRILL = "new-belt-cone"
KIM = [("I practise; nothing is started.", [*"Kim", "enter", "f8"])]


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
    signed: Sequence[tuple[str, Sequence[str]]] = (),
) -> AsyncIterator[tuple[TrainScreen, Pilot[None]]]:
    """The view with a written drill begun at level 3.

    signed: under another name; keys of the form that comes first, and what stands there before each. Else nobody.
    """
    app = OnlyPractice(PracticeDesk(tmp_path, lambda: AT, tokens("desk"), keys), charset)
    app.animation_level = "none"
    async with app.run_test(size=size) as pilot:
        who = len(app.desk.names()) + (not signed)
        for at in (who, 3, written().index(drill), 2):  # another name or nobody, a written drill, that one, no help
            await until(pilot, lambda: isinstance(app.screen, PracticePick))
            dialogue = app.screen
            dialogue.query_one(OptionList).highlighted = at
            await pilot.press("enter")
            await until(pilot, lambda dialogue=dialogue: app.screen is not dialogue)
        for stands, pressed in signed:
            await until(pilot, lambda stands=stands: stands in shown(pilot))
            assert "PRACTICE" in shown(pilot)
            assert "1897.0 mm" not in shown(pilot)  # nothing of the drill is shown before it is on record
            assert not practice(tmp_path)
            await pilot.press(*pressed)
        await until(pilot, lambda: isinstance(app.screen, TrainScreen) and app.screen.sitting is not None)
        screen = app.screen
        assert isinstance(screen, TrainScreen)
        yield screen, pilot


async def judge_all(screen: TrainScreen, pilot: Pilot[None]) -> None:
    """Judge every station right, in order, keyboard only."""
    assert screen.sitting is not None
    for check in screen.sitting.drill.asked:
        await until(pilot, lambda: not screen.talking)
        if screen.station_id != check:
            await pilot.press("enter")
            await pilot.pause()
        assert screen.station_id == check
        await judge_right(screen, pilot)


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
        await pilot.press(str(at + 1), "enter")
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
    async with practising(tmp_path, signed=KIM) as (screen, pilot):
        await judge_all(screen, pilot)
        await until(pilot, lambda: len(practice(tmp_path)) == 2)  # before its result is shown
        await until(pilot, lambda: not screen.talking)
        await pilot.press("enter")
        await until(pilot, lambda: "Score 100 of 100" in shown(pilot))
        assert "PRACTICE" in shown(pilot)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        assert "Kept as practice of Kim: record 2" in " ".join(shown(pilot).split())
        begun, kept = practice(tmp_path)
        assert (kept.trainee, kept.drill.score, kept.begun) == ("Kim", 100, begun.reference)
        assert [folder.name[:9] for folder in (tmp_path / "checklists").iterdir()] == ["practice-"]


async def test_a_drill_begins_with_a_pin_which_is_asked_again_when_it_was_wrong(tmp_path: Path) -> None:
    peopled = PeopledShop.founded(tmp_path, tmp_path / "keys")
    peopled.admit("D. Marrow", "operator", keep=True)
    signed = [
        ("I practise; nothing is started.", [*"D. Marrow", "enter"]),
        ("PIN, not shown", [*"48190376", "enter", "f8"]),
        ("does not open the key of D. Marrow", [*PIN, "enter", "f8"]),
    ]
    async with practising(tmp_path, keys=peopled.keys, signed=signed) as (screen, pilot):
        assert [one.what for one in practice(tmp_path)] == ["begun"]
        await judge_all(screen, pilot)
        await until(pilot, lambda: len(practice(tmp_path)) == 2)
        kept = practice(tmp_path, read_register(tmp_path))
        assert {(one.trainee, one.role, one.counts) for one in kept} == {("D. Marrow", "operator", True)}
        (chain,) = (one for one in verify_folder(tmp_path).chains if one.machine.startswith("practice-"))
        assert (chain.intact, chain.unsigned) == (2, 0)


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


async def test_a_drill_on_record_that_is_left_is_kept_as_given_up(tmp_path: Path) -> None:
    async with practising(tmp_path, signed=KIM) as (screen, pilot):
        await judge_right(screen, pilot)
        for answer, stays in (("1", True), ("2", False)):
            await until(pilot, lambda: not screen.talking)
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
            assert "1 of 3 stations judged" in shown(pilot)
            assert "kept as given up" in shown(pilot)
            await pilot.press(answer)
            await until(pilot, lambda stays=stays: (pilot.app.screen is screen) is stays)
        await until(pilot, lambda: "Kept as practice of Kim, given up: record 2" in shown(pilot))
        assert practice(tmp_path)[-1].drill.given_up


async def test_the_detail_of_a_pick_stands_on_a_line_of_its_own(tmp_path: Path) -> None:
    app = OnlyPractice(PracticeDesk(tmp_path, lambda: AT, tokens("desk")), UNICODE)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: "just looking" in shown(pilot))
        row = next(at for at, line in enumerate(shown(pilot).splitlines()) if "just looking" in line)
        assert "Nothing is kept." not in shown(pilot).splitlines()[row]
        assert "Nothing is kept." in shown(pilot).splitlines()[row + 1]


async def test_a_drill_on_record_is_asked_about_before_anything_of_it_is_judged(tmp_path: Path) -> None:
    async with practising(tmp_path, signed=KIM) as (_, pilot):
        await pilot.press("escape")
        await until(pilot, lambda: "0 of 3 stations judged" in shown(pilot))


async def test_the_end_that_could_not_be_saved_is_said_and_saved_later(tmp_path: Path) -> None:
    async with practising(tmp_path, signed=KIM) as (screen, pilot):
        (folder,) = (tmp_path / "checklists").glob("practice-*/00000")
        away = tmp_path / "away"
        (tmp_path / "checklists").rename(away)
        await judge_all(screen, pilot)
        await until(pilot, lambda: screen.outcome.startswith("Its end is not saved yet"))
        away.rename(tmp_path / "checklists")
        await until(pilot, lambda: not screen.talking)
        await pilot.press("enter")
        await until(pilot, lambda: "Score 100 of 100" in shown(pilot))
        assert len(list(folder.glob("*.toml"))) == 2


async def test_no_key_pressed_twice_gives_a_verdict(tmp_path: Path) -> None:
    async with practising(tmp_path) as (screen, pilot):
        assert screen.sitting is not None
        for keys in (["enter"] * 9, ["enter", "1", "1", "1"], ["1", "enter", "escape"], ["enter", "enter", "4", "4"]):
            await burst(pilot, *keys)
            await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick) or not screen.talking)
            await pilot.pause(0.1)
            assert not screen.sitting.judged
            while isinstance(pilot.app.screen, PracticePick):
                await pilot.press("escape")
                await pilot.pause(0.05)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        await burst(pilot, "4", "4", "enter")
        await until(pilot, lambda: "What is wrong?" in shown(pilot))
        await burst(pilot, "enter", "enter", "enter")
        await pilot.pause(0.1)
        assert "What is wrong?" in shown(pilot)  # the verdict was taken once, and the cause waits for its own mark
        assert not screen.sitting.judged


async def test_keys_that_come_before_a_box_is_there_open_no_other(tmp_path: Path) -> None:
    async with practising(tmp_path) as (screen, pilot):
        await burst(pilot, "enter", "f9", "escape", "pagedown", "enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick) or not screen.talking)
        assert len(pilot.app.screen_stack) <= 3
        while isinstance(pilot.app.screen, PracticePick):
            await pilot.press("escape")
            await pilot.pause(0.05)
        assert pilot.app.screen is screen
        await until(pilot, lambda: not screen.talking)


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


@pytest.mark.parametrize("width", [59, 60])
def test_no_word_of_a_station_is_cut_at_80_columns(width: int) -> None:
    titles = {station.id: (station.title, station.purpose) for station in STATIONS}
    for drill in (*map(written_drill, written()), generated(24, 3)):
        sitting = begin(drill, 1)
        for check in drill.asked:
            shown, helps = readings(drill.scene, check), sitting.helps(check)
            lines = station_lines(*titles[check], shown, helps, "", None, width)
            texts = [*titles[check], *helps, *(word for one in shown for word in (one.label, one.text))]
            words = {word for line in lines for text, _ in line for word in text.split()}
            assert {word for text in texts for word in text.split()} <= words
            assert all(sum(len(text) for text, _ in line) <= width for line in lines)


def test_a_long_title_is_cut_between_words() -> None:
    title = "Old mill four heads: Maple worktops, wide glue lines"
    left = "".join(text for text, _ in banner(title, 3, 11, 80, UNICODE)).split("is started  ")[1].split("…")[0]
    assert left
    assert left == " ".join(title.split()[: len(left.split())])
