"""What stands between a run and its signature, said alike everywhere; what is read once more; no chain of Enters."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, filled
from fake_stations import Bench, all_answered
from opened_app import OpenApp, burst, screen_lines

from preflight.tui.readiness import reminders
from preflight.tui.widgets.top_line import top_line

if TYPE_CHECKING:
    from pathlib import Path

    from desk_samples import OpenDesk
    from textual.pilot import Pilot

    from preflight.tui.run import Run


@pytest.fixture
def run(shop: Path, desks: OpenDesk) -> Run:
    """This morning's sheet of the demo, complete."""
    return filled(desks(shop).load().run)


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))


def looks(run: Run) -> list[str]:
    return [one.statement for one in reminders(run) if one.grave]


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({}, "ready to sign"),
        ({"tension.2": "5.1", "feed.3": ""}, "not ready: 1 stopped, 1 open"),
        ({"glue.state": "smeared"}, "not ready: 1 caution without action"),
    ],
)
async def test_list_header_and_review_say_the_same_of_what_is_not_ready(
    open_app: OpenApp, answers: dict[str, str], said: str
) -> None:
    async with open_app(Bench({**all_answered(), **answers})) as (screen, pilot):
        lines = screen_lines(screen)
        assert said in lines[0]
        assert said in " ".join(" ".join(line[:20] for line in lines[12:17]).split())
        await pilot.press("f8")
        text = " ".join(shown(pilot).split())
        assert f"{said[0].upper()}{said[1:]}. 11 stations" in text


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
async def test_what_is_not_ready_is_in_words_on_every_size(open_app: OpenApp, size: tuple[int, int]) -> None:
    async with open_app(Bench({**all_answered(), "feed.3": ""}), size) as (screen, _):
        assert "not ready: 1 open" in "\n".join(screen_lines(screen)[:2])


def test_long_names_leave_room_for_what_is_not_ready() -> None:
    from preflight.checks.finding import Verdict
    from preflight.tui.charset import UNICODE
    from preflight.tui.painting import width_of

    names = ("Fennimore mid-two", "J-1182 oak doors", "Ada Quill")
    state = "not ready: 2 stopped, 10 open"
    line = top_line(names, "07:12", Verdict.STOP, 80, UNICODE, state)
    text = "".join(part for part, _ in line)
    assert width_of(line) == 80
    assert state in text
    assert "Fennimore mid-two" in text
    longer = "".join(
        part for part, _ in top_line(names, "07:12", Verdict.STOP, 80, UNICODE, f"{state}, 3 cautions without action")
    )
    assert "3 cautions without action" in longer
    assert longer.startswith(" Fen")
    assert "Ada" not in longer


async def test_a_released_sheet_says_nothing_of_being_ready(open_app: OpenApp) -> None:
    from dataclasses import replace

    from preflight.tui.signed import SignedOff

    async with open_app(Bench(all_answered())) as (screen, pilot):
        screen.run = replace(screen.run, signed=SignedOff(12, MORNING, "Ada Quill", "ok", keyed=True))
        screen.show_row(screen.entries.key)
        await pilot.pause()
        text = "\n".join(screen_lines(screen))
        assert "ready" not in text
        assert "released, record 12" in screen_lines(screen)[0]
        assert "released, record" in "\n".join(line[:20] for line in screen_lines(screen))


def test_a_value_that_replaced_a_stop_is_named_with_the_stop_and_both_times(run: Run) -> None:
    later = MORNING + timedelta(minutes=4)
    changed = run.typing("tension.1", "5.9", MORNING).accepting("tension.1")
    changed = changed.typing("tension.1", "4.2", later).accepting("tension.1")
    (said,) = looks(changed)
    at, again = (f"{moment.astimezone():%H:%M}" for moment in (MORNING, later))
    assert said == f"head 1 gauge, bar: 5.9 at {at} was a stop; 4.2, {again} stands in its place."
    assert looks(run) == []
    # one that was no stop is no reminder
    corrected = run.typing("tension.1", "4.3", MORNING).accepting("tension.1")
    assert looks(corrected) == []


def test_a_stop_called_mistyped_is_named_with_who_said_so(run: Run) -> None:
    changed = run.typing("running.stop.1", "65", MORNING).accepting("running.stop.1")
    changed = changed.typing("running.stop.1", "6.5", MORNING).accepting("running.stop.1")
    changed = changed.typing("repair.head 1 stop.how", "mistyped").typing("repair.head 1 stop.who", "D. Marrow")
    said = looks(changed)
    assert any("65 s was a typing slip, by D. Marrow; 6.5 s read again" in one for one in said)
    assert any("was a stop; 6.5" in one for one in said)


@pytest.mark.parametrize(
    ("key", "answer", "said"),
    [
        ("glue.by", "X", "scraped by: X is hardly a name."),
        ("stock.resolution", "1", "is an odd scale for thickness."),
    ],
)
def test_an_answer_that_a_person_would_doubt_is_named(run: Run, key: str, answer: str, said: str) -> None:
    if key == "glue.by":
        run = run.typing("glue.state", "scraped", MORNING)
    (one,) = looks(run.typing(key, answer, MORNING))
    assert one.endswith(said)


def test_what_stands_as_before_is_named_by_station(shop: Path, desks: OpenDesk) -> None:
    loaded = desks(shop).load().run
    carried = [one for one in reminders(loaded) if not one.grave]
    assert any(one.statement.startswith("as before: ") and "H-204" in one.statement for one in carried)
    assert all(one.station_id for one in carried)


async def test_the_review_lists_them_before_anything_can_be_signed(open_app: OpenApp) -> None:
    bench = Bench({**all_answered(), "tension.1": ""})
    async with open_app(bench) as (screen, pilot):
        screen.go("tension", "tension.1")
        await pilot.press(*"5.9", "enter", "enter")
        screen.go("tension", "tension.1")
        screen.run = screen.run.typing("tension.1", "4.4").accepting("tension.1").typing("glue.by", "X")
        await pilot.press("f8")
        text = " ".join(shown(pilot).split())
        assert "5.9 at" in text
        assert "was a stop; 4.4" in text
        assert "scraped by: X is hardly a name." in text
        await pilot.press("enter")  # to the first of them, not to the signature
        await pilot.pause()
        assert pilot.app.screen is screen
        assert screen.station_id in ("tension", "glue")
        assert bench.signed == []


async def test_two_hundred_enters_from_a_complete_sheet_release_nothing(open_app: OpenApp) -> None:
    bench = Bench(all_answered())
    async with open_app(bench) as (_, pilot):
        for _ in range(20):
            await burst(pilot, *["enter"] * 10)
        assert bench.signed == []
        assert bench.held == []


async def test_a_name_has_to_be_chosen_this_time(open_app: OpenApp) -> None:
    bench = Bench(all_answered())
    async with open_app(bench) as (_, pilot):
        await pilot.press("f8", "s")
        await pilot.pause()
        assert "Who signs?" in shown(pilot)
        await pilot.press("enter", "enter")
        assert "Who signs?" in shown(pilot)  # nobody is signed for by Enter alone
        await pilot.press("2", "f8")
        await pilot.pause()
        assert [one.name for one in bench.signed] == ["Bram Ostler"]
