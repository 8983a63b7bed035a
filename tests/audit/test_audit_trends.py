"""Drift alarms against published average run lengths and simulation; forecasts against scipy's least squares."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy import stats

from preflight.audit.chart import picture, svg
from preflight.audit.cusum import alarm, run_length, standing
from preflight.audit.queries import Reading
from preflight.audit.rules import Rules
from preflight.audit.trends import DAY, Mark, Trend, forecast, student, trend

RULES = Rules()
PUBLISHED = {0.0: 465, 0.25: 139, 0.5: 38.0, 0.75: 17.0, 1.0: 10.4, 1.5: 5.75, 2.0: 4.01, 3.0: 2.57}
"""Two-sided tabular cumulative sum, k = 1/2, h = 5: Montgomery, Introduction to Statistical Quality Control, chapter on
cumulative sums, table of average run lengths after Lucas and Crosier (from memory)."""


def exact_run_length(slack: float, decision: float, shift: float, cells: int = 400) -> float:
    """Brook and Evans 1972: the sum as a Markov chain; both sides join as 1/ARL."""
    width = 2 * decision / (2 * cells - 1)
    rate = 0.0
    for way in (shift, -shift):
        to = np.arange(cells)
        at = np.arange(cells)[:, None] * width
        upper = stats.norm.cdf((to + 0.5) * width - at + slack - way)
        lower = np.where(to == 0, 0.0, stats.norm.cdf((to - 0.5) * width - at + slack - way))
        rate += 1 / float(np.linalg.solve(np.eye(cells) - (upper - lower), np.ones(cells))[0])
    return 1 / rate


def simulated_run_length(shift: float, runs: int, seed: int) -> float:
    rng = Random(seed)
    lengths = []
    for _ in range(runs):
        up = down = 0.0
        place = 0
        values: list[float] = []
        while up <= 5.0 and down <= 5.0:
            values.append(rng.gauss(shift, 1.0))
            up, down = max(0.0, up + values[-1] - 0.5), max(0.0, down - values[-1] - 0.5)
            place += 1
        found = alarm(values, 0.0, 1.0, 0.5, 5.0)
        assert found is not None
        assert found.place == place - 1
        lengths.append(place)
    return sum(lengths) / runs


@pytest.mark.parametrize("shift", PUBLISHED)
def test_the_exact_run_length_is_the_published_one(shift: float) -> None:
    assert exact_run_length(0.5, 5.0, shift) == pytest.approx(PUBLISHED[shift], rel=0.02)


@pytest.mark.parametrize("shift", [shift for shift in PUBLISHED if shift <= 2])
def test_our_run_length_is_near_the_published_one(shift: float) -> None:
    assert run_length(0.5, 5.0, shift) == pytest.approx(PUBLISHED[shift], rel=0.05)


@pytest.mark.parametrize(("shift", "runs"), [(0.0, 400), (0.5, 1500), (1.0, 3000)])
def test_our_alarm_comes_as_late_as_published(shift: float, runs: int) -> None:
    # the standard error of a mean run length is about the length over the root of the runs
    assert simulated_run_length(shift, runs, 11) == pytest.approx(PUBLISHED[shift], rel=4 / runs**0.5)


def test_an_alarm_of_long_ago_that_came_back_does_not_stand() -> None:
    values = [3.0] * 6 + [0.0] * 60
    assert alarm(values, 0.0, 1.0, 0.5, 5.0) is not None
    assert standing(values, 0.0, 1.0, 0.5, 5.0) is None


def test_the_t_point_is_scipys_within_one_in_a_hundred() -> None:
    for degrees in (3, 5, 10, 40, 300):
        assert student(degrees) == pytest.approx(stats.t.ppf(0.975, degrees), rel=0.01)


def readings(values: list[float], high: float | None = 10.0, low: float | None = None) -> list[Reading]:
    return [Reading(round(n * DAY), n + 1, v, low, high, "s", f"{v:.2f} s") for n, v in enumerate(values)]


def test_the_forecast_is_the_least_squares_line_with_the_interval_of_its_slope() -> None:
    rng = Random(4)
    given = readings([6.0 + 0.02 * n + rng.gauss(0, 0.1) for n in range(60)])
    found = forecast(given, up=True, baseline=6.0)
    line = stats.linregress(range(60), [one.value for one in given])
    middle, level = 29.5, line.intercept + line.slope * 29.5
    assert found is not None
    assert found.at / DAY == pytest.approx((10 - line.intercept) / line.slope, rel=1e-9)
    reach = stats.t.ppf(0.975, 58) * line.stderr
    assert found.earliest / DAY == pytest.approx(middle + (10 - level) / (line.slope + reach), rel=1e-3)
    assert found.latest is not None
    assert found.latest / DAY == pytest.approx(middle + (10 - level) / (line.slope - reach), rel=1e-3)


def test_the_range_of_the_forecast_holds_the_true_day_nineteen_times_in_twenty() -> None:
    held = 0
    for seed in range(400):
        rng = Random(seed)
        found = forecast(readings([6.0 + 0.02 * n + rng.gauss(0, 0.1) for n in range(60)]), up=True, baseline=6.0)
        assert found is not None
        held += found.earliest <= 200 * DAY <= (found.latest or float("inf"))
    assert held / 400 >= 0.93  # the mean point is taken as known


def test_a_planted_drift_is_found_before_its_limit_and_steady_readings_are_left_alone() -> None:
    found = alarms = 0
    for seed in range(100):
        rng = Random(seed)
        steady = [6.5 + rng.gauss(0, 0.2) for _ in range(200)]
        drifting = [value + max(0, n - 100) * 0.01 for n, value in enumerate(steady)]
        one = trend("m-1", "running: head 1 stop", readings(drifting), [], [], RULES)
        two = trend("m-1", "running: head 1 stop", readings(steady), [], [], RULES)
        assert one is not None
        assert two is not None
        found += one.alarm is not None and one.alarm.up and one.points[one.alarm.place].value < 10
        alarms += two.alarm is not None
    assert found == 100
    assert alarms <= 5


def test_a_repair_begins_a_new_baseline() -> None:
    rng = Random(8)
    given = readings([6 + rng.gauss(0, 0.1) for _ in range(60)] + [8 + rng.gauss(0, 0.1) for _ in range(60)])
    without = trend("m-1", "s", given, [], [], RULES)
    repaired = trend("m-1", "s", given, [Mark(given[60].at, "repair: running")], [given[60].at], RULES)
    assert without is not None
    assert without.alarm is not None
    assert repaired is not None
    assert repaired.alarm is None
    assert repaired.mean == pytest.approx(8, abs=0.1)


def test_too_few_readings_make_no_baseline_and_say_so() -> None:
    found = trend("m-1", "s", readings([6.0] * 20), [], [], RULES)
    assert found is not None
    assert "too few" in found.statement


def drawn() -> Trend:
    rng = Random(2)
    values = [6.5 + rng.gauss(0, 0.2) + max(0, n - 60) * 0.02 for n in range(120)]
    marks = [Mark(round(30 * DAY), "head 1: belt H-2"), Mark(round(50 * DAY), "repair: running; brake")]
    found = trend("m-1", "running: head 1 stop", readings(values), marks, [], RULES)
    assert found is not None
    return found


def test_the_picture_has_dots_drift_limit_baseline_and_marks() -> None:
    lines = ["".join(text for text, _ in line) for line in picture(drawn(), 80, 12)]
    assert len(lines) == 12
    assert max(map(len, lines)) <= 80
    text = "\n".join(lines)
    assert all(sign in text for sign in ("o", "x", "-", ".", "B", "R", "1970-01-01"))


def test_the_drawing_has_as_many_points_and_loads_nothing() -> None:
    found = drawn()
    text = svg(found)
    assert text.count('class="dot"') + text.count('class="drift"') == len(found.points)
    assert text.count('class="mark"') == 2
    assert "http" not in text
    assert "<script" not in text
