"""Run time, belt used, throughput: hand sums (computed)."""

from __future__ import annotations

import pytest

from preflight.engine.boards import Part, Usable
from preflight.engine.lanes import plan
from preflight.engine.throughput import (
    belt_area_used,
    extra_pass_time,
    feed_time,
    row_lengths,
    sanded_area,
    throughput,
)


def test_sixty_rows_in_two_passes_take_sixteen_minutes() -> None:
    assert feed_time([0.7] * 60, 0.1, 0.1, 2) == pytest.approx(16 * 60)


def test_one_more_pass_costs_the_time_of_one_pass() -> None:
    rows = [0.7, 0.9, 2.0]
    more = feed_time(rows, 0.1, 0.1, 3) - feed_time(rows, 0.1, 0.1, 2)
    assert extra_pass_time(rows, 0.1, 0.1) == pytest.approx(more)


def test_a_row_is_as_long_as_its_longest_board() -> None:
    parts = [Part(0.3, 0.7, 6), Part(0.3, 1.2, 6)]
    found = plan(parts, Usable(0.910, 0.015), feeds="fewest")
    lengths = row_lengths(parts, found.rows)
    assert len(lengths) == found.feeds
    assert set(lengths) <= {0.7, 1.2}


def test_area_and_throughput() -> None:
    assert sanded_area([Part(0.5, 2.0, 10), Part(0.1, 1.0, 5)]) == pytest.approx(10.5)
    assert throughput(10.5, 1800.0) == pytest.approx(21.0)


def test_only_the_touched_width_of_the_belt_is_used() -> None:
    assert belt_area_used(0.0, 0.910, 1.9) == pytest.approx(1.729)
    assert belt_area_used(0.730, 0.910, 1.9) == pytest.approx(0.342)


def test_impossible_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match="feed must run"):
        feed_time([1.0], 0.1, 0.0)
    with pytest.raises(ValueError, match="at least one pass"):
        feed_time([1.0], 0.1, 0.1, 0)
    with pytest.raises(ValueError, match="more than nothing"):
        throughput(1.0, 0.0)
    with pytest.raises(ValueError, match="between nothing"):
        belt_area_used(1.0, 0.9, 1.9)
