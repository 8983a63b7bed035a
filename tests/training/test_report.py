"""The result of a drill says how its score came about and what to practise next."""

from __future__ import annotations

from dataclasses import replace

from practice_samples import judged

from preflight.checks.finding import Verdict
from preflight.training.drill_file import written, written_drill
from preflight.training.report import next_to_practise, result_lines
from preflight.training.score import Judgement, score
from preflight.training.sitting import Sitting, begin


def told(sitting: Sitting) -> list[str]:
    return [line.strip() for line in result_lines(sitting.marked)]


def test_a_missed_safety_fault_says_what_it_weighed_and_comes_next() -> None:
    lines = told(judged("reclaimed-pine", right=False))
    assert "Score 9 of 100, not passed." in lines
    assert "stock: missed, 0 of 10; a safety fault weighs most" in lines
    assert "2 stations in order, left alone: 1 of 1" in lines
    assert "together 1 of 11, as a share of 100: 9" in lines
    assert lines[-1].startswith("Next: metal, at stock.")


def test_all_right_is_all_there_was() -> None:
    sitting = judged("reclaimed-pine")
    lines = told(sitting)
    assert "Score 100 of 100, passed." in lines
    assert "stock: found, 10 of 10; a safety fault weighs most" in lines
    assert lines[-1].startswith("Next: nothing was missed")


def test_a_false_alarm_and_a_wrong_reason_are_told_apart() -> None:
    sitting = begin(written_drill("new-belt-cone"), 3)
    for check in sitting.drill.asked:
        verdict = Verdict.STOP
        sitting = sitting.judging(Judgement(check, verdict, "a bad feeling", "", 20))
    lines = told(sitting)
    assert "belts: found, cause and remedy not right, 2.25 of 3" in lines
    others = [check for check in sitting.drill.asked if check != "belts"]
    for check in others:
        assert f"{check}: false alarm, 0.5 taken off; left alone it earns 0.5" in lines
    assert lines[-1].startswith("Next: belt size, at belts.")


def test_alarms_alone_are_what_to_practise_next_when_nothing_was_missed() -> None:
    sitting = judged("nothing-wrong")
    first = sitting.drill.asked[0]
    jumpy = {**sitting.judged, first: replace(sitting.judged[first], verdict=Verdict.STOP)}
    said = next_to_practise(score(sitting.drill, sitting.answer, jumpy.values()))
    assert said.startswith(f"{first}, when it is in order")


def test_less_than_nothing_is_said_to_count_as_nothing() -> None:
    sitting = begin(written_drill("nothing-wrong"), 3)
    for check in sitting.drill.asked:
        sitting = sitting.judging(Judgement(check, Verdict.STOP, "", "", 20))
    assert any(line.endswith("a share of 100: 0; less than nothing counts as 0") for line in told(sitting))


def test_the_time_floor_is_said_with_its_seconds() -> None:
    lines = told(judged("reclaimed-pine", seconds=1))
    assert any(line.startswith("Too fast: 3 s for 3 stations; under 9 s") for line in lines)


def test_the_lines_add_up_to_the_score_of_every_written_drill() -> None:
    for drill_id in written():
        for right in (True, False):
            sitting = judged(drill_id, right=right)
            line = next(one for one in told(sitting) if one.startswith("together "))
            got, most = line.removeprefix("together ").split(",")[0].split(" of ")
            assert round(100 * max(0, float(got)) / float(most)) == sitting.marked.score
