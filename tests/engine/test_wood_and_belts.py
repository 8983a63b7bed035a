"""Tracking and the per-head removal test: small engines, few tests each."""

from __future__ import annotations

import pytest

from preflight.engine.head_balance import head_takes, idle_heads
from preflight.engine.tracking import swing_ratio


def test_an_even_swing_has_ratio_one() -> None:
    assert swing_ratio(2.0, 2.0) == 1.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: swing_ratio(0.0, 1.0),
        lambda: head_takes(0.028, [], [], 5e-6),
        lambda: head_takes(0.028, [0.029], [1e-4], 5e-6),
        lambda: head_takes(0.028, [0.027], [1e-4], 0.0),
    ],
)
def test_values_out_of_range_are_refused(call: object) -> None:
    assert callable(call)
    with pytest.raises(ValueError):
        call()


def test_a_head_that_does_all_the_work_shows_against_the_plan() -> None:
    takes = head_takes(0.0280, [0.02799, 0.0275], [0.4e-3, 0.1e-3], 5e-6)
    assert [round(t.error * 1e6) for t in takes] == [-390, 390]
    assert takes[1].share == pytest.approx(0.98)
    assert idle_heads(takes) == [0]


def test_a_difference_within_the_reading_error_is_not_decided() -> None:
    takes = head_takes(0.0280, [0.02761, 0.0275], [0.4e-3, 0.1e-3], 5e-6)
    assert [t.decided for t in takes] == [False, False]
    assert idle_heads(takes) == []
