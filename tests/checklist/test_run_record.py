"""The record after a job: its table, what it wears, what starts a map anew, and what is refused."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta, timezone
from typing import TYPE_CHECKING, Any

import pytest
from builders import sheet, view
from checklist.record_samples import whole

from preflight.checklist.body_reader import BodyError, read_body
from preflight.checklist.heading import Signature
from preflight.checklist.past import Past
from preflight.checklist.record_kinds import check_kind
from preflight.checklist.run_record import (
    KIND,
    MEANING,
    GlueLost,
    RunDone,
    RunRecordError,
    RunSheet,
    run_body,
    run_table,
)
from preflight.checklist.wear_maps import thrown_away, wear_maps
from preflight.errors import PreflightError
from preflight.quantities import Kind, parse
from preflight.shop.bundled import bundled
from preflight.shop.files import load

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from preflight.history import History, WearStrip

AT = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


def done(**more: Any) -> RunDone:
    return RunDone.model_validate({"hours": "2.5 h", **more})


def table(sheet_changes: Mapping[str, Any] | None = None, past: History | None = None, **more: Any) -> dict[str, Any]:
    return run_table(sheet(sheet_changes), done(**more), view(), past)


def area(strips: tuple[WearStrip, ...]) -> float:
    return sum((s.right - s.left) * s.metres for s in strips)


def history_of(*newest_last: dict[str, Any]) -> History:
    runs = [
        {"record": {"kind": KIND, "utc": (AT + timedelta(days=day)).isoformat()}, KIND: one}
        for day, one in enumerate(newest_last)
    ]
    return Past(runs=tuple(reversed(runs))).history()


def test_all_fed_as_planned_is_what_an_empty_tally_means() -> None:
    made = table()
    assert sum(board["count"] for board in made["boards"]) == 120
    assert {board["width"] for board in made["boards"]} == {"180.0 mm"}
    assert made["times"] == 2
    assert parse(made["area"], Kind.AREA).value == pytest.approx(120 * 0.18 * 0.9 * 2)
    assert parse(made["hours"], Kind.HOURS).value == 9000.0


def test_the_maps_hold_all_wood_that_was_fed_for_every_belt_and_drum() -> None:
    known = history_of(table())
    assert set(known.belt_wear) == {"B-0412", "B-0418"}
    assert set(known.drum_wear) == {"1", "2"}
    for strips in (*known.belt_wear.values(), *known.drum_wear.values()):
        assert area(strips) == pytest.approx(120 * 0.18 * 0.9 * 2, rel=1e-4)


def test_what_was_really_fed_counts_not_what_was_planned() -> None:
    made = table({"feed.fed": [{"part": 1, "place": 5, "count": 7}]})
    ((board),) = made["boards"]
    assert (board["count"], board["left_edge"], board["place"]) == (7, "420.6 mm", "406 mm")
    assert area(history_of(made).belt_wear["B-0412"]) == pytest.approx(7 * 0.18 * 0.9 * 2, rel=1e-4)


def test_a_second_run_adds_to_the_first() -> None:
    first = table()
    known = history_of(first)
    second = run_table(sheet(), done(), view(), known)
    assert area(history_of(first, second).drum_wear["1"]) == pytest.approx(2 * 120 * 0.18 * 0.9 * 2, rel=1e-4)


def test_another_belt_begins_at_nothing_and_the_drum_goes_on() -> None:
    first = table()
    other = sheet({"belts.1.card": None})
    second = run_table(other, done(), view(), history_of(first))
    known = history_of(first, second)
    assert area(known.drum_wear["1"]) == pytest.approx(2 * area(known.belt_wear["B-0412"]), rel=1e-4)


def test_a_belt_thrown_away_ends_its_map_and_one_put_back_on_the_rack_keeps_it() -> None:
    worn_out = table(off=[{"head": "1", "why": "worn out"}, {"head": "2", "why": "other grit"}])
    assert worn_out["off"] == [
        {"head": "1", "belt": "B-0412", "why": "worn out"},
        {"head": "2", "belt": "B-0418", "why": "other grit"},
    ]
    known = history_of(table(), worn_out)
    assert set(known.belt_wear) == {"B-0418"}
    assert set(known.drum_wear) == {"1", "2"}
    assert [thrown_away(why) for why in ("Torn at the joint", "washed", "other grit")] == [True, False, False]


@pytest.mark.parametrize(
    ("what", "left"), [("Reground by the service", {"2"}), ("New drum fitted", {"2"}), ("Cleaned", {"1", "2"})]
)
def test_a_drum_with_a_new_surface_starts_anew_and_the_belts_go_on(what: str, left: set[str]) -> None:
    repair = {"record": {"kind": "repair"}, "repair": {"check": "condition", "subject": "drum 1", "what": what}}
    belts, drums = wear_maps([{KIND: table()}, repair])
    assert set(drums) == left
    assert set(belts) == {"B-0412", "B-0418"}
    again, anew = wear_maps([{KIND: table()}, repair, {KIND: table()}])
    assert set(anew) == {"1", "2"}
    assert set(again) == set(belts)


def test_a_drum_told_as_ground_after_the_run_starts_anew() -> None:
    known = history_of(table(), table(drums=[{"head": "1"}]))
    assert set(known.drum_wear) == {"2"}
    assert set(known.belt_wear) == {"B-0412", "B-0418"}
    with pytest.raises(RunRecordError, match="no head '4'"):
        table(drums=[{"head": "4"}])


def test_a_repair_entered_at_a_start_up_counts_too() -> None:
    start_up = {
        "repairs": [{"check": "condition", "subject": "drum 2", "what": "ground and dressed", "who": "K. Amsel"}]
    }
    assert set(wear_maps([{KIND: table()}, start_up])[1]) == {"1"}


@pytest.mark.parametrize(
    ("bad", "where"),
    [
        ({"left": "15"}, "left"),
        ({"metres": [-1.0]}, "metres"),
        ({"metres": "none"}, "metres"),
        ({"strip": 10}, "strip"),
    ],
)
def test_a_run_with_a_map_that_cannot_be_read_is_no_record(bad: dict[str, Any], where: str) -> None:
    heading = {"kind": KIND, "id": "record-0001", "name": "D. Marrow"} | dict.fromkeys(
        ("utc", "local"), "2026-11-25T01:30:00+01:00"
    )
    wear = {"belt": "B", "left": "15 mm", "strip": "10 mm", "metres": [1.0]}
    check_kind(KIND, whole({"record": heading, KIND: {"wear": [wear]}}))
    with pytest.raises(BodyError, match=f"run.wear.0.{where}"):
        check_kind(KIND, whole({"record": heading, KIND: {"wear": [wear | bad]}}))


HERE = timezone(timedelta(hours=1))
SIGNED = datetime(2026, 11, 25, 1, 30, tzinfo=HERE)


@pytest.mark.parametrize(
    ("began", "written"),
    [
        (time(22, 40), "2026-11-24T22:40:00+01:00"),  # a night shift: the last such time before the signature
        (time(1, 0), "2026-11-25T01:00:00+01:00"),
        (datetime(2026, 11, 24, 22, 40), "2026-11-24T22:40:00+01:00"),  # noqa: DTZ001 (local, as TOML has it)
        (datetime(2026, 11, 24, 21, 40, tzinfo=UTC), "2026-11-24T21:40:00+00:00"),
    ],
)
def test_when_the_first_board_went_in_is_written_with_its_offset(began: datetime | time, written: str) -> None:
    made = run_table(sheet(), done(hours="0.5 h", began=began), view(), None, SIGNED)
    assert made["began"] == written


@pytest.mark.parametrize(
    ("began", "hours", "word"),
    [
        (datetime(2026, 11, 25, 1, 31, tzinfo=HERE), "0 h", "after this is signed"),
        (time(1, 0), "2.5 h", "2.5 h under drive do not fit between 01:00 and 01:30"),
    ],
)
def test_a_run_that_does_not_fit_the_clock_is_refused(began: datetime | time, hours: str, word: str) -> None:
    with pytest.raises(RunRecordError, match=word):
        run_table(sheet(), done(hours=hours, began=began), view(), None, SIGNED)
    half = done(hours="0.6 h", began=time(1, 0))  # hours are told to a tenth
    assert run_table(sheet(), half, view(), None, SIGNED)["hours"] == "0.6 h"


def test_what_glue_cost_is_told_in_whole_numbers_or_not_at_all() -> None:
    assert "glue" not in table()
    assert table(glue={"lots": 1, "minutes": 25})["glue"] == {"lots": 1, "belts": 0, "minutes": 25}
    assert table(glue={})["glue"] == {"lots": 0, "belts": 0, "minutes": 0}
    for bad in ({"lots": -1}, {"belts": 1.5}, {"minutes": True}, {"cost": 3}):
        with pytest.raises(ValueError, match="glue"):
            done(glue=bad)


def test_a_board_that_lies_askew_says_how_much_of_its_box_is_wood() -> None:
    assert all("fill" not in board for board in table()["boards"])
    askew = run_table(sheet(), done(), view(job_changes={"skew_degrees": 20.0}), None)
    wood = 0.0
    for board in askew["boards"]:
        across, along = (parse(board[key], Kind.LENGTH).value for key in ("width", "length"))
        wood += board["fill"] * across * along * board["count"] * askew["times"]
    assert wood == pytest.approx(parse(askew["area"], Kind.AREA).value, rel=1e-3)
    assert all(0 < board["fill"] < 1 for board in askew["boards"])


def test_a_lifted_head_wears_neither_belt_nor_drum() -> None:
    names = {one.get("belt", one.get("drum")) for one in table({"belts.2.lifted": True})["wear"]}
    assert names == {"B-0412", "1"}


def test_the_body_names_kind_signature_and_readings() -> None:
    given = done(
        readings=[{"thickness": ["27.2 mm", "27.25 mm", "27.2 mm"]}, {"current": {"1": "14 A"}}],
    )
    body = run_body(sheet(), given, view(), None, "run-record-0001", Signature("R. Onslow", "operator", MEANING, AT))
    found = read_body(body)
    assert found["record"]["kind"] == "run"
    assert found["record"]["meaning"] == MEANING
    assert found["run"]["readings"] == [
        {"thickness": ["27.2 mm", "27.25 mm", "27.2 mm"]},
        {"current": {"1": "14 A"}},
    ]
    assert all(len(one["metres"]) == 91 for one in found["run"]["wear"])


@pytest.mark.parametrize(
    ("changes", "more", "word"),
    [
        ({"job": None}, {}, "Without a job card"),
        ({"feed.fed": [{"part": 1, "place": 4, "count": 121}]}, {}, "121 boards of part 1 were fed, of 120"),
        ({}, {"off": [{"head": "9", "why": "torn"}]}, "no head '9'"),
        ({}, {"lots": 2}, "1 lots, 2 were counted"),
    ],
)
def test_a_run_that_cannot_have_been_is_refused(changes: dict[str, Any], more: dict[str, Any], word: str) -> None:
    with pytest.raises(RunRecordError, match=word):
        table(changes, **more)


def test_the_file_says_when_it_began_and_what_glue_cost(tmp_path: Path) -> None:
    bundled_sheet = (bundled() / "sheets" / "ok-two-heads.toml").read_text(encoding="utf-8")
    run = '[run]\nhours = "2.5 h"\nbegan = 07:10:00\nglue = { lots = 1, minutes = 25 }\n'
    path = tmp_path / "run.toml"
    path.write_text(f"{bundled_sheet}\n{run}", encoding="utf-8")
    found = load(path, RunSheet).value.run
    assert found.began == time(7, 10)
    assert found.glue == GlueLost(lots=1, minutes=25)
    quoted = run.replace("07:10:00", '"ten past seven"')
    path.write_text(f"{bundled_sheet}\n{quoted}", encoding="utf-8")
    with pytest.raises(PreflightError, match=r"run\.began: a local time without quotes is wanted"):
        load(path, RunSheet)


def test_the_file_form_is_a_setup_sheet_with_a_run() -> None:
    raw = sheet().model_dump(by_alias=True, exclude_none=True)
    with pytest.raises(ValueError, match="run"):
        RunSheet.model_validate({key: raw[key] for key in ("schema", "machine", "at")})
