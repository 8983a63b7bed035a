"""A draft that cannot be kept is marked until it can; files out of reach are said; a run can always be left."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pytest
from fake_stations import Bench, all_answered
from opened_app import screen_lines

from preflight.errors import PreflightError
from preflight.tui.modes import run as run_mode
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Mapping

    from opened_app import OpenApp
    from textual.pilot import Pilot

    from preflight.tui.run import Run
    from preflight.tui.wiring import Holding, Loaded, Wiring

MARK = "draft not kept"
FULL = "The draft in drafts cannot be kept: no space left. Make room."


@dataclass
class FullDisk(Bench):
    """A bench whose disk is full until somebody makes room."""

    full: bool = True
    kept: list[dict[str, str]] = field(default_factory=list)

    def wiring(self) -> Wiring:
        def save(typed: Mapping[str, str], *_: object) -> None:
            if self.full:
                raise PreflightError(FULL)
            self.kept.append(dict(typed))

        return replace(super().wiring(), save=save)


def shown(pilot: Pilot[None]) -> str:
    return "\n".join(screen_lines(pilot.app.screen))  # type: ignore[arg-type]


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
async def test_the_mark_stays_on_the_top_line_until_the_next_change_is_kept(
    open_app: OpenApp, size: tuple[int, int]
) -> None:
    bench = FullDisk()
    async with open_app(bench, size) as (screen, pilot):
        assert MARK not in screen_lines(screen)[0]
        await pilot.press("2", "2")
        assert MARK in screen_lines(screen)[0]
        assert "no space left" in shown(pilot)
        await pilot.press("enter", "pagedown")
        assert "no space left" not in shown(pilot)
        assert MARK in screen_lines(screen)[0]
        assert "07:12" in screen_lines(screen)[0]
        bench.full = False
        await pilot.press("space")
        assert MARK not in screen_lines(screen)[0]
        assert bench.kept[-1]["stock.thick"] == "22"


async def test_the_clock_tries_again_without_any_key_and_says_the_same_trouble_once(
    open_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run_mode, "CLOCK_SECONDS", 0.05)
    bench = FullDisk()
    async with open_app(bench) as (screen, pilot):
        await pilot.press("2", "2", "down")
        await pilot.pause(0.3)
        assert MARK in screen_lines(screen)[0]
        assert "no space left" not in shown(pilot)
        bench.full = False
        await pilot.pause(0.3)
        assert MARK not in screen_lines(screen)[0]
        assert "The draft is kept again." in shown(pilot)
        assert bench.kept[-1]["stock.thick"] == "22"


async def test_who_leaves_is_told_that_what_was_typed_since_is_lost(open_app: OpenApp) -> None:
    async with open_app(FullDisk()) as (_, pilot):
        await pilot.press("2", "2", "ctrl+q")
        await pilot.pause(0.1)
        text = shown(pilot)
        assert "no space left. Make room. Leave" in text
        assert "this start-up check?" in text
        assert "What was typed since then is lost." in text
        assert "The draft is kept for the next time." not in text
        await pilot.press("1")
        await pilot.pause()
        assert pilot.app.return_code == 0


async def test_a_folder_out_of_reach_while_a_record_is_saved_is_said_in_the_form(open_app: OpenApp) -> None:
    class Gone(Bench):
        def wiring(self) -> Wiring:
            def hold(_: Run, __: Holding) -> str:
                raise OSError(30, "Read-only file system", "shop/checklists")

            return replace(super().wiring(), hold=hold)

    bench = Gone({**all_answered(), "tension.1": "5.1"})
    async with open_app(bench) as (screen, pilot):
        await pilot.press("f8", "h")
        await pilot.press("1")
        for word in ("stuck", "lead", "air"):
            await pilot.press(*word, "enter")
        await pilot.press("f8")
        await pilot.pause(0.1)
        assert "shop/checklists: Read-only file system." in " ".join(shown(pilot).replace("│", " ").split())
        assert not screen.busy
        await pilot.press("escape")
        await left(pilot)


async def left(pilot: Pilot[None]) -> None:
    """Leave as a person does who wants to go: Ctrl+Q, and "leave" where it is asked."""
    for _ in range(5):
        if pilot.app.return_code is not None:
            break
        await pilot.press("ctrl+q")
        await pilot.pause(0.05)
        if pilot.app.return_code is None and "Leave this start-up check?" in shown(pilot):
            await pilot.press("1")
            await pilot.pause(0.05)
    assert pilot.app.return_code == 0


WAYS: dict[str, tuple[dict[str, str], tuple[str, ...]]] = {
    "fresh": ({}, ()),
    "typed": ({}, ("2", "2")),
    "in a dialogue": ({}, ("f8",)),
    "a dialogue left": ({}, ("f2", "escape", "f7", "1", "escape", "f8", "h", "escape")),
    "a form left": ({}, ("f8", "h", "1", "escape")),
    "in a form": ({}, ("f8", "h", "1", "x")),
    "after an event": (all_answered(), ("f2", "2")),
    "reading": ({}, ("f3",)),
    "palette": ({}, ("ctrl+p",)),
    "leaving left": ({}, ("2", "ctrl+q", "2")),
}


@pytest.mark.parametrize("way", WAYS)
async def test_a_run_can_be_left_from_everywhere(open_app: OpenApp, way: str) -> None:
    typed, keys = WAYS[way]
    async with open_app(Bench(typed)) as (_, pilot):
        await pilot.press(*keys)
        await pilot.pause()
        await left(pilot)


async def test_a_held_run_can_be_left(open_app: OpenApp) -> None:
    bench = Bench({**all_answered(), "tension.1": "5.1"})
    async with open_app(bench) as (_, pilot):
        await pilot.press("f8", "h")
        await pilot.press("1")
        for word in ("stuck", "lead", "air"):
            await pilot.press(*word, "enter")
        await pilot.press("f8")
        await pilot.pause(0.1)
        assert len(bench.held) == 1
        await left(pilot)


async def test_a_run_that_could_not_be_opened_can_be_left(open_app: OpenApp) -> None:
    def load() -> Loaded:
        raise PreflightError("machine.toml: heads is missing.")

    async with open_app(Bench(load=load)) as (_, pilot):
        await left(pilot)


async def test_the_question_which_machine_can_be_left(open_app: OpenApp) -> None:
    class Hall(Bench):
        def wiring(self) -> Wiring:
            return replace(super().wiring(), machines=lambda: (Pick("a", "Machine A"), Pick("b", "Machine B")))

    async with open_app(Hall(), loaded=False) as (_, pilot):
        await pilot.pause(0.1)
        await left(pilot)
