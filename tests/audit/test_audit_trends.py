"""Trends: baseline, repairs, forecasts against scipy's least squares, and the two pictures."""

from __future__ import annotations

from random import Random

import pytest
from scipy import stats

from preflight.audit.chart import legend, picture, svg
from preflight.audit.forecast import DAY, forecast, line_begins, student
from preflight.audit.queries import Reading
from preflight.audit.rules import Rules
from preflight.audit.trends import Mark, Trend, trend

RULES = Rules()


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


def test_the_date_is_told_by_the_drift_alone_not_by_the_calm_weeks_before_it() -> None:
    # 0.02 a day for the last 60 of 200 days: the limit 10 comes on day 315
    off, begun = [], []
    for seed in range(60):
        rng = Random(seed)
        values = [6.5 + rng.gauss(0, 0.2) + max(0, n - 140) * 0.02 for n in range(200)]
        found = trend("m-1", "running: head 1 stop", readings(values), [], [], RULES, 20)
        if found is not None and found.forecast is not None:
            off.append(found.forecast.at / DAY - 315)
            begun.append(found.began / DAY - 140)
    assert len(off) >= 57
    assert abs(sorted(begun)[len(begun) // 2]) <= 14
    assert abs(sorted(off)[len(off) // 2]) <= 45


def test_the_line_begins_where_scipys_fit_of_a_bend_has_it() -> None:
    for seed in range(5):
        rng = Random(seed)
        values = [4.1 + rng.gauss(0, 0.02) - max(0, n - 25) * 0.03 for n in range(40)]

        def rest(begin: int, given: list[float] = values) -> float:
            line = stats.linregress(range(begin, 40), given[begin:])
            calm = sum(given[:20]) / 20
            left = sum((one - calm) ** 2 for one in given[20:begin])
            return float(left + sum((line.intercept + line.slope * n - given[n]) ** 2 for n in range(begin, 40)))

        assert line_begins(values, 20) == min(range(20, 36), key=rest)


def test_a_planted_drift_is_found_before_its_limit_and_steady_readings_are_left_alone() -> None:
    found = alarms = 0
    for seed in range(100):
        rng = Random(seed)
        steady = [6.5 + rng.gauss(0, 0.2) for _ in range(200)]
        drifting = [value + max(0, n - 100) * 0.01 for n, value in enumerate(steady)]
        one = trend("m-1", "running: head 1 stop", readings(drifting), [], [], RULES, 20)
        two = trend("m-1", "running: head 1 stop", readings(steady), [], [], RULES, 20)
        assert one is not None
        assert two is not None
        found += one.alarm is not None and one.alarm.up and one.points[one.alarm.place].value < 10
        alarms += two.alarm is not None
    assert found == 100
    assert alarms <= 5


def test_a_repair_begins_a_new_baseline() -> None:
    rng = Random(8)
    given = readings([6 + rng.gauss(0, 0.1) for _ in range(60)] + [8 + rng.gauss(0, 0.1) for _ in range(80)])
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


def test_the_legend_names_the_signs_that_are_in_the_picture_and_no_others() -> None:
    assert legend(drawn()) == (
        "Chart: o a reading, x one since the drift began, dashed line a limit, dotted line the baseline, "
        "B another belt, R a repair."
    )
    plain = trend("m-1", "running: head 1 stop", readings([6.0] * 20, None), [], [], RULES)
    assert plain is not None
    assert legend(plain) == "Chart: o a reading."
