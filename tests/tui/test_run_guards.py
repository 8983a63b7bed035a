"""Nothing passes unseen: where Enter stays, what a stop that nobody may release says, keys that mean nothing."""

from __future__ import annotations

import threading
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from fake_stations import Bench, all_answered
from opened_app import screen_lines

from preflight.checks.finding import Verdict
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from opened_app import OpenApp
    from textual.pilot import Pilot

    from preflight.tui.modes.run import RunScreen
    from preflight.tui.run import Run
    from preflight.tui.wiring import Loaded, Signing, Wiring

SIZES = [(60, 20), (80, 24), (140, 40)]


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))


def footer(screen: RunScreen) -> str:
    return screen_lines(screen)[-1]


@pytest.mark.parametrize("size", SIZES)
async def test_where_enter_stays_the_footer_says_that_enter_again_goes_on(
    open_app: OpenApp, size: tuple[int, int]
) -> None:
    async with open_app(Bench({**all_answered(), "tension.1": "5.1"}), size) as (screen, pilot):
        screen.go("tension", "tension.1")
        assert "again goes on" not in footer(screen)
        await pilot.press("enter")
        await pilot.pause()
        assert footer(screen).startswith(" Enter again goes on")
        await pilot.press("up")
        await pilot.press("down")
        await pilot.pause()
        assert screen.entries.key == "tension.2"


@pytest.mark.parametrize("size", SIZES)
async def test_at_a_stop_that_takes_no_override_it_says_that_no_release_is_possible_and_what_clears_it(
    open_app: OpenApp, size: tuple[int, int]
) -> None:
    async with open_app(Bench({**all_answered(), "stock.wand": "found, still in"}), size) as (screen, pilot):
        screen.go("stock", "stock.wand")
        await pilot.press("enter")
        await pilot.pause()
        text = "\n".join(screen_lines(screen))
        assert "release   None while this stands" in text
        assert "Put it right, then answer again." in text
        assert footer(screen).startswith(" Enter again looks on, no release")
        await pilot.press("enter")
        assert screen.station_id == "glue"
        assert not screen.run.releasable


async def test_the_safety_caution_stays_under_a_sentence_in_the_panel(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        screen.go("running", "running.look")
        await pilot.press("enter")
        await pilot.pause()
        text = "\n".join(screen_lines(screen))
        assert "Nothing is chosen here yet" in text
        assert "nothing is released" in " ".join(text.split())
        assert "Keep the doors shut until everything stands still." in text


@pytest.mark.parametrize("size", SIZES)
async def test_a_caution_without_an_action_shows_its_key_at_every_width(
    open_app: OpenApp, size: tuple[int, int]
) -> None:
    async with open_app(Bench({**all_answered(), "glue.state": "smeared"}), size) as (screen, pilot):
        screen.go("glue", "glue.state")
        await pilot.pause()
        assert "F4 act" in footer(screen)
        screen.go("stock", "stock.thin")
        await pilot.pause()
        assert ("F4 act" in footer(screen)) is (size[0] >= 80)


async def test_a_row_that_is_picked_from_cards_shows_its_key_at_60_columns(open_app: OpenApp) -> None:
    class Carded(Bench):
        def wiring(self) -> Wiring:
            return replace(super().wiring(), subjects=lambda _: (Pick("glue.state", "job"),))

    async with open_app(Carded(all_answered()), (60, 20)) as (screen, pilot):
        for key, there in (("glue.state", True), ("glue.by", False)):
            screen.go("glue", key)
            await pilot.pause()
            assert ("F7 job, belts" in footer(screen)) is there


async def test_an_action_for_a_caution_of_another_row_is_confirmed_at_once(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "glue.state": "smeared"})) as (screen, pilot):
        screen.go("glue", "glue.by")
        await pilot.press("f4", "2")
        await pilot.pause()
        assert "Taken down for glue.state: put aside for the lead to look at." in "\n".join(screen_lines(screen))


@pytest.mark.parametrize(
    ("changed", "place", "said"),
    [
        ({"tension.2": "5.1", "feed.12": ""}, ("tension", "tension.2"), "stopped: tension; open: feed"),
        ({"feed.12": "", "glue.state": "smeared"}, ("glue", "glue.state"), "open: feed; no action chosen yet: glue"),
    ],
)
async def test_s_in_the_review_says_what_is_in_the_way_and_goes_to_the_first(
    open_app: OpenApp, changed: dict[str, str], place: tuple[str, str], said: str
) -> None:
    bench = Bench({**all_answered(), **changed})
    async with open_app(bench) as (screen, pilot):
        screen.go("test_board")
        await pilot.press("f8", "s")
        await pilot.pause()
        assert (screen.station_id, screen.entries.key) == place
        assert f"Not signed yet: {said}." in "\n".join(screen_lines(screen))
        assert bench.signed == []


async def test_coming_to_a_station_the_cursor_stands_on_the_row_that_stops_or_is_open(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "tension.2": "5.1", "feed.12": ""})) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("pagedown", "pageup")
        assert (screen.station_id, screen.entries.key) == ("tension", "tension.2")
        screen.go("feed", "feed.3")
        await pilot.press("pageup", "pagedown")
        assert screen.entries.key == "feed.12"
        screen.go("stock", "stock.thin")
        await pilot.press("pagedown", "pageup")
        assert screen.entries.key == "stock.thin"  # nothing is in the way there: the row left last


async def test_a_digit_on_a_row_that_is_only_shown_is_heard_and_it_says_where_the_fact_is_set(
    open_app: OpenApp,
) -> None:
    bench = Bench(all_answered())
    async with open_app(bench) as (screen, pilot):
        rung: list[bool] = []
        pilot.app.bell = lambda: rung.append(True)  # type: ignore[method-assign]
        screen.go("stock", "stock.job")
        before = dict(screen.run.typed)
        await pilot.press("7")
        await pilot.pause()
        assert rung == [True]
        assert dict(screen.run.typed) == before
        assert "nothing is typed here" in "\n".join(screen_lines(screen))


async def test_a_held_form_names_everything_that_is_missing_at_once(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "tension.1": "5.1"})) as (_, pilot):
        await pilot.press("f8", "h")
        await pilot.press("1")
        await pilot.press("f8")
        await pilot.pause()
        assert "Still empty: Who was told? What was tried?" in shown(pilot)
        focused = pilot.app.screen.focused
        assert focused is not None
        assert focused.id == "told"


async def test_what_was_typed_into_a_held_form_outlives_escape_and_is_gone_once_saved(open_app: OpenApp) -> None:
    bench = Bench({**all_answered(), "tension.1": "5.1"})
    async with open_app(bench) as (_, pilot):
        await pilot.press("f8", "h")
        await pilot.press("1")
        await pilot.press("enter", *"Ida", "escape")
        await pilot.press("f8", "h")
        await pilot.press("1")
        await pilot.press("enter", "enter", *"air", "enter", "f8")
        await pilot.pause(0.05)
        assert [(one.told, one.tried) for one in bench.held] == [("Ida", "air")]
        await pilot.press("1")
        await pilot.press("f8", "h")
        await pilot.press("1")
        await pilot.pause()
        assert "Who was told?" in shown(pilot)
        assert "Ida" not in shown(pilot)


async def test_a_key_too_many_while_a_record_is_saved_does_nothing(open_app: OpenApp) -> None:
    saving, go_on = threading.Event(), threading.Event()

    class Slow(Bench):
        def wiring(self) -> Wiring:
            def sign(_: Run, signing: Signing) -> str:
                saving.set()
                assert go_on.wait(10)
                self.signed.append(signing)
                return "Released: record 12."

            return replace(super().wiring(), sign=sign)

    bench = Slow(all_answered())
    async with open_app(bench) as (screen, pilot):
        await pilot.press("f8", "s")
        await pilot.press("1")
        await pilot.press("f8")
        await pilot.pause()
        assert saving.wait(10)
        before, form = dict(screen.run.typed), pilot.app.screen
        await pilot.press("enter", "f8", "f2", "pagedown", "space", "7", "escape", "ctrl+q")
        assert pilot.app.screen is form
        assert pilot.app.return_code is None
        assert dict(screen.run.typed) == before
        go_on.set()
        await pilot.pause(0.1)
        await pilot.pause()
        assert "Released: record 12." in shown(pilot)
        assert len(bench.signed) == 1


async def test_where_several_machines_could_be_meant_it_asks_first(open_app: OpenApp) -> None:
    opened: list[str] = []

    class Hall(Bench):
        def wiring(self) -> Wiring:
            machines = (Pick("a", "Machine A"), Pick("b", "Machine B"))
            return replace(super().wiring(), machines=lambda: machines, open_on=opened.append)

    async with open_app(Hall(all_answered()), loaded=False) as (screen, pilot):
        await pilot.pause(0.1)
        assert "Which machine is started up?" in shown(pilot)
        assert "Machine B" in shown(pilot)
        assert screen.loaded is None
        await pilot.press("2")
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        assert opened == ["b"]
        assert screen.run.overall is Verdict.OK


async def test_a_machine_that_cannot_be_opened_is_asked_for_again_with_the_reason(open_app: OpenApp) -> None:
    from preflight.errors import PreflightError

    tried: list[str] = []

    class Held(Bench):
        def wiring(self) -> Wiring:
            def load() -> Loaded:
                if tried == ["a"]:
                    raise PreflightError("The draft of a is open already.", "Go on there.")
                return self.loaded()

            machines = (Pick("a", "Machine A"), Pick("b", "Machine B"))
            return replace(super().wiring(), machines=lambda: machines, open_on=tried.append, load=load)

    async with open_app(Held(), loaded=False) as (screen, pilot):
        await pilot.pause(0.1)
        await pilot.press("1")
        await pilot.pause(0.1)
        assert "The draft of a is open already. Go on there. Which machine" in " ".join(shown(pilot).split())
        await pilot.press("2")
        await pilot.app.workers.wait_for_complete()
        assert tried == ["a", "b"]
        assert screen.loaded is not None


async def test_before_a_machine_is_chosen_one_can_leave(open_app: OpenApp) -> None:
    class Hall(Bench):
        def wiring(self) -> Wiring:
            return replace(super().wiring(), machines=lambda: (Pick("a", "Machine A"), Pick("b", "Machine B")))

    async with open_app(Hall(), loaded=False) as (_, pilot):
        await pilot.pause(0.1)
        await pilot.press("ctrl+q")
        await pilot.pause()
        assert pilot.app.return_code == 0
