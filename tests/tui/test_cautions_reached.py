"""Every caution can be reached: Enter, F4 and F8 walk through those without an action, in order, and no other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, tokens
from opened_app import screen_lines

from preflight.tui.demo_shop import MACHINE, YESTERDAY
from preflight.tui.desk_door import DeskDoor

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from desk_samples import Clock
    from opened_app import OpenApp
    from textual.pilot import Pilot

    from preflight.tui.modes.run import RunScreen

SMEARED = {"glue.state": "smeared", "glue.bead": "0.2", "glue.hours": "2"}
"""Three cautions at one station: smeared, a bead of 0.2 mm, glued two hours ago."""
LOW = {"tension.1": "3.8"}
"""Two cautions on one row: at the lower end of 3.8 to 4.5 bar, and 0.4 bar below the day before."""


@pytest.fixture
def door(shop: Path, clock: Clock) -> Iterator[DeskDoor]:
    opened = DeskDoor(shop, MACHINE, clock, tokens("door"), "bench", 1)
    yield opened
    opened.close()


def answered(screen: RunScreen, **changes: str) -> None:
    """Give the open run yesterday's answers, and these."""
    typed = {**screen.run.typed, **YESTERDAY, **changes}
    screen.run = screen.run.resumed(typed, dict.fromkeys(typed, MORNING), {})


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return " ".join(" ".join(strip.text for strip in screen._compositor.render_strips(screen.size)).split())


def undone(screen: RunScreen, station: str) -> list[str]:
    return [one.subject for one in screen.run.cautions(station) if not screen.run.action(station, one)]


async def test_f4_offers_each_of_three_cautions_of_a_station_in_order_and_then_none(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **SMEARED)
        screen.go("glue", "glue.state")
        for left, asked in ((3, "Glue was smeared"), (2, "Highest bead 0.2 mm"), (1, "Clamps came off 2 h ago")):
            assert len(undone(screen, "glue")) == left
            await pilot.press("f4")
            await pilot.pause()
            assert pilot.app.screen is not screen
            assert asked in shown(pilot)
            await pilot.press("1")
            await pilot.pause()
        assert undone(screen, "glue") == []
        await pilot.press("f4")
        await pilot.pause()
        assert pilot.app.screen is screen
        assert "has its action" in shown(pilot)


async def test_f4_once_more_changes_an_action_that_was_taken_down_wrongly(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **{"glue.state": "smeared", "glue.bead": "0", "glue.hours": "30"})
        screen.go("glue", "glue.state")
        await pilot.press("f4", "1")
        await pilot.pause()
        assert screen.run.typed["action:glue:glue"] == "smear scraped off by hand"
        await pilot.press("f4", "f4")
        await pilot.pause()
        await pilot.press("2")
        await pilot.pause()
        assert screen.run.typed["action:glue:glue"] == "old belt kept for this lot"


async def test_f4_never_offers_a_caution_with_an_action_while_another_has_none(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **SMEARED, **{"action:glue:glue": "lot sent back"})
        screen.go("glue", "glue.state")
        await pilot.press("f4")
        await pilot.pause()
        assert "Highest bead 0.2 mm" in shown(pilot)


async def test_two_cautions_on_one_row_are_both_shown_and_both_take_their_action(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **LOW)
        first, second = undone(screen, "tension")
        screen.go("tension", "tension.1")
        for subject in (first, second):
            finding = next(one for one in screen.run.findings("tension") if one.subject == subject)
            await pilot.press("enter")
            assert screen.entries.key == "tension.1"
            assert finding.statement[:40] in " ".join("\n".join(screen_lines(screen)).split())
            await pilot.press("f4")
            await pilot.pause()
            await pilot.press("1")
            await pilot.pause()
        assert undone(screen, "tension") == []
        await pilot.press("enter")
        assert screen.entries.key == "tension.2"


async def test_enter_shows_each_caution_of_a_row_once_before_it_goes_on(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **LOW)
        screen.go("tension", "tension.1")
        statements = [one.statement[:40] for one in screen.run.cautions("tension")]
        for statement in statements:
            await pilot.press("enter")
            await pilot.pause()
            assert screen.entries.key == "tension.1"
            assert statement in " ".join("\n".join(screen_lines(screen)).split())
        await pilot.press("enter")
        assert screen.entries.key == "tension.2"


async def test_the_second_caution_of_a_row_brings_the_cursor_and_the_review_to_it(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **LOW)
        first, second = screen.run.cautions("tension")
        screen.run = screen.run.typing(f"action:tension:{first.subject}", first.actions[0], MORNING)
        screen.go("stock", "stock.metal")
        await pilot.press("f8", "s")
        await pilot.pause()
        assert (screen.station_id, screen.entries.key) == ("tension", "tension.1")
        await pilot.press("pageup", "pagedown")
        assert screen.entries.key == "tension.1"
        assert second.statement[:40] in " ".join("\n".join(screen_lines(screen)).split())
        await pilot.press("f4")
        await pilot.pause()
        assert second.statement[:40] in shown(pilot)


async def test_a_stop_that_waits_for_another_row_does_not_hold_enter_here(open_app: OpenApp, door: DeskDoor) -> None:
    """The repair of a failed brake is entered in two rows: the second is what is missing, so the first lets go."""
    async with open_app(door) as (screen, pilot):
        answered(screen)
        failed = screen.run.typing("running.stop.1", "28", MORNING).accepting("running.stop.1")
        screen.run = failed.typing("running.stop.1", "6.5", MORNING).accepting("running.stop.1")
        screen.go("running", "repair.head 1 stop.how")
        await pilot.press("space", "enter")
        assert screen.entries.key == "repair.head 1 stop.who"


async def test_a_stop_of_the_thinnest_piece_does_not_hold_enter_at_the_thickest(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen, **{"stock.thinnest": "26.9"})
        assert any(one.verdict.word == "stop" for one in screen.run.findings("stock"))
        screen.go("stock", "stock.thickest")
        await pilot.press("enter")
        assert screen.entries.key == "stock.thinnest"
        await pilot.press("enter")
        assert screen.entries.key == "stock.thinnest"
