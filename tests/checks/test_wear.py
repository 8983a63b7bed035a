"""The wear map as a law of conservation, and a month of the bundled jobs fed three ways."""

from __future__ import annotations

import doctest
from datetime import UTC, datetime
from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.checks.feed import feed_run, wear
from preflight.checks.feed.feed_task import FeedTask, planned, task_of
from preflight.checks.feed.wear import STRIP, WearMap, worn_map
from preflight.engine.boards import Placement, loads_of
from preflight.engine.coverage import Exposure, Strip, exposure_over
from preflight.history import History, WearStrip
from preflight.sheet import SetupSheet
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.shop.view import ShopView

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType

LEFT, WIDTH = 0.015, 0.910


@given(st.lists(st.tuples(st.floats(0.015, 0.82), st.floats(0.01, 0.1), st.floats(0.0, 500.0)), max_size=12))
@settings(max_examples=60)
def test_the_map_keeps_the_area_that_was_passed(boards: list[tuple[float, float, float]]) -> None:
    loads = [Strip(a, a + w, metres) for a, w, metres in boards]
    found = worn_map(LEFT, WIDTH, [], loads)
    passed = sum(load.width * load.exposure for load in loads)
    assert sum(found.metres) * STRIP == pytest.approx(passed, abs=1e-3)
    assert len(found.metres) == 91


@given(st.floats(0.0, 300.0), st.floats(0.02, 0.5))
@settings(max_examples=40)
def test_feeding_more_never_lowers_a_strip_and_a_map_read_back_is_the_same(metres: float, at: float) -> None:
    first = worn_map(LEFT, WIDTH, [], [Strip(at, at + 0.2, metres)])
    again = worn_map(LEFT, WIDTH, first.strips, [])
    assert again.metres == pytest.approx(first.metres, abs=2e-3)
    more = worn_map(LEFT, WIDTH, first.strips, [Strip(0.1, 0.3, 5.0)])
    assert all(b >= a - 2e-3 for a, b in zip(first.metres, more.metres, strict=True))


def test_wood_beside_the_usable_width_is_not_counted() -> None:
    assert sum(worn_map(0.1, 0.1, [], [Strip(0.0, 0.1, 50.0), Strip(0.2, 0.3, 50.0)]).metres) == 0.0


@pytest.mark.parametrize("metres", [-1.0, float("nan"), float("inf")])
def test_a_strip_that_passed_what_nothing_can_is_refused(metres: float) -> None:
    with pytest.raises(ValueError, match="from zero on"):
        WearMap(0.0, (metres,))


def test_a_map_needs_a_width() -> None:
    with pytest.raises(ValueError, match="width"):
        worn_map(0.0, 0.0, [], [])


@pytest.mark.parametrize("module", [feed_run, wear])
def test_the_worked_examples_hold(module: ModuleType) -> None:
    found = doctest.testmod(module)
    assert found.attempted > 0
    assert found.failed == 0


# a month of the bundled jobs -------------------------------------------------------------------------------------

MONTH = 21
"""Working days."""


def as_planned(task: FeedTask) -> list[Placement]:
    return list(planned(task).placements)


def down_the_middle(task: FeedTask) -> list[Placement]:
    return _at(task, [0.5])


def in_thirds(task: FeedTask) -> list[Placement]:
    return _at(task, [0.0, 0.5, 1.0])


def _at(task: FeedTask, shares: list[float]) -> list[Placement]:
    lefts = [[task.belt.left + share * (task.belt.width - p.width) for share in shares] for p in task.parts]
    boards = [(part, n) for part, p in enumerate(task.parts) for n in range(p.count)]
    return [Placement(part, lefts[part][n % len(shares)], row) for row, (part, n) in enumerate(boards)]


def worn_after_a_month(feeding: Callable[[FeedTask], list[Placement]], days: int = MONTH) -> Exposure:
    """Two jobs a day in an order of their own, each planned on the wear that the same way of feeding has left."""
    shop, random = shop_at(None), Random(4)
    machine = shop.load(Machine, "hall-two").value
    jobs = [shop.load(JobCard, ref).value for ref in shop.ids(JobCard)]
    cards = {"H-204": shop.load(BeltCard, "H-204").value}
    view = ShopView(machine, "0" * 64, belts=cards)
    sheet = SetupSheet.model_validate(
        {
            "schema": 1,
            "machine": "hall-two",
            "at": datetime(2026, 11, 2, 6, 40, tzinfo=UTC),
            "belts": [{"head": "1", "card": "H-204"}],
        }
    )
    worn: tuple[WearStrip, ...] = ()
    for _ in range(days):
        for job in random.sample(jobs, 2):
            task = task_of(sheet, view, job, History(belt_wear={"H-204": worn}), job.faces)
            assert isinstance(task, FeedTask)
            worn = worn_map(LEFT, WIDTH, worn, loads_of(task.parts, feeding(task))).strips
    return exposure_over([Strip(s.left, s.right, s.metres) for s in worn], [(LEFT, LEFT + WIDTH)])


def test_a_month_by_the_plans_wears_twice_as_evenly_as_the_middle_and_better_than_thirds() -> None:
    """Peak over mean of the belt after the month; the jobs are the bundled cards, the order drawn once."""
    plans, middle, thirds = (
        1.0 / worn_after_a_month(way).mean_over_peak for way in (as_planned, down_the_middle, in_thirds)
    )
    print(f"peak over mean after a month: plans {plans:.3f}, middle {middle:.3f}, thirds {thirds:.3f}")
    assert middle >= 2.0 * plans
    assert thirds > plans
