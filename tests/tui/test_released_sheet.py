"""The app on a real shop: a slip of the unit asked at its row, a new belt, and the screen after the release."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, tokens
from opened_app import screen_lines
from textual.widgets import Input

from preflight.tui.attention import slip_meant
from preflight.tui.charset import UNICODE
from preflight.tui.demo_shop import MACHINE, YESTERDAY
from preflight.tui.desk_door import DeskDoor
from preflight.tui.widgets.entry_lines import table_lines
from preflight.tui.wiring import Signing

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from desk_samples import Clock, OpenDesk
    from opened_app import OpenApp

    from preflight.tui.run import Run

SIZES = [(60, 20), (80, 24), (140, 40)]
BY_ME = Signing("D. Marrow", "I made this check at the machine and read these figures myself.")


@pytest.fixture
def door(shop: Path, clock: Clock) -> Iterator[DeskDoor]:
    opened = DeskDoor(shop, MACHINE, clock, tokens("door"), "bench", 1)
    yield opened
    opened.close()


@pytest.fixture
def run(shop: Path, desks: OpenDesk) -> Run:
    loaded = desks(shop).load().run
    return loaded.resumed({**loaded.typed, **YESTERDAY}, {}, {})


@pytest.mark.parametrize(
    ("station", "key", "typed", "meant"),
    [
        # factors of ten; 1 in = 25.4 mm and 1 bar = 14.5038 psi by definition of the units
        ("stock", "stock.thickest", "277", "27.7 mm"),
        ("tension", "tension.1", "42", "4.2 bar"),
        ("tension", "tension.1", "61", "61 psi"),
        ("extraction", "extraction.static", "9300", "930 Pa"),
        ("running", "running.stop.1", "65", ""),  # a failed brake may coast so long
        ("test_board", "test_board.left", "274.4", "27.44 mm"),
        ("tension", "tension.1", "4.2", ""),
        ("tension", "tension.1", "5.0", ""),
        ("tension", "tension.1", "quux", ""),
    ],
)
def test_a_reading_off_by_a_factor_is_asked_about_at_its_row_and_at_no_other(
    run: Run, station: str, key: str, typed: str, meant: str
) -> None:
    if key == "stock.thickest":
        run = run.typing("stock.thinnest", "27.6")
    after = run.typing(key, typed)
    found = {row.key: slip_meant(after, station, row) for row in after.rows(station)}
    assert {name: text for name, text in found.items() if text} == ({key: meant} if meant else {})
    lines = [
        "".join(part for part, _ in line) for line in table_lines(after, station, key, 60, 16, UNICODE, picture=True)
    ]
    assert any(f"Was {meant} meant? F4 takes it" in line for line in lines) is bool(meant)
    row = next(line for line in lines if line.startswith(" ›"))
    assert (f"{meant}?" in row or f"{meant} meant?" in row) is bool(meant)
    if meant:
        assert not slip_meant(after.typing(key, meant), station, next(r for r in after.rows(station) if r.key == key))


@pytest.mark.parametrize("size", SIZES)
async def test_one_key_takes_the_reading_that_was_meant(
    open_app: OpenApp, door: DeskDoor, size: tuple[int, int]
) -> None:
    async with open_app(door, size) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("4", "2", "enter")
        await pilot.pause()
        assert "F4 takes 4.2 bar" in screen_lines(screen)[-1]
        assert "Was 4.2 bar meant?" in "\n".join(screen_lines(screen))
        await pilot.press("f4")
        await pilot.pause()
        assert screen.run.typed["tension.1"] == "4.2 bar"
        assert screen.entries.key == "tension.1"
        assert "takes" not in screen_lines(screen)[-1]


async def test_a_slipped_reading_may_be_typed_again_instead(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("4", "2", "enter", "backspace", "4", ".", "3")
        assert screen.run.typed["tension.1"] == "4.3"


@pytest.mark.parametrize("size", SIZES)
async def test_after_the_release_the_screen_says_so_and_takes_nothing_but_the_tally(
    open_app: OpenApp, shop: Path, door: DeskDoor, desks: OpenDesk, size: tuple[int, int]
) -> None:
    desk = desks(shop)
    loaded = desk.load().run
    desk.sign(loaded.resumed({**loaded.typed, **YESTERDAY}, {}, {}), BY_ME)
    desk.close()
    async with open_app(door, size) as (screen, pilot):
        text = "\n".join(screen_lines(screen))
        said = " ".join(text.split())
        assert "released, record 2 ✓ ok" in " ".join(screen_lines(screen)[0].split())
        assert "Read only: record 2, released 06:40, ok, by D. Marrow" in text
        assert "Released at 06:40: record 2, verdict ok, by D. Marrow, unsigned (no key yet)." in said
        for following in ("feed as station feed says", "job is done, Ctrl+O", "New job, belt change, air off: F2"):
            assert following in said
        assert "F2 what happened?" in screen_lines(screen)[-1]
        assert "^O job done" in screen_lines(screen)[-1]
        assert screen.station_id == "feed"
        before = dict(screen.run.typed)
        for station in ("glue", "tension", "running"):
            screen.go(station)
            await pilot.press("space", "7", "s", "backspace", "delete", "f4", "down", "5")
            await pilot.pause()
            assert "Read only: record 2" in "\n".join(screen_lines(screen))
        assert dict(screen.run.typed) == before
        screen.go("feed")
        await pilot.press("plus", "1", "2")
        assert dict(screen.run.typed) == {**before, "feed.fed": "+12"}


async def test_a_released_sheet_is_reviewed_not_signed_and_an_event_asks_again(
    open_app: OpenApp, shop: Path, door: DeskDoor, desks: OpenDesk
) -> None:
    desk = desks(shop)
    loaded = desk.load().run
    desk.sign(loaded.resumed({**loaded.typed, **YESTERDAY}, {}, {}), BY_ME)
    desk.close()
    async with open_app(door) as (screen, pilot):
        await pilot.press("f8", "s", "h")
        top = pilot.app.screen
        assert top is not screen
        lines = "\n".join(strip.text for strip in top._compositor.render_strips(top.size))
        assert "record 2" in lines
        assert "sign " not in lines.split("review and sign")[1]
        await pilot.press("escape", "f2")
        await pilot.press("2")
        await pilot.pause()
        await pilot.press("1")
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        assert screen.run.signed is None
        assert "Read only" not in "\n".join(screen_lines(screen))
        screen.go("stock", "stock.thickest")
        await pilot.press("2", "8")
        assert screen.run.typed["stock.thickest"] == "28"


async def test_the_release_is_shown_as_soon_as_it_is_saved(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        screen.run = screen.run.resumed({**screen.run.typed, **YESTERDAY}, dict.fromkeys(YESTERDAY, MORNING), {})
        await pilot.press("f8", "s")
        await pilot.pause(0.1)
        await pilot.press("1")
        await pilot.press("f8")
        for _ in range(50):
            await pilot.pause(0.05)
            if screen.run.signed is not None and pilot.app.screen is not screen:
                break
        assert screen.run.signed is not None
        assert screen.run.signed.number == 2
        await pilot.press("1")
        await pilot.pause()
        assert "Read only: record 2" in "\n".join(screen_lines(screen))
        assert screen.entries.key == "feed.fed"


async def test_what_was_told_after_the_job_outlives_escape(
    open_app: OpenApp, shop: Path, door: DeskDoor, desks: OpenDesk
) -> None:
    desk = desks(shop)
    loaded = desk.load().run
    desk.sign(loaded.resumed({**loaded.typed, **YESTERDAY}, {}, {}), BY_ME)
    desk.close()
    async with open_app(door) as (_, pilot):
        for hours in ("", "1.5"):
            await pilot.press("ctrl+o")
            await pilot.pause(0.1)
            await pilot.press("1")
            await pilot.pause()
            box = pilot.app.screen.query_one("#hours", Input)
            assert box.value == hours
            box.value = "1.5"
            await pilot.pause()
            await pilot.press("escape")
            await pilot.pause()


async def test_enter_goes_on_from_a_new_belt_to_what_is_measured_on_it(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        screen.go("belts", "belts.1.card")
        await pilot.press("backspace", "n", "enter")
        assert screen.run.typed["belts.1.card"] == "new belt"
        assert screen.entries.key == "belts.1.id"
        await pilot.pause()
        assert "Not complete: backing is missing; grit is missing." in "\n".join(screen_lines(screen))
        await pilot.press("H", "enter", "P", "8", "0", "enter", "pagedown", "pageup")
        assert screen.entries.key == "belts.1.backing"
