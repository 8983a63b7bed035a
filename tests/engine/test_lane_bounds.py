"""Certified bounds against closed forms and HiGHS."""

from __future__ import annotations

import pytest

from preflight.engine.boards import Part, Usable
from preflight.engine.coverage import Strip, exposure_over
from preflight.engine.lane_bounds import (
    closed_form_bound,
    least_peak_of_identical,
    next_whole,
    price_bound,
    wear_bound,
)
from preflight.engine.lane_cells import cells_of


@pytest.mark.parametrize(
    ("count", "width", "least"), [(200, 0.180, 40.0), (10, 0.450, 5.0), (10, 0.460, 10.0), (9, 0.100, 1.0)]
)
def test_least_peak_of_identical_parts_is_boards_over_lanes(count: int, width: float, least: float) -> None:
    # Derived (computed): ceil(N / floor(910 / w)).
    assert least_peak_of_identical(count, width, 1.0, 0.910) == least


def test_a_width_that_divides_the_belt_exactly_loses_no_lane_to_rounding() -> None:
    assert least_peak_of_identical(30, 0.3, 1.0, 0.9) == 10.0
    assert least_peak_of_identical(70, 0.1, 1.0, 0.7) == 10.0


def test_the_closed_form_never_passes_the_least_peak_of_identical_parts() -> None:
    for mm in range(50, 911, 7):
        part = Part(mm / 1000, 1.0, 60)
        bound = closed_form_bound([part], 0.910)
        assert bound <= least_peak_of_identical(60, part.width, 1.0, 0.910) + 1e-9
        assert bound >= 60 / (910 // mm) * (1.0 - 1e-9), "k = lanes gives N / lanes"


def test_mixed_sizes_obey_the_closed_form_with_two_points() -> None:
    # k = 2: points at 1/3 and 2/3 of U; a board over U/3 wide hits one at least, over 2U/3 both (computed).
    parts = [Part(0.400, 1.0, 6), Part(0.700, 1.0, 4)]
    assert closed_form_bound(parts, 0.900) == pytest.approx(max((6 + 2 * 4) / 2, (2.4 + 2.8) / 0.9))


def test_any_prices_give_a_bound_below_a_reached_peak() -> None:
    parts = [Part(0.2, 1.0, 10), Part(0.5, 0.7, 6)]
    belt = Usable(1.0)
    cells = cells_of(parts, belt, exposure_over([], belt.segments))
    uniform = price_bound(parts, cells, [*cells.widths], False, belt.segments)
    assert uniform == pytest.approx(2.0 + 2.1)
    middle = [1.0 if abs(a + d / 2 - 0.45) < 0.06 else 0.0 for a, d in zip(cells.lefts, cells.widths, strict=True)]
    assert price_bound(parts, cells, middle, False, belt.segments) <= 4.2 + 1e-9
    assert price_bound(parts, cells, [0.0] * len(cells.widths), False, belt.segments) == 0.0


def test_a_bound_between_two_sums_of_boards_is_raised_to_the_next() -> None:
    clean = exposure_over([], [(0.0, 1.0)])
    assert next_whole(4.01, [Part(0.2, 1.0, 9)], clean) == pytest.approx(5.0)
    worn = exposure_over([Strip(0.0, 0.5, 0.3)], [(0.0, 1.0)])
    assert next_whole(4.01, [Part(0.2, 1.0, 9)], worn) == pytest.approx(4.3)


def test_a_bound_on_a_sum_of_boards_stays_in_spite_of_rounding() -> None:
    clean = exposure_over([], [(0.0, 1.0)])
    assert next_whole(0.7 * 3 - 1e-12, [Part(0.2, 0.7, 9)], clean) == pytest.approx(2.1)
    assert next_whole(0.1 + 0.2, [Part(0.2, 0.1, 9)], clean) == pytest.approx(0.3)


def test_loads_without_a_common_measure_leave_the_bound_alone() -> None:
    clean = exposure_over([], [(0.0, 1.0)])
    assert next_whole(4.01, [Part(0.2, 3.14159265, 9)], clean) == 4.01


def test_prior_wear_only_raises_the_bound() -> None:
    parts = [Part(0.2, 1.0, 10)]
    assert wear_bound(parts, Usable(0.9)) <= wear_bound(parts, Usable(0.9), [Strip(0.2, 0.3, 30.0)]) == 30.0
