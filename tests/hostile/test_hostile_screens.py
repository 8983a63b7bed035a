"""The app over drafts, cards and names full of hostile text: what stands on every screen is text."""

from __future__ import annotations

import json
import tomllib
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, Clock, tokens
from hostile.hostile_samples import UNSEEN, VISIBLE, assert_shown, put, toml
from textual.content import Content
from textual.widgets import Static

from preflight.checklist.open_draft import FOLDER
from preflight.cli.init import make_shop
from preflight.outside_text import shown
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.app import PreflightApp
from preflight.tui.demo_shop import MACHINE, YESTERDAY, add_history
from preflight.tui.desk_door import DeskDoor

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from textual.pilot import Pilot

LONG = 24


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop with yesterday's start-up, whose people name things as they like."""
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    clock = Clock()
    add_history(folder, clock, tokens("demo"))
    for name, place in (
        (f"machines/{MACHINE}.toml", ("name",)),
        ("jobs/ash-stair-treads.toml", ("name",)),
        ("belts/H-198.toml", ("printed",)),
        ("extraction/hall-duct.toml", ("name",)),
    ):
        path = folder / name
        path.write_text(toml(put(tomllib.loads(path.read_text("utf-8")), place, VISIBLE)), encoding="utf-8")
    (folder / FOLDER).mkdir(exist_ok=True)
    return folder


@asynccontextmanager
async def opened(shop: Path, size: tuple[int, int]) -> AsyncIterator[Pilot[None]]:
    door = DeskDoor(shop, MACHINE, lambda: MORNING, tokens("app"), "bench", 1)
    app = PreflightApp(door.wiring())
    app.animation_level = "none"
    try:
        async with app.run_test(size=size) as pilot:
            for _ in range(1000):
                if "Reading profiles" not in screen_text(pilot):
                    break
                await pilot.pause(0.02)
            await settled(pilot)
            yield pilot
    finally:
        door.close()


async def settled(pilot: Pilot[None]) -> None:
    """Wait until the screen stands still; a dialogue that is open waits for its answer."""
    before = ""
    for _ in range(50):
        await pilot.pause(0.03)
        now = screen_text(pilot)
        if now == before:
            return
        before = now


def screen_text(pilot: Pilot[None]) -> str:
    return "\n".join(strip.text for strip in pilot.app.screen._compositor.render_strips(pilot.app.size))


async def every_screen(pilot: Pilot[None]) -> list[str]:
    """Each station, and over the first of them each dialogue and the records."""
    seen = [screen_text(pilot)]
    for _ in range(11):
        await pilot.press("pagedown")
        seen.append(screen_text(pilot))
    for key in ("f3", "f2", "f7", "f8", "f9", "ctrl+r"):
        await pilot.press(key)
        await settled(pilot)
        seen.append(screen_text(pilot))
        await pilot.press("escape")
        await settled(pilot)
    return seen


def draft(shop: Path, typed: dict[str, str]) -> Path:
    machine = shop_at(shop).load(Machine, MACHINE).value.id
    entered = dict.fromkeys(typed, MORNING.isoformat())
    content = {"record": "draft-token-000001", "since": 1, "typed": typed, "entered": entered, "earlier": {}}
    path = shop / FOLDER / f"{machine}.json"
    path.write_text(json.dumps({"layout": 1, "machine": machine, "changes": 3, "content": content}), encoding="utf-8")
    return path


async def test_a_draft_with_hostile_text_in_every_answer_shows_escapes(shop: Path) -> None:
    draft(shop, {**dict.fromkeys(YESTERDAY, UNSEEN), f"key{UNSEEN}": UNSEEN, f"action:glue:{UNSEEN}": UNSEEN})
    async with opened(shop, (80, 24)) as pilot:
        seen = await every_screen(pilot)
    for one in seen:
        assert_shown(one)
    assert any(shown(UNSEEN)[:LONG] in one for one in seen), "it is shown, as escapes"


async def test_markup_in_names_is_text_on_every_screen_and_does_nothing(shop: Path) -> None:
    async with opened(shop, (130, 40)) as pilot:
        seen = await every_screen(pilot)
        assert pilot.app.is_running
    for one in seen:
        assert_shown(one)
    assert VISIBLE[:LONG] in seen[0], "the machine's name in the top line"
    assert sum("[bold]x[/]" in one for one in seen) > 12


async def test_who_has_the_draft_open_is_shown_as_text(shop: Path) -> None:
    door = DeskDoor(shop, MACHINE, lambda: MORNING, tokens("other"), f"host{UNSEEN.replace('/', '')}", 2)
    door.wiring().load()
    try:
        async with opened(shop, (80, 24)) as pilot:
            said = screen_text(pilot)
    finally:
        door.close()
    assert_shown(said)
    assert "is open already" in " ".join(said.split())


async def test_no_widget_of_the_app_reads_markup_out_of_a_text(shop: Path) -> None:
    """A plain text given to a Static would be read as markup: all of ours are given content."""
    async with opened(shop, (80, 24)) as pilot:
        for key in ("f8", "f7", "f2"):
            await pilot.press(key)
            await settled(pilot)
            for widget in pilot.app.screen.query(Static):
                assert isinstance(widget.content, Content) or not str(widget.content), widget
            await pilot.press("escape")
            await settled(pilot)
