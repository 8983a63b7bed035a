"""What Enter has accepted, or stayed at, is replaced only on purpose: marked, kept beside, and given back by Esc."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, tokens
from fake_stations import NOON, Bench, all_answered
from opened_app import burst, screen_lines

from preflight.tui.app import PreflightApp
from preflight.tui.demo_shop import MACHINE, YESTERDAY
from preflight.tui.desk_door import DeskDoor

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from desk_samples import Clock
    from opened_app import OpenApp
    from textual.pilot import Pilot

    from preflight.tui.modes.run import RunScreen

SIZES = [(60, 20), (80, 24), (140, 40)]


@pytest.fixture
def door(shop: Path, clock: Clock) -> Iterator[DeskDoor]:
    opened = DeskDoor(shop, MACHINE, clock, tokens("door"), "bench", 1)
    yield opened
    opened.close()


def answered(screen: RunScreen, **changes: str) -> None:
    """Give the open run yesterday's answers, and these."""
    typed = {**screen.run.typed, **YESTERDAY, **changes}
    screen.run = screen.run.resumed(typed, dict.fromkeys(typed, MORNING), {})


def restarts(screen: RunScreen) -> bool | None:
    """What the sheet says of a restart by itself."""
    assert screen.run.sheet is not None
    return screen.run.sheet.running.restarts_by_itself


def text(screen: RunScreen) -> str:
    return " ".join("\n".join(screen_lines(screen)).split())


def bells(pilot: Pilot[None]) -> list[bool]:
    rung: list[bool] = []
    pilot.app.bell = lambda: rung.append(True)  # type: ignore[method-assign]
    return rung


# where Enter has stayed


@pytest.mark.parametrize("size", SIZES)
async def test_where_enter_stayed_a_digit_is_refused_with_the_reason_and_nothing_changes(
    open_app: OpenApp, size: tuple[int, int]
) -> None:
    async with open_app(Bench(all_answered()), size) as (screen, pilot):
        rung = bells(pilot)
        screen.go("tension", "tension.1")
        await pilot.press("9", "enter")
        assert "Enter: goes on; stop stays" in text(screen)
        rung.clear()
        await pilot.press("4")
        await pilot.pause()
        assert screen.run.typed["tension.1"] == "9"
        assert rung == [True]
        assert "Not taken: 4" in text(screen)
        assert "Backspace" in text(screen)


async def test_values_typed_ahead_of_a_stop_overwrite_nothing_and_land_in_no_other_row(open_app: OpenApp) -> None:
    """9 is a stop at row one; 4.4 was meant for row two, and a third value for the row after that."""
    async with open_app(Bench({**all_answered(), "tension.1": "", "tension.2": ""})) as (screen, pilot):
        screen.go("tension", "tension.1")
        await burst(pilot, "9", "enter", "4", ".", "4", "enter", "1", "2", "backspace", "3", "enter")
        assert screen.entries.key == "tension.1"
        assert screen.run.typed["tension.1"] == "9"
        assert screen.run.typed["tension.2"] == ""
        assert "13 was not taken, nor Enter behind it. head 1 reads 9 bar, above 4.8 bar." in text(screen)
        await pilot.press("enter")
        assert screen.entries.key == "tension.2"


@pytest.mark.parametrize("enters", [2, 5])
async def test_enter_struck_twice_or_held_down_at_a_stop_does_not_pass_it(open_app: OpenApp, enters: int) -> None:
    async with open_app(Bench({**all_answered(), "tension.2": ""})) as (screen, pilot):
        assert isinstance(pilot.app, PreflightApp)
        pilot.app.gate.rest = 3600.0
        screen.go("tension", "tension.1")
        await burst(pilot, "9", *["enter"] * enters)
        await pilot.press("enter")
        assert screen.entries.key == "tension.1"
        pilot.app.gate.rest = 0.0
        await pilot.press("enter")
        assert screen.entries.key == "tension.2"


async def test_values_typed_ahead_go_to_their_rows_where_enter_does_not_stay(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "tension.1": "", "tension.2": ""})) as (screen, pilot):
        screen.go("tension", "tension.1")
        await burst(pilot, "4", ".", "4", "enter", "4", ".", "5", "enter")
        assert (screen.run.typed["tension.1"], screen.run.typed["tension.2"]) == ("4.4", "4.5")


async def test_a_choice_typed_ahead_of_a_stop_does_not_turn_the_choice_that_stopped(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("stock", "stock.wand")
        await pilot.press("space", "space")
        assert screen.run.typed["stock.wand"] == "found, still in"
        await burst(pilot, "enter", "space", "enter", "right", "enter", "s")
        assert screen.run.typed["stock.wand"] == "found, still in"
        assert screen.entries.key == "stock.wand"


async def test_digits_typed_ahead_of_text_that_cannot_be_read_do_not_overwrite_it(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "stock.thin": ""})) as (screen, pilot):
        screen.go("stock", "stock.thick")
        screen.entries.input.value = "22 quux"
        await burst(pilot, "enter", "1", "8", "enter", "enter")
        assert screen.run.typed["stock.thick"] == "22 quux"
        assert screen.entries.key == "stock.thick"
        assert "Enter: stays" in text(screen)
        await pilot.press("backspace", "2", "2", "enter")
        assert screen.run.typed["stock.thick"] == "22"
        assert screen.entries.key == "stock.thin"


async def test_what_is_too_long_for_a_reading_is_refused_and_not_shown(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("9", "enter", *"73029481")
        await pilot.pause()
        assert "Not taken: what was typed." in text(screen)
        await pilot.press("enter")
        await pilot.pause()
        assert "What was typed was not taken" in text(screen)
        assert "7302" not in text(screen)


async def test_a_paste_where_enter_stayed_is_refused(open_app: OpenApp) -> None:
    from textual.events import Paste

    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("9", "enter")
        screen.entries.input.post_message(Paste("4.4"))
        await pilot.pause()
        assert screen.run.typed["tension.1"] == "9"


# taking a reading again


@pytest.mark.parametrize("size", SIZES)
async def test_a_reading_taken_again_is_marked_and_the_old_one_kept(open_app: OpenApp, size: tuple[int, int]) -> None:
    bench = Bench(all_answered())
    async with open_app(bench, size) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("9", "enter", "backspace")
        await pilot.pause()
        assert screen.run.typed["tension.1"] == ""
        assert "re-read, was 9 bar" in text(screen)
        await pilot.press("4", ".", "4")
        await pilot.pause()
        assert "re-read, was 9 bar" in text(screen)
        await pilot.press("enter")
        assert screen.entries.key == "tension.2"
        _, _, earlier = bench.saved[-1]
        assert [was for _, was in earlier["tension.1"]] == ["4.4", "9"]
        assert "re-read" not in text(screen)


async def test_the_first_digit_in_a_row_come_back_to_starts_a_marked_re_read(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("stock", "stock.thick")
        await pilot.press("2", "1")
        await pilot.pause()
        assert screen.run.typed["stock.thick"] == "21"
        assert "re-read, was 20 mm" in text(screen)


@pytest.mark.parametrize("keys", [("escape",), ("backspace", "backspace")])
async def test_esc_or_clearing_it_gives_the_old_reading_back(open_app: OpenApp, keys: tuple[str, ...]) -> None:
    bench = Bench(all_answered())
    async with open_app(bench) as (screen, pilot):
        screen.go("stock", "stock.thick")
        await pilot.press("2", "1", *keys)
        await pilot.pause()
        assert screen.run.typed["stock.thick"] == "20"
        assert screen.entries.input.value == "20"
        assert "re-read" not in text(screen)
        await pilot.press("enter")
        typed, _, earlier = bench.saved[-1]
        assert typed["stock.thick"] == "20"
        assert "stock.thick" not in earlier
        assert screen.entries.key == "stock.thin"


async def test_esc_after_backspace_gives_the_stop_back_with_its_time(open_app: OpenApp) -> None:
    bench = Bench(all_answered())
    async with open_app(bench) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("9", "enter", "backspace", "escape")
        assert screen.run.typed["tension.1"] == "9"
        assert screen.run.entered["tension.1"] == NOON
        await pilot.press("down")
        assert screen.run.verdict("tension").word == "stop"


async def test_a_choice_made_again_is_marked_and_esc_gives_the_old_one_back(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "glue.state": "scraped"})) as (screen, pilot):
        screen.go("glue", "glue.state")
        await pilot.press("space")
        await pilot.pause()
        assert screen.run.typed["glue.state"] == "beads standing"
        assert "re-read, was scraped" in text(screen)
        await pilot.press("escape")
        assert screen.run.typed["glue.state"] == "scraped"


@pytest.mark.parametrize("key", ["space", "x", "percent_sign"])
async def test_a_key_that_begins_no_number_leaves_a_reading_as_it_is(open_app: OpenApp, key: str) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        rung = bells(pilot)
        screen.go("stock", "stock.thick")
        await pilot.press(key)
        await pilot.pause()
        assert screen.run.typed["stock.thick"] == "20"
        assert rung == [True]
        assert "20 mm stands" in text(screen)


async def test_space_leaves_a_single_confirmation_confirmed(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("belts", "belts.plan")
        await pilot.press("space")
        assert screen.run.typed["belts.plan"] == "confirmed"
        await pilot.press("backspace")
        assert screen.run.typed["belts.plan"] == ""


async def test_a_reading_in_an_optional_row_can_be_taken_away(open_app: OpenApp) -> None:
    bench = Bench(all_answered())
    async with open_app(bench) as (screen, pilot):
        screen.go("glue", "glue.by")
        await pilot.press("backspace", "down", "up")
        typed, _, earlier = bench.saved[-1]
        assert typed["glue.by"] == ""
        assert [was for _, was in earlier["glue.by"]] == ["bench two"]


async def test_the_tally_of_what_was_fed_is_added_to_not_replaced(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        screen.go("feed", "feed.fed")
        await pilot.press("plus", "3")
        screen.go("stock", "stock.metal")
        screen.go("feed", "feed.fed")
        await pilot.press("space", "7")
        assert screen.run.typed["feed.fed"] == "+3 7"
        await pilot.press("enter")
        screen.go("feed", "feed.fed")
        await pilot.press(*["backspace"] * 4, "down")
        assert screen.run.typed["feed.fed"] == ""


# a stop time is asked about however it is replaced


async def test_a_stop_time_too_high_that_is_read_again_before_the_second_enter_is_asked_about(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **{"running.stop.1": ""})
        screen.go("running", "running.stop.1")
        await pilot.press("1", "5", "enter", "backspace", "6", ".", "5", "enter")
        await pilot.pause()
        assert [was for _, was in screen.run.earlier["running.stop.1"]] == ["15"]
        assert any(finding.subject == "repair head 1 stop" for finding in screen.run.findings("running"))


# what was typed and never accepted


async def test_a_number_half_typed_when_the_app_was_killed_is_shown_as_such_and_asked_again(
    open_app: OpenApp, shop: Path, clock: Clock, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        screen.go("stock", "stock.thickest")
        await pilot.press("2", "7", ".", "7", "enter")
        screen.go("tension", "tension.1")
        await pilot.press("backspace", "4")
        await pilot.pause()
    door.close()
    again = DeskDoor(shop, MACHINE, clock, tokens("again"), "bench", 2)
    async with open_app(again) as (screen, pilot):
        assert "Half typed, asked again: head 1 gauge" in text(screen)
        assert screen.run.typed["stock.thickest"] == "27.7"
        assert "stock.thickest" not in screen.run.unread
        assert screen.run.sheet is not None
        assert "1" not in screen.run.sheet.tension.gauge
        assert (screen.station_id, screen.entries.key) == ("tension", "tension.1")
        assert "half typed" in text(screen)
        await pilot.press("enter")
        assert screen.entries.key == "tension.1"
        await pilot.press("down", "up", "f8")
        await pilot.pause()
        await pilot.press("escape")
        assert "1" not in screen.run.sheet.tension.gauge
        await pilot.press("4", ".", "3", "enter")
        assert screen.run.typed["tension.1"] == "4.3"
        assert screen.run.sheet is not None
        assert screen.run.sheet.tension.gauge["1"].text == "4.3 bar"
        assert [was for _, was in screen.run.earlier["tension.1"]] == ["4.2"]
    again.close()


async def test_a_half_typed_re_read_gives_the_reading_before_it_back(
    open_app: OpenApp, shop: Path, clock: Clock, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        screen.go("tension", "tension.1")
        await pilot.press("9")
    door.close()
    again = DeskDoor(shop, MACHINE, clock, tokens("again"), "bench", 2)
    async with open_app(again) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("escape")
        assert screen.run.typed["tension.1"] == "4.2"
        assert "tension.1" not in screen.run.unread
    again.close()


async def test_a_choice_not_accepted_when_the_app_was_killed_is_accepted_by_enter(
    open_app: OpenApp, shop: Path, clock: Clock, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **{"running.restart": ""})
        screen.go("running", "running.restart")
        await pilot.press("space")
        await pilot.pause()
    door.close()
    again = DeskDoor(shop, MACHINE, clock, tokens("again"), "bench", 2)
    async with open_app(again) as (screen, pilot):
        assert restarts(screen) is None
        screen.go("running", "running.restart")
        await pilot.press("enter")
        assert restarts(screen) is False
        assert screen.entries.key != "running.restart"
    again.close()


async def test_a_draft_of_an_earlier_shift_keeps_no_fact_that_was_only_being_turned(
    open_app: OpenApp, shop: Path, clock: Clock, door: DeskDoor
) -> None:
    from datetime import timedelta

    async with open_app(door) as (screen, pilot):
        answered(screen)
        screen.go("backing", "backing.2.platen")
        await pilot.press("space")
        assert screen.run.typed["backing.2.platen"] == "down"
    door.close()
    clock.now += timedelta(hours=15)
    again = DeskDoor(shop, MACHINE, clock, tokens("again"), "bench", 2)
    async with open_app(again) as (screen, _):
        assert screen.run.typed["backing.2.platen"] == "lifted"
    again.close()


async def test_a_held_record_holds_no_half_typed_number(shop: Path, door: DeskDoor) -> None:
    from preflight.checklist.body_reader import read_body
    from preflight.checklist.seal import read_seal
    from preflight.tui.wiring import Holding

    wiring = door.wiring()
    run = wiring.load().run
    typed = {**run.typed, **YESTERDAY}
    run = run.resumed(typed, dict.fromkeys(typed, MORNING), {}, {"tension.1": (None, "")})
    wiring.hold(run, Holding("gauge", "Ida", "tapped it", "D. Marrow"))
    newest = max(shop.glob("checklists/*/*/*.toml"))
    entries = {entry["key"]: entry["text"] for entry in read_body(read_seal(newest.read_bytes()).body)["entries"]}
    assert "tension.1" not in entries
    assert entries["tension.2"] == "3.4"
