"""Station 9 on the screen: what stands from the start, tallies by key, the picture at 80x24, and the job done."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any, cast

import pytest
from desk_samples import MORNING, Clock, filled, tokens
from opened_app import screen_lines
from textual.widgets import Input

from preflight.checklist.body_reader import read_body
from preflight.checklist.seal import read_seal
from preflight.checks.finding import Verdict
from preflight.cli.init import make_shop
from preflight.errors import PreflightError
from preflight.shop.folder import shop_at
from preflight.tui.app import PreflightApp
from preflight.tui.charset import ASCII, UNICODE
from preflight.tui.demo_shop import MACHINE, add_history
from preflight.tui.desk import Desk, Terminal
from preflight.tui.desk_door import DeskDoor
from preflight.tui.job_done import asked, finished
from preflight.tui.painting import width_of
from preflight.tui.stations.feed import AS_COMPUTED, MIDDLE, picture
from preflight.tui.widgets.entry_lines import table_lines
from preflight.tui.wiring import Finished

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.tui.modes.run import RunScreen
    from preflight.tui.run import Run

ROOM = (60, 16)
"""The body at 80x24."""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    add_history(folder, Clock(), tokens("demo"))
    return folder


@pytest.fixture
def desk(shop: Path) -> Iterator[Desk]:
    opened = Desk(shop_at(shop), shop, Clock(), tokens("desk"), Terminal("bench", 1), MACHINE)
    yield opened
    opened.close()


@pytest.fixture
def run(desk: Desk) -> Run:
    return filled(desk.load().run)


def lines(run: Run, key: str = "feed.way", charset: Any = UNICODE) -> list[str]:
    return ["".join(text for text, _ in line) for line in table_lines(run, "feed", key, *ROOM, charset, picture=True)]


def shown(run: Run, key: str) -> str:
    return next(row.shown for row in run.rows("feed") if row.key == key)


def worn_now(run: Run) -> str:
    """The wear by now, as drawn where there is room for all of the picture."""
    lines = ("".join(text for text, _ in line) for line in picture(run, 60, 6, UNICODE))
    return next(line for line in lines if line.startswith("worn now"))


def following(run: Run) -> str:
    """What goes in next, as its row says."""
    return next(f"{row.label} {row.shown}" for row in run.rows("feed") if row.label.startswith("next"))


def test_the_computed_places_stand_and_nothing_looks_unanswered(run: Run) -> None:
    text = lines(run)
    way = next(line for line in text if "fed at" in line)
    assert AS_COMPUTED in way
    assert not [line for line in text if "choose" in line]
    assert run.verdict("feed") is Verdict.OK


@pytest.mark.parametrize("charset", [UNICODE, ASCII])
def test_a_line_a_feed_their_turns_and_the_next_one_drawn_are_all_there_at_80x24(run: Run, charset: Any) -> None:
    text = lines(run, charset=charset)
    assert len(text) <= ROOM[1]
    assert sum(charset.inside * 3 in line for line in text) == 1
    for word in ("fed at", "next: feed A", "feed B", "in turn", "of best", "fed so far"):
        assert [line for line in text if word in line], word
    assert not [line for line in text if "more below" in line]
    assert all(len(row.label) <= 26 for row in run.rows("feed"))


def test_all_down_the_middle_is_a_caution_that_names_the_next_place(run: Run) -> None:
    worse = run.typing("feed.way", MIDDLE, MORNING)
    found = worse.findings("feed")[0]
    assert found.verdict is Verdict.CAUTION
    assert found.subject == "evenness"
    assert found.remedy.startswith("Next: left edge")


def test_each_trade_can_be_chosen_and_changes_the_plan(run: Run) -> None:
    row = next(row for row in run.rows("feed") if row.key == "feed.way")
    patterns = {label: shown(run.typing("feed.way", label, MORNING), "feed.pattern") for label in (
        choice.label for choice in row.choices)}  # fmt: skip
    assert len(set(patterns.values())) > 1
    for label in patterns:
        assert not run.typing("feed.way", label, MORNING).unread


def test_what_was_fed_moves_what_is_next_and_the_wear_by_now(run: Run) -> None:
    first = following(run)
    tallied = run.typing("feed.fed", "+3", MORNING)
    assert following(tallied) != first
    elsewhere = run.typing("feed.fed", "+3 5 120mmx2 +4", MORNING)
    assert not elsewhere.unread
    assert elsewhere.raw["feed"]["fed"] == [
        {"feeds": 3},
        {"part": 1, "count": 1, "place": 5},
        {"part": 1, "count": 2, "left_edge": "135.0 mm"},
        {"feeds": 4},
    ]
    assert worn_now(elsewhere) != worn_now(run)
    assert shown(run.typing("feed.fed", "+24", MORNING), "feed.next") == "all fed"


@pytest.mark.parametrize("typed", ["12", "2@7", "abc", "7x", "120.5", "+0"])
def test_a_tally_that_cannot_be_is_said_at_the_row(run: Run, typed: str) -> None:
    wrong = run.typing("feed.fed", typed, MORNING)
    assert "feed.fed" in wrong.unread
    assert wrong.verdict("feed") is Verdict.OPEN


def test_more_feeds_than_there_are_leave_the_row_within_reach(run: Run) -> None:
    wrong = run.typing("feed.fed", "+25", MORNING)
    assert wrong.verdict("feed") is Verdict.OPEN
    assert "25 feeds were counted, 24 are left." in [found.statement for found in wrong.findings("feed")]
    assert "feed.fed" in [row.key for row in wrong.rows("feed")]


def test_the_picture_keeps_to_its_room_and_shows_more_with_more(run: Run) -> None:
    station = run.station("feed")
    assert station.picture is not None
    for charset in (UNICODE, ASCII):
        for width, height in ((58, 3), (58, 8), (44, 5), (60, 20), (100, 30)):
            drawn = station.picture(run, width, height, charset)
            assert 3 <= len(drawn) <= height
            assert all(width_of(line) <= width for line in drawn)
    said = "\n".join("".join(text for text, _ in line) for line in station.picture(run, 60, 20, UNICODE))
    assert "share of best 100% (down the middle 33%)" in said
    assert "in turn:" in said


def test_the_run_record_takes_the_tally_and_the_map_is_there_next_time(desk: Desk, run: Run, shop: Path) -> None:
    tallied = run.typing("feed.fed", "+20", MORNING)
    questions = {one.key: one.first for one in asked(tallied)}
    assert questions["fed"] == "+20"
    assert questions["hours"] == ""  # a reading is never filled in
    answers = {**questions, "hours": "1.5", "off": "2 worn out", "thickness": "27.2 27.2 27.1", "current": "14 11"}
    answers |= {"began": "5.00", "glue": "1 0 25"}
    said = desk.done(tallied, Finished(answers, "D. Marrow"))
    assert "record 2" in said
    saved = read_body(read_seal(max(shop.glob("checklists/*/*/*.toml")).read_bytes()).body)
    assert saved["run"]["off"] == [{"head": "2", "belt": "H-211", "why": "worn out"}]
    assert saved["run"]["readings"] == [
        {"thickness": ["27.2 mm", "27.2 mm", "27.1 mm"]},
        {"current": {"1": "14 A", "2": "11 A"}},
    ]
    assert saved["run"]["glue"] == {"lots": 1, "belts": 0, "minutes": 25}
    assert datetime.fromisoformat(saved["run"]["began"]).strftime("%H:%M") == "05:00"
    assert saved["refers"]["sequence"] == 1
    loaded = desk.load().run
    assert "feed.fed" not in loaded.typed  # it is not counted twice
    again = filled(loaded)
    assert again.history is not None
    assert "H-204" in again.history.belt_wear
    assert "H-211" not in again.history.belt_wear
    assert [found for found in again.findings("feed") if found.subject == "wear"]
    assert "drum 1" in "\n".join(
        "".join(text for text, _ in line)
        for line in again.station("feed").picture(again, 60, 20, UNICODE)  # type: ignore[misc]
    )


@pytest.mark.parametrize(
    ("answers", "word"),
    [
        ({}, "under drive"),
        ({"hours": "soon"}, "hours"),
        ({"hours": "1", "fed": "+99"}, "99 feeds were counted"),
        ({"hours": "1", "thickness": "27.2 27.2"}, "three thicknesses"),
        ({"hours": "1", "current": "1 2 3"}, "2 heads"),
        ({"hours": "1", "began": "25:10"}, "no time of day"),
        ({"hours": "1", "glue": "1 25"}, "three whole numbers"),
        ({"hours": "1", "off": "2"}, "why its belt came off"),
        ({"hours": "1", "off": "9 worn out"}, "no head '9'"),
    ],
)
def test_answers_that_will_not_do_are_refused_before_anybody_signs(
    run: Run, answers: dict[str, str], word: str
) -> None:
    with pytest.raises(PreflightError, match=word):
        finished(run, answers)


async def test_the_job_done_dialogue_fits_80x24_and_saves(shop: Path) -> None:
    door = DeskDoor(shop, MACHINE, Clock(), tokens("door"), "bench", 7)
    app = PreflightApp(door.wiring(), UNICODE)
    app.animation_level = "none"
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await app.workers.wait_for_complete()
        screen = cast("RunScreen", app.screen)
        screen.run = filled(screen.run)
        await pilot.press("ctrl+o")
        await pilot.pause(0.3)
        await pilot.press("1")  # the first of the names offered
        await pilot.pause(0.3)
        text = screen_lines(cast("RunScreen", app.screen))
        assert [line for line in text if "Hours under drive" in line]
        assert [line for line in text if "save run record" in line]
        app.screen.query_one("#hours", Input).value = "2"
        await pilot.press("f8")
        for _ in range(40):
            await pilot.pause(0.1)
            if len(sorted(shop.glob("checklists/*/*/*.toml"))) == 2:
                break
    door.close()
    saved = sorted(shop.glob("checklists/*/*/*.toml"))
    assert len(saved) == 2
    assert read_body(read_seal(saved[-1].read_bytes()).body)["run"]["hours"] == "2 h"
