"""What is begun counts: a drill that was left, hurried or never ended is kept, and helps nobody through the gate."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from practice_samples import AT, book, by, judged

from preflight.checklist.signatory import Signatory
from preflight.checks.finding import Verdict
from preflight.training.drill_file import written_drill
from preflight.training.gate import Gate
from preflight.training.generator import generated
from preflight.training.kept_drill import begin_on_record
from preflight.training.records import PracticeRecord, chains, practice
from preflight.training.score import Judgement, Outcome
from preflight.training.sitting import begin
from preflight.training.standing import Standing, standings

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.training.kept_drill import KeptDrill
    from preflight.training.sitting import Sitting

NAME = "K. Nilsen"


def started(shop: Path, sitting: Sitting, name: str = "token", *, drawn: bool = True, after: int = 0) -> KeptDrill:
    at = AT + timedelta(minutes=after)
    return begin_on_record(book(shop, name), sitting, Signatory(NAME, "operator", None), at, drawn=drawn)


def stand(shop: Path) -> Standing:
    return standings(practice(shop), Gate(), AT + timedelta(days=1))[0]


def drills_part(one: Standing) -> str:
    return next(part.statement for part in one.gate if part.name == "drills")


def kinds_of_record(shop: Path) -> list[str]:
    return [one.what for one in practice(shop)]


def test_the_end_names_its_beginning_and_both_are_kept_once(tmp_path: Path) -> None:
    sitting = judged("wandering-belt")
    kept = started(tmp_path, sitting, drawn=False)
    assert kinds_of_record(tmp_path) == ["begun"]
    first = kept.end(sitting, AT)
    again = kept.end(sitting, AT)  # as after an answer that was lost
    assert (again.head, again.was_there) == (first.head, True)
    begun, drill = practice(tmp_path)
    assert drill.begun == begun.reference
    assert (begun.table["drill"], drill.drill) == ("wandering-belt", sitting.marked)
    assert (stand(tmp_path).drills, stand(tmp_path).not_ended) == (1, 0)


def test_a_beginning_tells_nothing_of_what_was_planted(tmp_path: Path) -> None:
    sitting = begin(written_drill("slower-every-week"), 3)
    started(tmp_path, sitting)
    (path,) = (one for one in chains(tmp_path)[0].folder.rglob("*.toml"))
    text = path.read_text(encoding="utf-8")
    for fault in sitting.drill.planted:
        assert fault.cause not in text
        assert fault.remedy not in text
        assert fault.kind not in text


def test_a_drill_that_was_left_is_kept_as_given_up_with_what_was_judged(tmp_path: Path) -> None:
    sitting = begin(written_drill("wandering-belt"), 2)
    first = sitting.left[0]
    sitting = sitting.judging(Judgement(first, sitting.result(first).verdict, seconds=20))
    started(tmp_path, sitting).end(sitting, AT)
    drill: PracticeRecord = practice(tmp_path)[-1]
    assert drill.drill.given_up
    assert [mark.check for mark in drill.marks if mark.outcome is not Outcome.NOT_JUDGED] == [first]
    assert not drill.drill.passed
    assert (stand(tmp_path).drills, stand(tmp_path).given_up) == (1, 1)


def test_what_was_left_unjudged_counts_as_missed_and_a_station_in_order_as_no_alarm() -> None:
    sitting = begin(written_drill("wandering-belt"), 2)
    for mark in sitting.marked.marks:
        assert mark.outcome is Outcome.NOT_JUDGED
        assert mark.missed is (mark.truth is not Verdict.OK)
        assert mark.earned == 0
        assert (mark.cause, mark.remedy) == (None, None)
    assert sitting.marked.score == 0
    assert sitting.marked.stop_missed


@pytest.mark.parametrize("drill", ["slower-every-week", "power-came-back", "door-switch", "nothing-wrong-inches"])
def test_leaving_is_never_worth_more_than_judging_wrong(drill: str) -> None:
    left, wrong = begin(written_drill(drill), 2).marked, judged(drill, right=False).marked
    assert not left.passed
    assert left.score <= wrong.score
    assert (left.safety_missed, left.stop_missed) == (wrong.safety_missed, wrong.stop_missed)


def test_drills_left_hurried_or_never_ended_stand_among_the_last_ones_drawn(tmp_path: Path) -> None:
    for seed in range(12):
        sitting = judged(generated(seed, 2))
        started(tmp_path, sitting, f"a{seed:x}", after=seed).end(sitting, AT + timedelta(minutes=seed))
    assert drills_part(stand(tmp_path)).startswith("12 passed of the last 12 drawn")
    left = begin(generated(20, 2), 2)
    started(tmp_path, left, "left", after=20).end(left, AT + timedelta(minutes=20))
    hurried = judged(generated(21, 2), seconds=0.1)
    started(tmp_path, hurried, "hurry", after=21).end(hurried, AT + timedelta(minutes=21))
    started(tmp_path, begin(generated(22, 2), 2), "killed", after=22)
    assert drills_part(stand(tmp_path)).startswith("12 passed of the last 15 drawn")
    started(tmp_path, begin(generated(23, 2), 2), "killed-2", after=23)
    one = stand(tmp_path)
    assert drills_part(one).startswith("11 passed of the last 15 drawn")
    assert (one.drills, one.given_up, one.not_ended) == (14, 1, 2)
    assert not next(part for part in one.gate if part.name == "drills").met


def test_beginnings_that_never_ended_do_not_push_a_missed_stop_out_of_the_last_drills(tmp_path: Path) -> None:
    missed = judged("power-came-back", right=False)
    kept = book(tmp_path, "miss")
    kept.save_drill(missed.drill, missed.marked, 2, by(NAME), random=True)
    for number in range(Gate().no_stop_missed_in + 1):
        started(tmp_path, begin(generated(number, 2), 2), f"b{number:x}", after=number + 1)
    assert not next(part for part in stand(tmp_path).gate if part.name == "stops").met
