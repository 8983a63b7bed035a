"""Laws every feed plan obeys."""

from __future__ import annotations

import itertools
from math import fsum
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from preflight.engine.boards import Part, Usable, loads_of
from preflight.engine.coverage import Strip, exposure_over
from preflight.engine.lane_search import LaneSearch
from preflight.engine.lanes import LEAST_GAP, FeedPlan, evaluate, plan

if TYPE_CHECKING:
    from preflight.engine.lane_search import Feeds

Job = tuple[list[Part], Usable, list[Strip]]
LAWS = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Some sizes on a belt with margins, perhaps a keep-off strip, perhaps worn."""
    width = draw(st.integers(40, 90))
    left = draw(st.integers(0, 3))
    keep_off: tuple[tuple[float, float], ...] = ()
    widest = width
    if draw(st.booleans()):
        at = draw(st.integers(10, width - 10))
        keep_off = (((left + at) / 100, (left + at + 3) / 100),)
        widest = max(at, width - at - 3)
    part = st.builds(
        Part,
        width=st.integers(5, widest).map(lambda n: n / 100),
        length=st.integers(4, 20).map(lambda n: n / 10),
        count=st.integers(0, 12),
        weight=st.sampled_from([1.0, 1.0, 0.6, 2.5]),
    )
    parts = draw(st.lists(part, min_size=1, max_size=4))
    return parts, Usable(width / 100, left / 100, keep_off), draw(wear_on(width, left))


def wear_on(width: int, left: int) -> st.SearchStrategy[list[Strip]]:
    strip = st.tuples(st.integers(0, width - 1), st.integers(1, 30), st.integers(0, 80)).map(
        lambda t: Strip((left + t[0]) / 100, (left + min(width, t[0] + t[1])) / 100, t[2] / 10)
    )
    return st.lists(strip, max_size=4)


def all_rows_are_sound(found: FeedPlan, parts: list[Part], belt: Usable, gap: float) -> None:
    for row in found.rows:
        assert row, "no empty feed"
        spans = [(p.left_edge, p.left_edge + parts[p.part].width) for p in row]
        for (_, b), (a, _) in itertools.pairwise(spans):
            assert a - b >= gap - 1e-8
        for a, b in spans:
            assert a >= belt.left - 1e-8
            assert b <= belt.right + 1e-8
            assert all(b <= s + 1e-8 or a >= t - 1e-8 for s, t in belt.keep_off)


@LAWS
@given(jobs(), st.sampled_from(["evenest", "fewest", 0, 3]))
def test_boards_stay_inside_apart_and_off_the_keep_off_strips(job: Job, feeds: Feeds) -> None:
    parts, belt, wear = job
    found = plan(parts, belt, wear, feeds=feeds)
    all_rows_are_sound(found, parts, belt, 0.025)
    assert [sum(p.part == i for p in found.placements) for i in range(len(parts))] == [p.count for p in parts]
    if feeds != "evenest":
        assert found.feeds <= found.fewest_feeds + (feeds if isinstance(feeds, int) else 0)


@LAWS
@given(jobs())
def test_total_exposure_is_the_area_of_the_boards_and_the_wear(job: Job) -> None:
    parts, belt, wear = job
    found = plan(parts, belt, wear)
    before = evaluate([], [], belt, wear).exposure.total
    area = fsum(p.count * p.length * p.weight * p.width for p in parts)
    # Ends nearer than 1e-9 of the width are one end: each board's two ends may move by that.
    merged = 2e-9 * belt.width * fsum(p.count * p.load for p in parts)
    assert found.exposure.total == pytest.approx(before + area, rel=1e-12, abs=merged + 1e-12)


@LAWS
@given(jobs())
def test_shares_lie_between_nothing_and_one_and_the_bound_below_the_peak(job: Job) -> None:
    parts, belt, wear = job
    found = plan(parts, belt, wear)
    assert found.centre is not None
    for each in (found, found.centre):
        for share in (each.share_of_best, each.mean_over_peak, each.lowest_over_peak):
            assert 0.0 <= share <= 1.0
        assert each.lowest_over_peak <= each.mean_over_peak + 1e-12
        assert each.bound <= each.peak
    assert found.peak <= found.centre.peak * (1.0 + 1e-9)


@LAWS
@given(jobs(), st.sampled_from([None, 5, 10]))
def test_the_mirrored_job_has_the_mirrored_plans_peak(job: Job, places: int | None) -> None:
    parts, belt, wear = job
    parts = [p for p in parts if p.width <= 0.1] if belt.keep_off and places else parts
    mirrored = [Strip(belt.flip(s.end), belt.flip(s.start), s.exposure) for s in wear]
    there = plan(parts, belt, wear, places=places)
    back = plan(parts, belt.mirrored(), mirrored, places=places)
    assert back.peak == pytest.approx(there.peak, rel=1e-9)
    assert back.feeds == there.feeds
    assert back.bound == pytest.approx(there.bound, rel=1e-9)


@LAWS
@given(jobs(), st.data())
def test_adding_prior_wear_never_lowers_the_peak(job: Job, data: st.DataObject) -> None:
    parts, belt, wear = job
    more = data.draw(wear_on(round(belt.width * 100), round(belt.left * 100)))
    less, worn = plan(parts, belt, wear), plan(parts, belt, [*wear, *more])
    assert worn.peak >= less.peak * (1.0 - 1e-9)
    # The same places on the worn belt: no lower either.
    assert evaluate(less.placements, parts, belt, [*wear, *more]).peak >= less.peak * (1.0 - 1e-9)


@LAWS
@given(jobs(), st.sampled_from([None, 5, 10]))
def test_no_search_proves_a_bound_above_what_it_reaches(job: Job, places: int | None) -> None:
    # The plan shows the lower of the two, which would hide a bound that is wrong.
    parts, belt, wear = job
    parts = [p for p in parts if p.width <= 0.1] if belt.keep_off and places else parts
    search = LaneSearch(parts, belt, exposure_over(wear, belt.segments), places, LEAST_GAP, seed=0)
    placements = search.placements(search.run("evenest"))
    reached = exposure_over([*wear, *loads_of(parts, placements)], belt.segments).peak
    assert search.bound <= reached * (1.0 + 1e-9)


@LAWS
@given(jobs())
def test_judging_a_plan_again_finds_the_same_figures(job: Job) -> None:
    parts, belt, wear = job
    found = plan(parts, belt, wear)
    again = evaluate(found.placements, parts, belt, wear)
    assert (again.peak, again.feeds, again.unused_width) == (found.peak, found.feeds, found.unused_width)
    assert again.bound == pytest.approx(found.bound, rel=1e-9)
