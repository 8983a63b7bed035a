"""Scoring: scripted trainees come out in the order in which a trainer would put them."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

import pytest

from preflight.checks.finding import Verdict
from preflight.checks.route import Assessment
from preflight.training.drill import Drill
from preflight.training.drill_file import written, written_drill
from preflight.training.generator import generated
from preflight.training.score import (
    SECONDS_A_STATION,
    DrillMark,
    Judgement,
    Outcome,
    by_kind,
    by_station,
    false_alarms,
    score,
    share,
)

Trainee = Callable[[Drill, Assessment, str, Random], Judgement]


def truth(answer: Assessment, check: str) -> Verdict:
    return next(result.verdict for result in answer.checks if result.check == check)


def perfect(drill: Drill, answer: Assessment, check: str, _random: Random) -> Judgement:
    fault = next(iter(drill.faults_at(check)), None)
    return Judgement(check, truth(answer, check), fault.cause if fault else "", fault.remedy if fault else "", 20)


def guesses_why(drill: Drill, answer: Assessment, check: str, random: Random) -> Judgement:
    """Sees every fault and cannot say what is wrong."""
    seen = perfect(drill, answer, check, random)
    return Judgement(check, seen.verdict, "something", "anything", 20)


def jumpy(drill: Drill, answer: Assessment, check: str, random: Random) -> Judgement:
    """Sees every fault, and one in three where there is none."""
    seen = perfect(drill, answer, check, random)
    return (
        Judgement(check, Verdict.STOP, "a bad feeling", "", 20) if not seen.cause and random.random() < 1 / 3 else seen
    )


def careless_about_safety(drill: Drill, answer: Assessment, check: str, random: Random) -> Judgement:
    """Perfect, but a safety fault is waved through."""
    dangerous = check == "running" or any(fault.safety for fault in drill.faults_at(check))
    return Judgement(check, Verdict.OK, seconds=20) if dangerous else perfect(drill, answer, check, random)


def careless_about_the_rest(drill: Drill, answer: Assessment, check: str, random: Random) -> Judgement:
    """Sees safety faults only."""
    dangerous = check == "running" or any(fault.safety for fault in drill.faults_at(check))
    return perfect(drill, answer, check, random) if dangerous else Judgement(check, Verdict.OK, seconds=20)


def ticks_ok(_drill: Drill, _answer: Assessment, check: str, _random: Random) -> Judgement:
    return Judgement(check, Verdict.OK, seconds=20)


def alarmed_by_everything(_drill: Drill, _answer: Assessment, check: str, _random: Random) -> Judgement:
    return Judgement(check, Verdict.STOP, "a bad feeling", "", 20)


def at_random(_drill: Drill, _answer: Assessment, check: str, random: Random) -> Judgement:
    return Judgement(check, random.choice(list(Verdict)), "something", "anything", 20)


@pytest.fixture(scope="module")
def drills() -> list[tuple[Drill, Assessment]]:
    found = [generated(seed, 1 + seed % 3) for seed in range(90)] + [written_drill(one) for one in written()]
    return [(drill, drill.answer()) for drill in found]


def run(trainee: Trainee, drills: list[tuple[Drill, Assessment]]) -> list[DrillMark]:
    random = Random(5)
    return [
        score(drill, answer, [trainee(drill, answer, check, random) for check in drill.asked])
        for drill, answer in drills
    ]


def overall(marks: list[DrillMark]) -> int:
    return share([mark for one in marks for mark in one.marks])


def test_the_perfect_trainee_earns_everything(drills: list[tuple[Drill, Assessment]]) -> None:
    marks = run(perfect, drills)
    assert {one.score for one in marks} == {100}
    assert all(one.passed and not one.too_fast for one in marks)


def test_trainees_are_ordered_as_a_trainer_would(drills: list[tuple[Drill, Assessment]]) -> None:
    # who sees every fault stands above who misses some; safety misses weigh most; to guess is worth least
    order = [
        perfect,
        jumpy,
        guesses_why,
        careless_about_the_rest,
        careless_about_safety,
        alarmed_by_everything,
        at_random,
    ]
    scores = [overall(run(trainee, drills)) for trainee in order]
    assert scores == sorted(scores, reverse=True)
    assert len(set(scores)) == len(order)


def test_missing_safety_faults_is_named_whatever_the_score(drills: list[tuple[Drill, Assessment]]) -> None:
    careless, others = run(careless_about_safety, drills), run(careless_about_the_rest, drills)
    assert any(one.safety_missed for one in careless)
    assert not any(one.safety_missed for one in others)
    assert not any(one.passed for one in careless if one.safety_missed)


def test_a_missed_safety_fault_outweighs_three_other_misses() -> None:
    one_safety = next(m for m in run(ticks_ok, with_faults(safety=True)) if m.misses).misses[0]
    other = next(m for m in run(ticks_ok, with_faults(safety=False)) if m.misses).misses[0]
    assert one_safety.weight > 3 * other.weight > 3


def with_faults(*, safety: bool) -> list[tuple[Drill, Assessment]]:
    found = [written_drill(drill_id) for drill_id in written()]
    return [(one, one.answer()) for one in found if one.planted and one.safety is safety]


def test_false_alarms_cost_but_less_than_misses(drills: list[tuple[Drill, Assessment]]) -> None:
    alarmed, ticked = run(jumpy, drills), run(ticks_ok, drills)
    assert overall(alarmed) > overall(ticked)
    assert 0.25 < false_alarms([m for one in alarmed for m in one.marks]) < 0.42
    assert not any(one.misses for one in alarmed)


def test_ticking_everything_ok_passes_only_where_nothing_is_wrong(drills: list[tuple[Drill, Assessment]]) -> None:
    for (drill, _), marked in zip(drills, run(ticks_ok, drills), strict=True):
        assert marked.passed is not bool(drill.planted)


def test_speed_earns_nothing_and_too_fast_is_said() -> None:
    drill = written_drill("new-belt-cone")
    answer = drill.answer()
    slow = score(drill, answer, [perfect(drill, answer, check, Random()) for check in drill.asked])
    quick = score(
        drill,
        answer,
        [Judgement(check, truth(answer, check), *_lines(drill, check), SECONDS_A_STATION / 2) for check in drill.asked],
    )
    assert quick.score == slow.score == 100
    assert quick.too_fast
    assert not slow.too_fast


def _lines(drill: Drill, check: str) -> tuple[str, str]:
    fault = next(iter(drill.faults_at(check)), None)
    return (fault.cause, fault.remedy) if fault else ("", "")


def test_a_stop_called_a_caution_is_a_miss_and_a_caution_called_a_stop_is_not() -> None:
    drill = written_drill("wandering-belt")
    answer = drill.answer()
    said = {"belts": Verdict.OK, "condition": Verdict.STOP, "tension": Verdict.CAUTION, "running": Verdict.OK}
    marks = {one.check: one for one in score(drill, answer, [Judgement(c, v) for c, v in said.items()]).marks}
    assert marks["condition"].outcome is Outcome.OVERCALLED
    assert not marks["condition"].missed
    assert marks["tension"].outcome is Outcome.UNDERCALLED
    assert marks["tension"].missed
    assert marks["running"].outcome is Outcome.MISSED
    assert marks["running"].safety


def test_a_station_that_was_not_asked_cannot_be_judged() -> None:
    drill = written_drill("new-belt-cone")
    with pytest.raises(ValueError, match="not asked in this drill: glue"):
        score(drill, drill.answer(), [Judgement("glue", Verdict.OK)])


def test_results_are_kept_apart_by_station_and_kind_of_fault(drills: list[tuple[Drill, Assessment]]) -> None:
    marks = [mark for one in run(careless_about_safety, drills) for mark in one.marks]
    assert by_kind(marks)["safety device"] == 0
    assert by_kind(marks)["glue"] == 100
    assert by_station(marks)["glue"] == 100 > by_station(marks)["running"]
