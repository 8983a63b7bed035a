"""The run screen with a keyboard, at the sizes it is designed for."""

from __future__ import annotations

import subprocess
import sys
import threading
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from fake_stations import NOON, STATIONS, Bench, all_answered
from opened_app import OpenApp, burst, screen_lines
from textual.widget import Widget
from textual.widgets import Input

from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.tui.charset import ASCII
from preflight.tui.commands import COMMANDS
from preflight.tui.widgets.footer import FooterLine

if TYPE_CHECKING:
    from preflight.tui.wiring import Loaded


@pytest.mark.parametrize("size", [(80, 24), (140, 40)])
async def test_nothing_is_cut_on_any_station(open_app: OpenApp, size: tuple[int, int]) -> None:
    bench = Bench({**all_answered(), "tension.2": "5.1"})
    async with open_app(bench, size) as (screen, pilot):
        for station in STATIONS:
            screen.go(station.id)
            await pilot.pause()
            lines = screen_lines(screen)
            text = "\n".join(lines)
            assert len(lines) == size[1]
            assert "…" not in text
            assert station.purpose in text
            rows = station.rows(screen.run)
            assert all(row.label in text for row in rows[:8])
            words = station.caution[1].split() if station.caution else []
            assert all(word in text for word in words)
        screen.go("tension", "tension.2")
        await pilot.pause()
        text = " ".join(" ".join(screen_lines(screen)).split())
        assert "too much tension disturbs tracking first, then tears paper." in text.replace(" do ", " ")
        assert "4.1 to 4.8 bar · heads.tension.cloth_x · machine book p. 41" in text


@pytest.mark.parametrize("size", [(60, 24), (80, 24), (140, 40)])
async def test_every_widget_lies_inside_the_screen_and_the_footer_does_not_scroll(
    open_app: OpenApp, size: tuple[int, int]
) -> None:
    async with open_app(Bench(), size) as (screen, _):
        shown = [widget for widget in screen.walk_children(Widget) if widget.display]
        assert all(screen.region.contains_region(widget.region) for widget in shown)
        assert screen.query_one(FooterLine).max_scroll_x == 0


async def test_at_80_columns_the_parts_have_their_design_sizes(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, _):
        sizes = {widget.id: widget.size for widget in (screen.top, screen.stations, screen.entries, screen.why)}
        assert sizes == {"top": (80, 1), "stations": (20, 16), "entries": (60, 16), "why": (80, 6)}


async def test_there_is_one_input_and_changing_station_mounts_nothing(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        before = list(screen.walk_children())
        for _ in STATIONS:
            await pilot.press("pagedown")
        assert screen.station_id == "test_board"
        assert list(screen.walk_children()) == before
        assert len(screen.query(Input)) == 1


async def test_text_verdict_list_and_panel_change_with_the_key_not_a_message_later(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, _):
        screen.go("tension", "tension.1")
        screen.entries.input.value = "5.1"
        assert screen.run.verdict("tension") is Verdict.STOP
        assert any("stop" in span for line in screen.stations.painted() for span, _ in line)
        assert any("above 4.8 bar" in span for line in screen.why.painted() for span, _ in line)


async def test_a_reading_in_another_unit_is_echoed_in_the_unit_of_the_field(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        screen.go("stock", "stock.thick")
        screen.entries.input.value = "75 1/8 in"
        await pilot.pause()
        # 75.125 in x 25.4 mm (inch by definition) = 1908.175 mm, shown with two decimals
        assert any("75 1/8 in" in line and "= 1908.1" in line for line in screen_lines(screen))


async def test_the_band_is_shown_only_after_the_reading(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.pause()
        assert "4.8 bar" not in "\n".join(screen_lines(screen))
        assert "was 4.4" not in "\n".join(screen_lines(screen))
        screen.entries.input.value = "4.3"
        await pilot.pause()
        assert "4.8 bar" in "\n".join(screen_lines(screen))
        assert "was 4.4" in "\n".join(screen_lines(screen))


async def test_a_whole_start_up_is_signed_with_the_keyboard_alone(open_app: OpenApp) -> None:
    typed = {**all_answered(), "glue.state": "", "tension.1": "", "tension.2": ""}
    bench = Bench(typed)
    async with open_app(bench) as (screen, pilot):
        assert (screen.station_id, screen.entries.key) == ("glue", "glue.state")
        await pilot.press("s", "enter", "enter", "pagedown", "pagedown", "pagedown")
        assert screen.entries.key == "tension.1"
        await pilot.press("4", ".", "4", "enter", "4", "comma", "5", "enter")
        assert screen.run.releasable
        await pilot.press("f8", "enter")
        await pilot.press("2")
        await pilot.press("enter", "f8")
        await pilot.pause()
        assert [signing.name for signing in bench.signed] == ["Bram Ostler"]
        assert bench.saved[-1][0]["tension.2"] == "4,5"


async def test_fast_typing_keeps_its_order_over_rows(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        screen.go("stock", "stock.thick")
        await burst(pilot, *"22", "enter", *"19", "backspace", "8", "enter", *"40", "enter", "space")
        answers = [screen.run.typed.get(f"stock.{name}") for name in ("thick", "thin", "short", "wand")]
        assert answers == ["22", "18", "40", "nothing found"]


async def test_enter_does_not_pass_over_text_that_cannot_be_read_but_arrows_do(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("stock", "stock.thick")
        screen.entries.input.value = "22 quux"
        await pilot.press("enter")
        assert screen.entries.key == "stock.thick"
        assert screen.run.verdict("stock") is Verdict.OPEN
        assert "'quux' is not a unit known here" in "\n".join(screen_lines(screen))
        await pilot.press("down")
        assert screen.entries.key == "stock.thin"


async def test_a_choice_goes_round_with_space_jumps_by_letter_is_cleared_and_ignores_digits(
    open_app: OpenApp,
) -> None:
    async with open_app(Bench()) as (screen, pilot):
        screen.go("glue", "glue.state")
        chosen = []
        for key in ("space", "right", "left", "backspace", "b", "4", "space", "backspace", "x"):
            await pilot.press(key)
            chosen.append(screen.run.typed["glue.state"])
        assert chosen == ["none", "scraped", "none", "", "beads standing", "beads standing", "smeared", "", ""]


@pytest.mark.parametrize("key", ["s", "m", "n", "x", "4"])
async def test_a_stray_letter_never_changes_an_answer_that_stands(open_app: OpenApp, key: str) -> None:
    async with open_app(Bench({**all_answered(), "glue.state": "scraped"})) as (screen, pilot):
        screen.go("glue", "glue.state")
        await pilot.press(key)
        assert screen.run.typed["glue.state"] == "scraped"
        assert "'scraped' stands" in "\n".join(screen_lines(screen)) or key == "4"
        await pilot.press("space")
        assert screen.run.typed["glue.state"] == "beads standing"


@pytest.mark.parametrize("keys", [("2", "2", "enter", "1", "8"), ("f8", *"482915", "enter"), ("f7", "1", "2", "space")])
async def test_what_is_typed_while_profiles_load_is_dropped_whole_and_said(
    open_app: OpenApp, keys: tuple[str, ...]
) -> None:
    ready = threading.Event()
    bench = Bench()

    def load() -> Loaded:
        assert ready.wait(10)
        return bench.loaded()

    bench.load = load
    async with open_app(bench, loaded=False) as (screen, pilot):
        assert "stock" in "\n".join(screen_lines(screen))
        await pilot.press(*keys)
        ready.set()
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        assert dict(screen.run.typed) == {}
        assert bench.saved == []
        assert pilot.app.screen is screen
        assert "What was typed before this was shown is not taken." in "\n".join(screen_lines(screen))
        await pilot.press("2", "2", "enter", "1", "8")
        assert dict(screen.run.typed) == {"stock.thick": "22", "stock.thin": "18"}


async def test_one_can_leave_while_profiles_load(open_app: OpenApp) -> None:
    ready = threading.Event()
    bench = Bench()

    def load() -> Loaded:
        assert ready.wait(10)
        return bench.loaded()

    bench.load = load
    async with open_app(bench, loaded=False) as (_, pilot):
        await pilot.press("2", "ctrl+q")
        ready.set()
        await pilot.pause()
        assert pilot.app.return_code == 0


async def test_profiles_that_cannot_be_read_are_said_and_nothing_else_happens(open_app: OpenApp) -> None:
    def load() -> Loaded:
        raise PreflightError("machine.toml: heads is missing.", "Add at least one head.")

    async with open_app(Bench(load=load)) as (screen, pilot):
        assert "machine.toml: heads is missing. Add at least one head." in "\n".join(screen_lines(screen))
        await pilot.press("f8", "enter", "pagedown")
        assert pilot.app.screen is screen


async def test_a_reading_taken_again_keeps_the_one_before_with_its_time(open_app: OpenApp) -> None:
    bench = Bench({**all_answered(), "tension.1": ""})
    async with open_app(bench) as (screen, pilot):
        screen.go("tension", "tension.1")
        for reading in ("5.1", "4.4"):
            screen.entries.input.value = reading
            await pilot.press("down", "up")
        typed, entered, earlier = bench.saved[-1]
        assert typed["tension.1"] == "4.4"
        assert entered["tension.1"] == NOON
        assert earlier["tension.1"] == ((NOON, "5.1"),)


async def test_a_caution_takes_one_chosen_action_and_then_the_run_can_be_signed(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "glue.state": "smeared"})) as (screen, pilot):
        undone = [finding.subject for finding in screen.run.undone]
        assert undone == ["glue.state"]
        await pilot.press("f4", "2")
        await pilot.pause()
        assert not screen.run.undone
        assert screen.run.typed["action:glue:glue.state"] == "put aside for the lead to look at"
        assert "put aside for the lead" in "\n".join(screen_lines(screen))


async def test_a_stop_is_held_with_what_who_and_what_was_tried(open_app: OpenApp) -> None:
    bench = Bench({**all_answered(), "tension.1": "5.1"})
    async with open_app(bench) as (_, pilot):
        await pilot.press("f8", "h")
        await pilot.press("1")
        await pilot.press("enter", *"Ida", "enter", *"air", "enter", "f8")
        await pilot.pause()
        (held,) = bench.held
        assert (held.what, held.told, held.tried, held.name) == (
            "head 1 reads 5.1 bar, above 4.8 bar.",
            "Ida",
            "air",
            "Ada Quill",
        )


async def test_leaving_with_a_draft_asks_once(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        await pilot.press("ctrl+q")
        asked, left = pilot.app.screen is not screen, pilot.app.return_code
        await pilot.press("1")
        await pilot.pause()
        assert (asked, left, pilot.app.return_code) == (True, None, 0)


async def test_leaving_without_a_draft_asks_nothing(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (_, pilot):
        await pilot.press("ctrl+q")
        assert pilot.app.return_code == 0


async def test_the_review_jumps_to_what_it_lists(open_app: OpenApp) -> None:
    async with open_app(Bench({**all_answered(), "feed.12": ""})) as (screen, pilot):
        screen.go("stock")
        await pilot.press("f8", "down", "enter")
        await pilot.pause()
        assert (screen.station_id, screen.entries.key) == ("feed", "feed.12")


async def test_an_event_and_a_picked_card_give_another_run(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        await pilot.press("f2", "2")
        await pilot.pause(0.05)
        assert "What it voids is asked again." in " ".join(
            strip.text for strip in pilot.app.screen._compositor.render_strips(pilot.app.screen.size)
        )
        await pilot.press("1")
        await pilot.pause(0.05)
        assert "Asked again after: belt." in "\n".join(screen_lines(screen))
        await pilot.press("f7", "1")
        await pilot.press("2")
        await pilot.pause(0.05)
        assert "job-b" in screen_lines(screen)[0]


async def test_everything_can_be_done_with_the_mouse(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        await pilot.click("#stations", offset=(4, 1))
        assert screen.station_id == "glue"
        await pilot.click("#entry")
        assert screen.run.typed["glue.state"] == "none"
        await pilot.click("#entries", offset=(8, 4))
        assert screen.entries.key == "glue.by"
        await pilot.click("#why", offset=(5, 1))
        assert pilot.app.screen is not screen


async def test_every_command_is_in_the_palette(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        titles = [command.title for command in pilot.app.get_system_commands(screen)]
        assert all(any(title.startswith(f"{command.label}  (") for title in titles) for command in COMMANDS)


async def test_a_narrow_terminal_has_one_line_of_the_list_and_says_how_many_entries_are_hidden(
    open_app: OpenApp,
) -> None:
    async with open_app(Bench(), (60, 24)) as (screen, pilot):
        screen.go("feed")
        await pilot.pause()
        lines = screen_lines(screen)
        assert lines[1].split() == ["9/11", "feed", "○", "open"]
        assert any("7 more below" in line for line in lines)
        await pilot.press("f3")
        assert pilot.app.screen is not screen


async def test_without_colour_mark_and_word_still_tell_the_verdict(
    open_app: OpenApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with open_app(Bench({**all_answered(), "tension.1": "5.1"})) as (screen, _):
        text = screen_lines(screen)
        assert any("✕ tension" in line and "stop" in line for line in text)
        styles = {
            segment.style
            for widget in (screen.top, screen.stations, screen.entries, screen.why)
            for strip in widget.render_lines(widget.region.reset_offset)
            for segment in strip
            if segment.style is not None
        }
        named = {colour.name for style in styles for colour in (style.color, style.bgcolor) if colour is not None}
        assert named == {"default"}
        assert any(style.reverse for style in styles)


async def test_the_ascii_set_leaves_no_other_character_on_the_screen(open_app: OpenApp) -> None:
    bench = Bench({**all_answered(), "tension.1": "5.1"})
    async with open_app(bench, charset=ASCII) as (screen, _):
        text = "".join(screen_lines(screen))
        assert text.isascii()
        assert "X stop" in text


def test_the_app_is_imported_without_the_libraries_that_the_first_frame_does_not_need() -> None:
    code = (
        "import sys, preflight.tui.app; print([n for n in ('pydantic', 'preflight.checks.route') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


async def test_another_theme_is_a_command_away(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        commands = {command.title: command.callback for command in pilot.app.get_system_commands(screen)}
        commands["light colours"]()
        assert pilot.app.theme == "preflight-light"


async def test_enter_stays_at_an_empty_answer_and_says_how_to_go_on(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):
        screen.go("stock", "stock.thick")
        await pilot.press("enter")
        assert screen.entries.key == "stock.thick"
        assert "The arrows" in "\n".join(screen_lines(screen))
        await pilot.press("down")
        assert screen.entries.key == "stock.thin"


async def test_enter_stays_once_at_a_stop_so_that_the_reason_is_read(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("tension", "tension.1")
        screen.entries.input.value = "9.1"
        await pilot.press("enter")
        assert screen.entries.key == "tension.1"
        await pilot.press("enter")
        assert screen.entries.key != "tension.1"


async def test_a_correction_after_a_stop_replaces_what_was_typed(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press("9", "enter", "backspace", "4", ".", "4")
        assert screen.run.typed["tension.1"] == "4.4"


async def test_the_first_key_in_an_answered_field_replaces_what_stands(open_app: OpenApp) -> None:
    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.go("stock", "stock.thick")
        await pilot.press("9")
        assert screen.run.typed["stock.thick"] == "9"


async def test_a_draft_that_cannot_be_written_is_said_and_nothing_typed_is_lost(open_app: OpenApp) -> None:
    async with open_app(Bench()) as (screen, pilot):

        def full(*_: object) -> None:
            raise PreflightError("The draft cannot be written: no space left.")

        screen.wiring = replace(screen.wiring, save=full)
        screen.go("stock", "stock.thick")
        await pilot.press("2", "2")
        assert screen.run.typed["stock.thick"] == "22"
        assert "no space left" in "\n".join(screen_lines(screen))
