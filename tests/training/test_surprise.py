"""A surprise drill: due once a fortnight to those who practise, one station, and nothing of it in a start-up."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from practice_samples import AT, book, by, judged

from preflight.training.drill import expected, not_ok
from preflight.training.gate import Gate, gate_of
from preflight.training.records import practice
from preflight.training.sitting import begin
from preflight.training.standing import standings
from preflight.training.surprise import is_due, surprise

if TYPE_CHECKING:
    from pathlib import Path

DAY = timedelta(days=1)


def test_it_is_one_station_with_at_most_one_fault_and_exactly_what_assess_finds() -> None:
    drills = [surprise(seed) for seed in range(60)]
    assert all(len(drill.asked) == 1 and len(drill.planted) <= 1 for drill in drills)
    assert all(not_ok(drill.answer()) == expected(drill) for drill in drills)
    assert all({fault.check for fault in drill.planted} <= set(drill.asked) for drill in drills)
    assert {bool(drill.planted) for drill in drills} == {True, False}
    assert surprise(7) == surprise(7)


def test_it_leans_to_what_was_missed() -> None:
    kinds = [fault.kind for seed in range(40) for fault in surprise(seed, {"glue": 500.0}).planted]
    assert kinds.count("glue") > len(kinds) * 0.8


def test_somebody_who_never_practised_is_not_asked(tmp_path: Path) -> None:
    book(tmp_path).save_drill(judged("fan-last").drill, judged("fan-last").marked, 1, by("Kim"))
    records = practice(tmp_path)
    assert not is_due(records, "Lee", Gate(), AT + 90 * DAY)
    assert is_due(records, "Kim", Gate(), AT + 90 * DAY)


def test_it_is_due_a_fortnight_after_the_first_practice_and_after_each_one_before(tmp_path: Path) -> None:
    kept, drill = book(tmp_path), judged("fan-last")
    kept.save_drill(drill.drill, drill.marked, 1, by("Kim"))
    kept.save_drill(drill.drill, drill.marked, 1, by("Kim", AT + 12 * DAY))  # asked for: it moves nothing
    assert not is_due(practice(tmp_path), "Kim", Gate(), AT + 13 * DAY)
    assert is_due(practice(tmp_path), "Kim", Gate(), AT + 14 * DAY)
    one = judged(surprise(3))
    kept.save_drill(one.drill, one.marked, 3, by("Kim", AT + 15 * DAY), surprise=True)
    assert not is_due(practice(tmp_path), "Kim", Gate(), AT + 28 * DAY)
    assert is_due(practice(tmp_path), "Kim", Gate(), AT + 29 * DAY)


@pytest.mark.parametrize(("days", "due"), [(0, False), (60, False), (7, True)])
def test_the_shop_says_how_often_or_never(tmp_path: Path, days: int, due: bool) -> None:
    (tmp_path / "training.toml").write_text(f"surprise_days = {days}\n", encoding="utf-8")
    drill = judged("fan-last")
    book(tmp_path).save_drill(drill.drill, drill.marked, 1, by("Kim"))
    assert is_due(practice(tmp_path), "Kim", gate_of(tmp_path), AT + 30 * DAY) is due


def test_its_record_is_practice_and_no_drawn_drill_of_the_gate(tmp_path: Path) -> None:
    one = judged(begin(surprise(3), 3, surprise=True).drill)
    saved = book(tmp_path).save_drill(one.drill, one.marked, 3, by("Kim"), surprise=True)
    assert saved.head.machine.startswith("practice-")
    (standing,) = standings(practice(tmp_path), Gate(), AT)
    assert standing.drills == 1
    assert standing.gate[0].statement.startswith("0 passed of the last 0 drawn")
