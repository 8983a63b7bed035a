"""Condition: looks, measured looks, grouped looks, due items. Common practice, no source."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from builders import history, sheet, view

from preflight.checks.condition import check as condition
from preflight.checks.condition.condition_items import ITEM_KINDS
from preflight.checks.condition.due_today import item_of_the_day
from preflight.checks.finding import Verdict, worst
from preflight.history import DueItem, History

if TYPE_CHECKING:
    from builders import Changes

    from preflight.checks.finding import Finding


def findings(
    answers: Changes | None = None, machine: Changes | None = None, past: History | None = None
) -> dict[str, Finding]:
    found = condition.check(sheet(answers), view(machine), past)
    by_subject = {finding.subject: finding for finding in found}
    assert len(by_subject) == len(found), "two findings share a subject"
    return by_subject


def look(key: str, answer: str, machine: Changes | None = None) -> Finding:
    return findings({f"condition.looks.{key}": answer}, machine)[key]


def test_everything_sound_is_ok() -> None:
    found = findings()
    assert worst(f.verdict for f in found.values()) is Verdict.OK
    assert set(found) == {"drum 1", "drum 2", "platen cover 2", "conveyor", "tracking eye", "dust inside"}


def test_every_look_not_taken_is_open_and_says_how_to_look() -> None:
    found = findings({"condition": {}})
    assert len(found) == 6
    for key, finding in found.items():
        assert finding.verdict is Verdict.OPEN
        assert finding.asks == f"condition.looks.{key}"
        assert "ocked off" in finding.remedy


def test_a_mere_platen_head_has_no_drum_to_look_at() -> None:
    found = findings(machine={"heads.2.kind": "platen"})
    assert "platen cover 2" in found
    assert found["drum 2"].verdict is Verdict.OPEN  # answered, but no item of this machine
    assert "no item" in found["drum 2"].statement


@pytest.mark.parametrize("kind", sorted(ITEM_KINDS))
@pytest.mark.parametrize("worn", [True, False])
def test_worn_is_a_caution_and_damaged_a_stop_on_every_item(kind: str, worn: bool) -> None:
    key = {"drum": "drum 1", "platen cover": "platen cover 2"}.get(kind, kind)
    found = look(key, "worn" if worn else "damaged")
    assert found.verdict is (Verdict.CAUTION if worn else Verdict.STOP)
    assert found.remedy == (ITEM_KINDS[kind].care if worn else ITEM_KINDS[kind].mend)
    assert bool(found.actions) is worn


@pytest.mark.parametrize("word", ["shiny", "flat", "not tacky"])
def test_a_shiny_flat_conveyor_pulls_badly_and_is_cleaned_or_dressed_with_120_at_most(word: str) -> None:
    found = look("conveyor", word)
    assert found.verdict is Verdict.CAUTION
    assert "pulls badly" in found.statement
    assert "water-based cleaner" in found.remedy
    assert "120 or finer, lightest touch, other heads raised" in found.remedy


def test_a_cracked_conveyor_stops() -> None:
    assert look("conveyor", "cracked").verdict is Verdict.STOP


def test_a_worn_platen_cover_streaks_and_its_slippery_side_goes_away_from_the_felt() -> None:
    found = look("platen cover 2", "streaked")
    assert "faint streaks" in found.statement
    assert "slippery side away from the felt" in found.remedy


def test_a_blocked_eye_stops_and_a_dusty_one_is_wiped() -> None:
    assert look("tracking eye", "blocked").verdict is Verdict.STOP
    assert look("tracking eye", "dusty").verdict is Verdict.CAUTION


def test_an_answer_that_says_too_little_stays_open_and_names_the_words() -> None:
    found = look("drum 1", "fine I think")
    assert found.verdict is Verdict.OPEN
    assert "sound" in found.remedy
    assert "damaged" in found.remedy


def test_case_and_spaces_of_an_answer_do_not_matter() -> None:
    assert look("conveyor", "  Not   tacky ").verdict is Verdict.CAUTION


def test_a_look_at_a_part_that_the_machine_has_not_is_open() -> None:
    assert look("drum 7", "sound").verdict is Verdict.OPEN


def test_one_answer_may_stand_for_a_group_and_one_for_all() -> None:
    found = findings({"condition.looks": {"drums": "sound", "all": "clean"}})
    assert len(found) == 6
    assert worst(f.verdict for f in found.values()) is Verdict.OK
    assert found["drum 1"].basis == "condition.looks.drums"
    assert found["conveyor"].basis == "condition.looks.all"


def test_a_parts_own_answer_beats_that_of_its_group() -> None:
    found = findings({"condition.looks": {"drums": "sound", "drum 2": "worn", "all": "sound"}})
    assert found["drum 1"].verdict is Verdict.OK
    assert found["drum 2"].verdict is Verdict.CAUTION


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        ("80 Shore A", "ok"),
        ("85 Shore A", "ok"),
        ("75 Shore A", "ok"),
        ("86 Shore A", "caution"),
        ("66 Shore A", "caution"),
    ],
)
def test_a_drums_hardness_may_stand_as_its_look(reading: str, verdict: str) -> None:
    assert look("drum 1", reading).verdict.word == verdict


@pytest.mark.parametrize(
    ("head", "reading", "verdict"),
    [
        ("1", "0.05 mm", "ok"),
        ("1", "0.06 mm", "caution"),
        ("1", "0.12 mm", "stop"),
        ("2", "0.03 mm", "ok"),
        ("2", "0.05 mm", "caution"),
        ("2", "0.08 mm", "stop"),
    ],
)
def test_run_out_is_judged_tighter_on_the_finishing_head(head: str, reading: str, verdict: str) -> None:
    found = findings({f"condition.looks.drum {head} run-out": reading})
    assert found[f"drum {head} run-out"].verdict.word == verdict
    assert found[f"drum {head}"].verdict is Verdict.OK
    if verdict == "stop":
        assert "0.02 mm over" in found[f"drum {head} run-out"].statement
        assert "reground" in found[f"drum {head} run-out"].remedy


@pytest.mark.parametrize(("hours", "verdict"), [("20 h", "ok"), ("38 h", "caution"), ("52 h", "caution")])
def test_hours_on_the_platen_cover_are_wear_and_never_a_stop(hours: str, verdict: str) -> None:
    found = look("platen cover 2", hours)
    assert found.verdict.word == verdict
    if hours == "52 h":
        assert "12 h over" in found.statement
        assert "slippery side" in found.remedy


def test_a_crack_is_judged_by_its_length() -> None:
    assert look("conveyor", "10 mm").verdict is Verdict.CAUTION
    found = look("conveyor", "31 mm")
    assert found.verdict is Verdict.STOP
    assert "6 mm over" in found.statement


@pytest.mark.parametrize("answer", ["12", "5 bar", "0.1 mmm"])
def test_a_reading_that_cannot_be_used_is_open_and_says_what_would_be(answer: str) -> None:
    found = look("conveyor", answer)
    assert found.verdict is Verdict.OPEN
    assert "length is wanted" in found.remedy or "which unit" in found.remedy


def test_a_hardness_without_a_nominal_one_cannot_be_judged() -> None:
    assert look("drum 1", "80 Shore A", {"heads.1.hardness_shore_a": None}).verdict is Verdict.OPEN


def test_without_earlier_records_nothing_is_due() -> None:
    assert not any(key.startswith("due ") for key in findings())


def test_an_item_at_nine_tenths_of_its_interval_is_due() -> None:
    assert findings(past=history(("platen cover", 0.89))).get("due platen cover") is None
    found = findings(past=history(("platen cover", 0.9)))["due platen cover"]
    assert found.verdict is Verdict.CAUTION
    assert "90% of its interval" in found.statement
    assert 2 <= len(found.actions) <= 4


def test_one_ordinary_item_a_day_the_most_used_up_first() -> None:
    past = history(("bearing grease", 0.95), ("platen cover", 1.1), ("drum check", 1.02))
    found = {key: f for key, f in findings(past=past).items() if key.startswith("due ")}
    assert {key: f.verdict for key, f in found.items()} == {
        "due platen cover": Verdict.CAUTION,
        "due drum check": Verdict.OK,
        "due bearing grease": Verdict.OK,
    }
    assert "comes next" in found["due drum check"].statement


def test_what_is_long_overdue_does_not_wait_its_turn() -> None:
    found = findings(past=history(("platen cover", 1.6), ("drum check", 1.3)))
    assert found["due drum check"].verdict is Verdict.CAUTION
    assert "overdue" in found["due drum check"].statement


def test_an_item_done_today_is_ok_and_the_others_wait_for_tomorrow() -> None:
    past = history(("platen cover", 1.1), ("drum check", 1.0))
    found = findings({"condition.done": ["platen cover"]}, past=past)
    assert found["due platen cover"].verdict is Verdict.OK
    assert found["due drum check"].verdict is Verdict.OK


def test_a_safety_item_does_not_wait_its_turn() -> None:
    found = findings(past=history(("platen cover", 1.1), ("brake lining", 0.95, True)))
    assert found["due brake lining"].verdict is Verdict.CAUTION
    assert found["due platen cover"].verdict is Verdict.CAUTION


def test_a_safety_item_far_overdue_stops_and_nobody_may_go_on() -> None:
    found = findings(past=history(("brake lining", 1.2, True)))["due brake lining"]
    assert found.verdict is Verdict.STOP
    assert not found.takes_override
    assert (
        findings({"condition.done": ["brake lining"]}, past=history(("brake lining", 1.2, True)))[
            "due brake lining"
        ].verdict
        is Verdict.OK
    )


def test_an_ordinary_item_far_overdue_is_never_a_stop() -> None:
    assert findings(past=history(("drum check", 9.0)))["due drum check"].verdict is Verdict.CAUTION


def test_the_item_of_the_day_is_none_when_one_is_done() -> None:
    due = [DueItem("a", 1.0), DueItem("b", 1.1)]
    assert item_of_the_day(due) == due[1]
    assert item_of_the_day(due, ["a"]) is None
    assert item_of_the_day([]) is None
