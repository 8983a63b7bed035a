from __future__ import annotations

from dataclasses import replace

import pytest

from preflight.engine.removal_job import PlanHead, RemovalJob
from preflight.engine.removal_plan import NoPlan, RemovalPlan, plan_removal
from preflight.engine.removal_reach import LEAST_CUT

MM = 1e-3
DRUM = PlanHead("1", grain_size=201e-6, cap=0.61 * MM, scratch=0.060 * MM, comfort=0.488 * MM)
FINISH = PlanHead("2", grain_size=100e-6, cap=0.165 * MM, scratch=0.030 * MM, comfort=0.132 * MM)
PLATEN = PlanHead("3", grain_size=82e-6, cap=0.05 * MM, scratch=0.015 * MM, comfort=0.04 * MM, platen=True)


def planned(job: RemovalJob, *heads: PlanHead, max_passes: int = 12, min_passes: int = 1) -> RemovalPlan:
    plan = plan_removal(job, heads, max_passes=max_passes, min_passes=min_passes)
    assert isinstance(plan, RemovalPlan), plan
    return plan


def refused(job: RemovalJob, *heads: PlanHead, max_passes: int = 12) -> NoPlan:
    plan = plan_removal(job, heads, max_passes=max_passes)
    assert isinstance(plan, NoPlan), plan
    return plan


def lowered(plan: RemovalPlan) -> list[list[str]]:
    return [[share.head for share in one.shares] for one in plan.passes]


def test_both_drums_share_one_pass_at_a_level_load() -> None:
    plan = planned(RemovalJob(0.5 * MM), DRUM, FINISH)
    assert lowered(plan) == [["1", "2"]]
    first, second = plan.passes[0].shares
    assert first.load == pytest.approx(second.load)
    assert plan.comfortable


def test_the_last_pass_has_the_finishing_head_lowered() -> None:
    plan = planned(RemovalJob(1.7 * MM), DRUM, FINISH)
    assert plan.passes[-1].shares[-1].head == "2"


def test_heads_are_lifted_in_early_passes_where_nothing_is_gained_by_them() -> None:
    plan = planned(RemovalJob(0.8 * MM), DRUM, FINISH)
    assert lowered(plan) == [["1"], ["1", "2"]]
    assert plan.passes[0].lifted == ("2",)


def test_a_small_total_goes_to_the_finishing_head_alone() -> None:
    plan = planned(RemovalJob(0.05 * MM), DRUM, FINISH)
    assert lowered(plan) == [["2"]]


def test_a_platen_takes_its_need_and_leaves_the_rest_to_the_drums() -> None:
    plan = planned(RemovalJob(0.5 * MM), DRUM, FINISH, PLATEN)
    platen = plan.passes[-1].shares[-1]
    assert platen.head == "3"
    assert platen.take == pytest.approx(FINISH.scratch)
    assert platen.erases == "2"


def test_a_platen_takes_more_than_its_need_only_when_the_drums_are_full() -> None:
    full = DRUM.cap + FINISH.cap + 0.045 * MM
    plan = planned(RemovalJob(full), DRUM, FINISH, PLATEN)
    takes = [share.take for share in plan.passes[0].shares]
    assert takes == pytest.approx([DRUM.cap, FINISH.cap, 0.045 * MM])
    assert "drums can give no more" in plan.passes[0].shares[2].reason
    assert not plan.comfortable


def test_a_total_of_exactly_the_sum_of_caps_takes_one_pass() -> None:
    plan = planned(RemovalJob(DRUM.cap + FINISH.cap), DRUM, FINISH)
    assert len(plan.passes) == 1
    assert plan.peak_load == pytest.approx(1.0)
    assert all(share.take <= share.cap for share in plan.passes[0].shares)
    assert plan.passes[0].shares[0].reason == "as much as it may"


def test_the_second_pass_erases_what_the_first_one_left() -> None:
    plan = planned(RemovalJob(0.8 * MM), DRUM, FINISH)
    again = plan.passes[1].shares[0]
    assert (again.erases, again.need) == ("1", DRUM.scratch)


def test_more_passes_can_be_asked_for_to_ease_the_load() -> None:
    quick = planned(RemovalJob(0.7 * MM), DRUM, FINISH)
    gentle = planned(RemovalJob(0.7 * MM), DRUM, FINISH, min_passes=2)
    assert (len(quick.passes), len(gentle.passes)) == (1, 2)
    assert gentle.peak_load < quick.peak_load
    assert (quick.comfortable, gentle.comfortable) == (False, True)


def test_the_bound_by_the_sum_of_caps_is_not_enough() -> None:
    # One pass could hold 0.4 mm by caps, but head 2 may not take the 0.06 mm that erase head 1: it works alone.
    weak = replace(FINISH, cap=0.05 * MM, comfort=0.04 * MM)
    plan = planned(RemovalJob(0.4 * MM), DRUM, weak)
    assert lowered(plan) == [["2"]] * 8


def test_a_head_that_cannot_lift_is_lowered_in_every_pass() -> None:
    fixed = replace(FINISH, can_lift=False)
    plan = planned(RemovalJob(0.8 * MM), DRUM, fixed)
    assert all("2" in heads for heads in lowered(plan))


def test_a_barred_head_stays_lifted_in_every_pass() -> None:
    barred = replace(DRUM, barred="its belt is torn")
    plan = planned(RemovalJob(0.3 * MM), barred, FINISH)
    assert lowered(plan) == [["2"], ["2"]]


def test_heads_that_run_fine_to_coarse_are_not_lowered_together() -> None:
    plan = planned(RemovalJob(0.3 * MM), replace(FINISH, id="1"), replace(DRUM, id="2"))
    assert lowered(plan) == [["2"]]


def test_the_first_cut_covers_marks_and_spread_so_that_thin_pieces_are_cut_too() -> None:
    plan = planned(RemovalJob(0.5 * MM, spread=0.3 * MM, marks=0.1 * MM), DRUM, FINISH)
    assert plan.passes[0].shares[0].take == pytest.approx(0.4 * MM)
    assert plan.passes[0].shares[0].erases == ""


def test_no_lowered_head_only_rubs() -> None:
    tiny = replace(DRUM, scratch=1e-9)
    plan = planned(RemovalJob(0.4 * MM), tiny, FINISH)
    assert all(share.need >= LEAST_CUT for one in plan.passes for share in one.shares)


def test_too_wide_a_spread_asks_for_sorting() -> None:
    none = refused(RemovalJob(0.9 * MM, spread=0.7 * MM), DRUM, FINISH)
    assert "sort the lot" in none.reason
    assert none.head == "1"
    assert none.nearest_spread == DRUM.cap
    planned(RemovalJob(0.9 * MM, spread=none.nearest_spread), DRUM, FINISH)


def test_too_little_to_take_names_the_least_that_works() -> None:
    fixed = (replace(DRUM, can_lift=False), replace(FINISH, can_lift=False))
    none = refused(RemovalJob(0.05 * MM), *fixed)
    assert "less to take off" in none.reason
    assert none.nearest_total == pytest.approx(LEAST_CUT + DRUM.scratch)


def test_too_much_to_take_names_the_most_that_works() -> None:
    none = refused(RemovalJob(5 * MM), DRUM, FINISH, max_passes=3)
    assert "more to take off than 3 passes" in none.reason
    assert none.nearest_total == pytest.approx(3 * (DRUM.cap + FINISH.cap))


def test_a_gap_between_reachable_totals_names_the_nearer_side() -> None:
    # Head 2 alone reaches 0.010 to 0.100 mm, both heads 0.110 mm and up.
    narrow = (
        PlanHead("1", 200e-6, cap=0.5 * MM, scratch=0.1 * MM, comfort=0.4 * MM),
        PlanHead("2", 100e-6, cap=0.1 * MM, scratch=0.09 * MM, comfort=0.1 * MM),
    )
    low = refused(RemovalJob(0.104 * MM), *narrow, max_passes=1)
    assert "falls between" in low.reason
    assert low.nearest_total == pytest.approx(0.1 * MM)
    assert low.nearest_total is not None
    assert plan_removal(RemovalJob(low.nearest_total), narrow, max_passes=1).__class__ is RemovalPlan


def test_a_barred_finishing_head_is_named_with_its_reason() -> None:
    none = refused(RemovalJob(0.3 * MM), DRUM, replace(FINISH, barred="P120 is coarser than P150"))
    assert none.reason == "head 2 cannot be used: P120 is coarser than P150"


def test_a_finishing_head_that_can_never_erase_is_named() -> None:
    fixed = replace(DRUM, can_lift=False)
    none = refused(RemovalJob(0.3 * MM), fixed, replace(FINISH, cap=0.05 * MM, comfort=0.05 * MM))
    assert none.head == "2"
    assert "erase" in none.reason


def test_fixed_heads_in_the_wrong_order_are_refused() -> None:
    none = refused(
        RemovalJob(0.3 * MM),
        replace(FINISH, id="1", can_lift=False),
        replace(DRUM, id="2", can_lift=False),
    )
    assert "coarse to fine" in none.reason


@pytest.mark.parametrize("total", [0.0, -1e-4, float("nan"), float("inf")])
def test_a_total_that_is_no_positive_number_is_refused(total: float) -> None:
    with pytest.raises(ValueError, match="nothing to take off"):
        RemovalJob(total)


def test_heads_and_passes_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="own id"):
        plan_removal(RemovalJob(1e-4), [DRUM, replace(FINISH, id="1")])
    with pytest.raises(ValueError, match="at least one head"):
        plan_removal(RemovalJob(1e-4), [])
    with pytest.raises(ValueError, match="passes"):
        plan_removal(RemovalJob(1e-4), [DRUM], max_passes=2, min_passes=3)
    with pytest.raises(ValueError, match="comfort"):
        replace(DRUM, comfort=1.0)
    with pytest.raises(ValueError, match="negative"):
        RemovalJob(1e-4, spread=-1e-5)


def test_a_total_that_meets_the_spread_only_by_rounding_still_has_a_plan() -> None:
    head = PlanHead("1", 239e-6, 206e-6, 60e-6, 206e-6, can_lift=False)
    plan = plan_removal(RemovalJob(4.627832135327172e-05, 4.627832135327172e-05, 1e-12), [head])
    assert isinstance(plan, RemovalPlan)
    assert len(plan.passes) == 1
