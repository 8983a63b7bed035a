"""What has happened is asked about once, says what it asks again, and can be taken back until the next answer."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, filled, tokens
from opened_app import screen_lines

from preflight.tui.demo_shop import MACHINE, YESTERDAY
from preflight.tui.desk_door import DeskDoor
from preflight.tui.wiring import Signing

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from desk_samples import Clock, OpenDesk
    from opened_app import OpenApp
    from textual.pilot import Pilot

    from preflight.tui.modes.run import RunScreen
    from preflight.tui.run import Run

BY_ME = Signing("D. Marrow", "I made this check at the machine and read these figures myself.")


@pytest.fixture
def door(shop: Path, clock: Clock) -> Iterator[DeskDoor]:
    opened = DeskDoor(shop, MACHINE, clock, tokens("door"), "bench", 1)
    yield opened
    opened.close()


def answered(screen: RunScreen) -> None:
    typed = {**screen.run.typed, **YESTERDAY}
    screen.run = screen.run.resumed(typed, dict.fromkeys(typed, MORNING), {})
    screen.keep()


def shown(pilot: Pilot[None]) -> str:
    """What stands in the open box."""
    screen = pilot.app.screen
    lines = [strip.text for strip in screen._compositor.render_strips(screen.size)]
    return " ".join(" ".join(found[1] for line in lines if (found := re.search("│(.*)│", line))).split())


async def choose(pilot: Pilot[None], words: str) -> None:
    """Choose the line of the open list that holds these words, and wait for what comes of it."""
    screen = pilot.app.screen
    lines = [strip.text for strip in screen._compositor.render_strips(screen.size)]
    number = next((found[1] for line in lines if (found := re.search(rf"│ +([1-9])  {words}", line))), "")
    assert number, f"{words!r} is not offered: {lines}"
    await pilot.press(number)
    for _ in range(50):
        await pilot.pause(0.02)
        if pilot.app.screen is not screen:
            break
    await pilot.pause(0.05)


async def test_an_event_says_what_it_asks_again_and_asks_once(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        await pilot.press("f2")
        await pilot.pause()
        await choose(pilot, "power or air was off")
        assert "Asks again: tension, extraction, running, test board." in shown(pilot)
        assert screen.run.typed["tension.1"] == "4.2"
        await choose(pilot, "nothing of the kind")
        assert pilot.app.screen is screen
        assert screen.run.typed["tension.1"] == "4.2"
        await pilot.press("f2")
        await pilot.pause()
        await choose(pilot, "power or air was off")
        await choose(pilot, "ask these again")
        assert pilot.app.screen is screen
        assert "tension.1" not in screen.run.typed
        assert screen.run.typed["stock.thickest"] == "27.7"


async def test_a_belt_change_asks_on_which_head_and_asks_its_card_looks_and_gauge_again(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        await pilot.press("f2")
        await pilot.pause()
        await choose(pilot, "a belt was changed")
        assert "On which head?" in shown(pilot)
        await choose(pilot, "head 2")
        assert "Asks again: belt and looks head 2, tension head 2, tracking, removal, feed, test board." in shown(pilot)
        await choose(pilot, "ask these again")
        typed = screen.run.typed
        assert typed.get("belts.2.card", "") == ""
        assert typed.get("tension.2", "") == ""
        assert typed.get("running.tracking", "") == ""
        assert typed["belts.1.card"] == YESTERDAY["belts.1.card"]
        assert typed["tension.1"] == "4.2"
        assert typed["belts.1.look"] == "all four good"
        asked = {row.key for row in screen.run.rows("belts") if screen.run.asks(row) and not typed.get(row.key)}
        assert asked == {"belts.2.card", "belts.2.look"}


async def test_both_heads_can_have_another_belt(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        await pilot.press("f2")
        await pilot.pause()
        await choose(pilot, "a belt was changed")
        await choose(pilot, "all heads")
        await choose(pilot, "ask these again")
        assert not any(screen.run.typed.get(f"belts.{head}.{what}") for head in "12" for what in ("card", "look"))
        assert not any(screen.run.typed.get(f"tension.{head}") for head in "12")


@pytest.mark.parametrize("way", ["list", "key"])
async def test_an_event_can_be_taken_back_until_the_next_answer(open_app: OpenApp, door: DeskDoor, way: str) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        before = screen.run
        await pilot.press("f2")
        await pilot.pause()
        await choose(pilot, "power or air was off")
        await choose(pilot, "ask these again")
        await pilot.press("down", "pagedown")
        if way == "key":
            await pilot.press("ctrl+z")
            await pilot.pause(0.05)
        else:
            await pilot.press("f2")
            await pilot.pause()
            await choose(pilot, "take back: power or air was off")
        assert dict(screen.run.typed) == dict(before.typed)
        assert dict(screen.run.entered) == dict(before.entered)
        assert screen.run.base.get("happened", "") == before.base.get("happened", "")
        assert "Taken back" in " ".join("\n".join(screen_lines(screen)).split())
        await pilot.press("f2")
        await pilot.pause()
        assert "take back" not in shown(pilot)


async def test_after_the_next_answer_an_event_is_taken_back_no_more(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        await pilot.press("f2")
        await pilot.pause()
        await choose(pilot, "power or air was off")
        await choose(pilot, "ask these again")
        screen.go("tension", "tension.1")
        await pilot.press("4", ".", "3", "ctrl+z")
        await pilot.pause(0.05)
        assert "tension.2" not in screen.run.typed
        assert screen.run.typed["tension.1"] == "4.3"
        await pilot.press("f2")
        await pilot.pause()
        assert "take back" not in shown(pilot)


async def test_what_was_taken_back_is_taken_back_in_the_draft_too(
    open_app: OpenApp, shop: Path, clock: Clock, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        await pilot.press("f2")
        await pilot.pause()
        await choose(pilot, "power or air was off")
        await choose(pilot, "ask these again")
        await pilot.press("ctrl+z")
        await pilot.pause(0.05)
    door.close()
    again = DeskDoor(shop, MACHINE, clock, tokens("again"), "bench", 2)
    run = again.wiring().load().run
    again.close()
    assert run.typed["tension.1"] == "4.2"
    assert run.base.get("happened", "") == ""


def test_an_event_after_the_release_that_is_taken_back_leaves_the_sheet_released(shop: Path, desks: OpenDesk) -> None:
    desk = desks(shop)
    desk.sign(filled(desk.load().run), BY_ME)
    released = desk.load().run
    after = desk.happened(released, "new job").run
    desk.keep(after.typed, after.entered, after.earlier)
    back = desk.taken_back().run
    assert back.signed is not None
    assert back.signed.number == 2
    desk.close()
    again = desks(shop).load()
    assert again.run.signed is not None
    assert "resumed" not in again.notice


# another belt is looked at anew


def looks(run: Run) -> dict[str, str]:
    return {head: run.typed.get(f"belts.{head}.look", "") for head in "12"}


def test_picking_another_belt_asks_the_looks_of_that_head_again(shop: Path, desks: OpenDesk) -> None:
    desk = desks(shop)
    run = filled(desk.load().run)
    assert looks(run)["1"] == "all heads, all four good"
    other = desk.picked(run, "belts.1.card", "H-198  P100 cloth X").run
    assert looks(other) == {"1": "", "2": "all four good"}
    assert [was for _, was in other.earlier["belts.1.look"]] == ["all heads, all four good"]
    back = desk.picked(other, "belts.1.card", YESTERDAY["belts.1.card"]).run
    assert looks(back) == {"1": "", "2": "all four good"}


async def test_a_belt_being_turned_ends_no_look_until_it_is_left(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        screen.go("belts", "belts.1.card")
        await pilot.press("space")
        assert screen.run.typed["belts.1.card"] != YESTERDAY["belts.1.card"]
        assert looks(screen.run)["1"] == "all heads, all four good"
        await pilot.press("escape", "down", "up")
        assert looks(screen.run)["1"] == "all heads, all four good"
        await pilot.press("space", "down")
        assert looks(screen.run) == {"1": "", "2": "all four good"}
