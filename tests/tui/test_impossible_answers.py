"""Readings that cannot be, at their rows: asked about in words, held once by Enter, and offered only what is likely."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, tokens
from opened_app import screen_lines

from preflight.checks.finding import Verdict
from preflight.tui.attention import slip_meant, to_look_at
from preflight.tui.demo_shop import MACHINE, YESTERDAY
from preflight.tui.desk_door import DeskDoor

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from desk_samples import Clock, OpenDesk
    from opened_app import OpenApp

    from preflight.tui.modes.run import RunScreen
    from preflight.tui.run import Run


@pytest.fixture
def door(shop: Path, clock: Clock) -> Iterator[DeskDoor]:
    opened = DeskDoor(shop, MACHINE, clock, tokens("door"), "bench", 1)
    yield opened
    opened.close()


@pytest.fixture
def run(shop: Path, desks: OpenDesk) -> Run:
    loaded = desks(shop).load().run
    return loaded.resumed({**loaded.typed, **YESTERDAY}, {}, {})


def answered(screen: RunScreen, **changes: str) -> None:
    typed = {**screen.run.typed, **YESTERDAY, **changes}
    screen.run = screen.run.resumed(typed, dict.fromkeys(typed, MORNING), {})


def releasable(screen: RunScreen) -> bool:
    return screen.run.releasable


def text(screen: RunScreen) -> str:
    return " ".join("\n".join(screen_lines(screen)).split())


@pytest.mark.parametrize(
    ("station", "key", "typed", "said"),
    [
        ("running", "running.stop.1", "0", "cannot be: a drum takes 0.5 s"),
        ("extraction", "extraction.bin", "0.95", "Was 95 % meant?"),
        ("extraction", "extraction.filter", "0", "the clean filter drops"),
        ("extraction", "extraction.filter", "35", "the clean filter drops"),
        ("stock", "stock.resolution", "10", "reads to 10 mm cannot be"),
        ("stock", "stock.thinnest", "0", "A piece of 0 mm cannot be"),
        ("test_board", "test_board.left", "0", "that cannot be"),
    ],
)
async def test_an_impossible_reading_is_asked_about_in_words_and_holds_enter_once(
    open_app: OpenApp, door: DeskDoor, station: str, key: str, typed: str, said: str
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        assert releasable(screen)
        screen.go(station, key)
        await pilot.press(*(() if key not in screen.run.typed else ("backspace",)), *typed, "enter")
        await pilot.pause()
        assert screen.entries.key == key
        assert screen.run.verdict(station) is Verdict.OPEN
        assert said in text(screen)
        assert "Enter: goes on; stays open" in text(screen)
        assert not releasable(screen)
        await pilot.press("enter")
        assert screen.entries.key != key
        assert not releasable(screen)


async def test_the_thinnest_piece_thicker_than_the_thickest_is_named_as_swapped(
    open_app: OpenApp, door: DeskDoor
) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        screen.go("stock", "stock.thinnest")
        await pilot.press(*"27.9", "enter")
        await pilot.pause()
        assert screen.entries.key == "stock.thinnest"
        assert screen.run.verdict("stock") is Verdict.OPEN
        assert "Thinnest piece 27.9 mm is thicker than the thickest, 27.7 mm: swapped?" in text(screen)
        assert not releasable(screen)
        await pilot.press("up", *"27.95", "enter")
        assert screen.run.verdict("stock") is not Verdict.OPEN


async def test_gauges_that_fit_each_others_band_are_named_at_their_row(open_app: OpenApp, door: DeskDoor) -> None:
    async with open_app(door) as (screen, pilot):
        answered(screen)
        screen.go("tension", "tension.1")
        await pilot.press(*"3.4", "down", *"4.2", "enter")
        await pilot.pause()
        assert screen.entries.key == "tension.2"
        assert "It fits head 1, and that gauge fits here: swapped?" in text(screen)


@pytest.mark.parametrize(
    ("station", "changes", "key"),
    [
        ("glue", {"glue.state": "beads standing", "glue.hours": "30", "glue.bead": "2"}, "glue.bead"),
        ("running", {"running.stop.1": "14"}, "running.stop.1"),
        ("tension", {"tension.1": "0.42"}, "tension.1"),
    ],
)
def test_a_bad_reading_that_can_be_gets_no_other_offered(
    run: Run, station: str, changes: dict[str, str], key: str
) -> None:
    for name, typed in changes.items():
        run = run.typing(name, typed, MORNING)
    row = next(row for row in run.rows(station) if row.key == key)
    assert slip_meant(run, station, row) == ""
    assert to_look_at(run, station, row)[0].verdict is Verdict.STOP
    assert not any(finding.meant or "meant?" in finding.statement for finding in run.findings(station))


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("running.current.1", "0", "'0 A' is not what an ammeter on a running motor shows: 0.1 A to 2000 A"),
        ("running.current.1", "9999999", "is not what an ammeter on a running motor shows"),
        ("running.stop.1", "99999999", "is not what a stopwatch shows"),
        ("tension.1", "9" * 20, "is not what a compressed-air gauge shows"),
        ("stock.thickest", "9" * 31, "is not what a caliper on a board shows"),
    ],
)
def test_what_no_instrument_shows_is_asked_for_again_at_its_row_and_nothing_is_released(
    run: Run, key: str, text: str, said: str
) -> None:
    assert run.releasable
    after = run.typing(key, text)
    assert said in after.unread[key]
    assert not after.releasable
    assert after.typing(key, run.typed[key]).releasable
