"""The patterns: power on planted habits, silence on honest people, and their statistics against scipy.

Thresholds and strengths are our own; scipy 1.13+ is the reference for the tail probabilities.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from audit.simulated_people import crew
from scipy import stats

from preflight.audit import digits, failures, hugging, pace, repeats, rereads
from preflight.audit.attendance import RunTime, ShiftCount, flags, shift_counts
from preflight.audit.digits import even_digits, spread, steps
from preflight.audit.habits import Habits
from preflight.audit.patterns import flags_of
from preflight.audit.repeats import run_chance
from preflight.audit.rules import Rules
from preflight.audit.tails import binomial_tail, chi_square_tail, highest_chance, lowest_chance
from preflight.audit.visit import by_machine, by_person

if TYPE_CHECKING:
    from collections.abc import Callable

    from preflight.audit.visit import Visit

RULES = Rules()
HONEST = Habits()

STRENGTHS = {
    "too fast": (Habits(rush=0.2), 80),
    "entries seconds apart": (Habits(rush=0.2), 80),
    "identical readings": (Habits(copies=0.6), 80),
    "identical sets": (Habits(copies=0.15), 80),
    "round numbers": (Habits(rounds=0.5), 100),
    "close to a limit": (Habits(hugs=0.25), 80),
    "read until it passed": (Habits(rereads=0.15), 80),
    "no failures ever": (Habits(blind=True), 200),
}
"""Share of start-ups with the habit, and start-ups, at which 95 of 100 such people are found."""
MADE_BY: dict[str, tuple[Any, Callable[[list[Visit]], Any]]] = {
    "too fast": (pace, by_person),
    "entries seconds apart": (pace, by_person),
    "identical readings": (repeats, by_machine),
    "identical sets": (repeats, by_machine),
    "round numbers": (digits, by_machine),
    "close to a limit": (hugging, by_machine),
    "read until it passed": (rereads, by_person),
    "no failures ever": (failures, by_person),
}
"""Which module raises it; that `flags_of` asks them all in this way has its own test."""
TRIES = 40


def test_of_1000_honest_people_each_pattern_flags_no_more_than_it_states() -> None:
    raised: Counter[str] = Counter()
    for seed in range(250):
        given = crew(seed, [HONEST] * 4, 80)
        for one in flags_of(given, RULES):
            raised.update(one.pattern.split(" and "))
    assert set(raised) <= set(STRENGTHS)
    assert max(raised.values(), default=0) <= 1000 * RULES.alarm, raised


@pytest.mark.parametrize("pattern", STRENGTHS)
def test_a_planted_habit_of_the_stated_strength_is_found(pattern: str) -> None:
    habits, visits = STRENGTHS[pattern]
    module, group = MADE_BY[pattern]
    found = 0
    for seed in range(TRIES):
        given = crew(10_000 + seed, [habits, HONEST, HONEST, HONEST], visits)
        flags = module.flags(group(given), RULES)
        found += (pattern, f"{10_000 + seed}-0") in {(one.pattern, one.person) for one in flags}
    assert found / TRIES >= 0.95


def test_the_flags_of_people_are_those_of_all_the_modules() -> None:
    given = crew(5, [Habits(rush=0.5, copies=0.5, rounds=0.5, rereads=0.3), HONEST, HONEST], 80)
    asked = {(module, group) for module, group in MADE_BY.values()}
    every = [flag for module, group in asked for flag in module.flags(group(given), RULES)]
    found = flags_of(given, RULES)
    assert len({flag.pattern for flag in found}) >= 4
    of_pace = (pace.TOO_FAST, pace.BURSTS, pace.BOTH)
    assert sorted(repr(one) for one in found if one.pattern not in of_pace) == sorted(
        repr(one) for one in every if one.pattern not in of_pace
    )


def test_two_flags_of_the_same_start_ups_are_said_once_with_the_figures_of_both_tests() -> None:
    people = by_person(crew(5, [Habits(rush=0.5), HONEST], 80))
    fast, bursts = pace.flags(people, RULES)
    (one,) = pace.together([fast, bursts], people)
    assert one.pattern == "too fast and entries seconds apart"
    assert fast.statement in one.statement
    assert bursts.statement in one.statement
    assert fast.test in one.test
    assert bursts.test in one.test
    assert set(one.records) == set(fast.records) | set(bursts.records)
    assert list(one.records) == sorted(one.records)  # one machine: by number is by time


def test_two_flags_of_different_start_ups_stay_two() -> None:
    people = by_person(crew(5, [Habits(rush=0.5), HONEST], 80))
    fast, bursts = pace.flags(people, RULES)
    apart = [replace(fast, records=fast.records[:4]), replace(bursts, records=fast.records[4:])]
    assert pace.together(apart, people) == apart
    assert pace.together([fast, replace(bursts, person="another")], people)[1].person == "another"


def test_a_flag_names_readings_in_words_with_their_units() -> None:
    given = crew(5, [Habits(copies=0.9), HONEST, HONEST], 80)
    told = [replace(one, texts={name: like.text for name, like in one.readings.items()}) for one in given]
    said = [one.statement for one in repeats.flags(by_machine(told), RULES) if one.pattern == "identical readings"]
    (typed,) = {told[0].typed("tension.1")}
    assert typed.endswith(" bar")
    assert said
    assert all(re.match(r"[a-z ]+(, [a-z0-9 ]+)?: \S+( \S+)? \d+ times in a row\.$", text) for text in said)
    hugs = crew(5, [Habits(hugs=0.9), HONEST], 80)
    (close,) = hugging.flags(by_machine(hugs), RULES)
    assert close.statement.startswith("tension, head 1: ")
    assert "high limit 4.500 bar" in close.statement


def test_every_flag_states_test_sample_chance_and_honest_rate() -> None:
    given = crew(5, [Habits(rush=0.5, copies=0.5), HONEST, HONEST], 80)
    for flag in flags_of(given, RULES):
        assert flag.sample > 0
        assert flag.chance is not None
        assert 0 <= flag.chance < RULES.alarm
        assert flag.test
        assert flag.honest.startswith("at most 1.00%")
        assert flag.records


@pytest.mark.parametrize("trials", [1, 17, 400])
@pytest.mark.parametrize("chance", [0.005, 0.2, 0.9])
def test_the_binomial_tail_is_scipys(trials: int, chance: float) -> None:
    for hits in range(0, trials + 1, max(1, trials // 20)):
        expected = stats.binom.sf(hits - 1, trials, chance)
        assert binomial_tail(hits, trials, chance) == pytest.approx(expected, rel=1e-8, abs=1e-13)


@pytest.mark.parametrize("degrees", range(1, 15))
def test_the_chi_square_tail_is_scipys(degrees: int) -> None:
    for statistic in (0.0, 0.3, 4.0, 21.666, 90.0):
        assert chi_square_tail(statistic, degrees) == pytest.approx(stats.chi2.sf(statistic, degrees), rel=1e-10)


def test_the_limit_of_the_last_digit_test_is_the_tables() -> None:
    # chi-square, 9 degrees of freedom, 1 %: 21.666 in any table
    assert stats.chi2.isf(0.01, 9) == pytest.approx(21.666, abs=5e-4)
    assert chi_square_tail(21.666, 9) == pytest.approx(0.01, abs=1e-5)


def test_the_bounds_of_a_share_are_clopper_and_pearsons() -> None:
    for hits, trials in ((0, 60), (5, 200), (30, 31)):
        interval = stats.binomtest(hits, trials).proportion_ci(0.98, method="exact")
        assert highest_chance(hits, trials) == pytest.approx(interval.high, rel=1e-9)
        assert lowest_chance(hits, trials) == pytest.approx(interval.low, rel=1e-9, abs=1e-12)


def test_the_statistic_of_the_digits_is_scipys() -> None:
    counts = [9, 4, 6, 3, 7, 12, 2, 5, 8, 4]
    assert even_digits(counts) == pytest.approx(stats.chisquare(counts).statistic)


def test_sixty_checks_without_a_failure_have_the_textbook_chance() -> None:
    # 0.95^60 = 4.6 % at a true rate of 5 %
    assert stats.binom.pmf(0, 60, 0.05) == pytest.approx(0.95**60) == pytest.approx(0.046, abs=5e-4)


def test_the_chance_of_a_run_is_never_below_the_simulated_one() -> None:
    import numpy as np

    rng = np.random.default_rng(3)
    for rate, length in ((0.4, 7), (0.1, 4)):
        same = rng.random((20_000, 49)) < rate
        together = np.ones((20_000, 49 - length + 2), dtype=bool)
        for step in range(length - 1):
            together &= same[:, step : step + together.shape[1]]
        assert together.any(axis=1).mean() <= run_chance(length, 50, rate) * 1.05


def test_the_step_of_a_gauge_is_told_from_how_it_is_written() -> None:
    assert steps([(930.0, 0), (940.0, 0), (950.0, 0)]) == [93, 94, 95]
    assert steps([(4.1, 1), (4.15, 2)]) == [410, 415]


def test_a_narrow_gauge_is_not_tested_for_round_numbers() -> None:
    # a gauge read to 0.1 bar that lives between 4.1 and 4.4 fails the digits honestly
    assert spread(steps([(4.1 + 0.1 * (n % 4), 1) for n in range(80)])) < RULES.digits.spread


def test_missed_and_late_start_ups_are_counted_by_shift() -> None:
    given = crew(1, [HONEST], 20)  # one start-up a day at about 06:00
    runs = [RunTime(one.machine, 0, one.local.replace(hour=7)) for one in given]
    runs += [RunTime(one.machine, 0, one.local.replace(hour=15)) for one in given[:5]]
    runs.append(RunTime(given[0].machine, 0, given[0].local.replace(hour=5, minute=10)))
    early, late, night = shift_counts(given, runs, RULES.attendance)
    assert (early.worked, early.missed, early.late) == (20, 0, 1)
    assert (late.worked, late.missed) == (5, 5)
    assert night.worked == 0


def test_a_shift_is_flagged_only_beyond_what_the_others_miss() -> None:
    even = [ShiftCount("early", 200, 4, 3), ShiftCount("late", 200, 6, 4)]
    assert list(flags(even, RULES)) == []
    uneven = [ShiftCount("early", 200, 4, 3), ShiftCount("late", 200, 30, 4)]
    assert [(one.pattern, one.person) for one in flags(uneven, RULES)] == [("missed start-ups", "late shift")]
