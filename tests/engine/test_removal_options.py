from __future__ import annotations

from dataclasses import replace

from preflight.engine.abrasives import Grit
from preflight.engine.cutting_head import Cut, CuttingHead, HeadMotor, head_cap
from preflight.engine.removal import CapTable
from preflight.engine.removal_job import RemovalJob
from preflight.engine.removal_options import Change, advise, planned
from preflight.engine.removal_plan import NoPlan, RemovalPlan

MM = 1e-3
CAPS = CapTable({Grit("P", 80): 0.61 * MM, Grit("P", 150): 0.165 * MM})
CUT = Cut(width=0.94, feed_speed=0.1, density=650.0)
DRUM = CuttingHead("1", Grit("P", 100), CAPS, 0.30)
FINISH = CuttingHead("2", Grit("P", 150), CAPS, 0.30)
PLATEN = CuttingHead("2", Grit("P", 180), CAPS, 0.18, maximum=0.05 * MM, platen=True, coarsest=Grit("P", 150))


def test_one_grit_coarser_on_head_one_saves_a_pass() -> None:
    advice = advise(RemovalJob(0.7 * MM), [DRUM, FINISH], CUT)
    assert isinstance(advice.plan, RemovalPlan)
    assert len(advice.plan.passes) == 2
    assert advice.options[0].changes == (Change("1", grit=Grit("P", 80)),)
    assert len(advice.options[0].plan.passes) == 1


def test_slower_feed_is_offered_where_the_motor_binds() -> None:
    weak = [replace(DRUM, motor=HeadMotor(5.5e3, 0.70, 0.90)), replace(FINISH, motor=HeadMotor(5.5e3, 0.70, 0.90))]
    advice = advise(RemovalJob(0.4 * MM), weak, CUT, count=9)
    assert isinstance(advice.plan, RemovalPlan)
    feeds = [option for option in advice.options if option.changes[0].feed_speed is not None]
    assert len(feeds) == 1
    assert len(feeds[0].plan.passes) < len(advice.plan.passes)


def test_slower_feed_is_not_offered_where_it_changes_nothing() -> None:
    advice = advise(RemovalJob(0.4 * MM), [DRUM, FINISH], CUT, count=9)
    assert all(change.feed_speed is None for option in advice.options for change in option.changes)


def test_the_grit_of_a_head_that_stays_lifted_is_no_alternative() -> None:
    advice = advise(RemovalJob(0.05 * MM), [DRUM, FINISH], CUT, count=9)
    assert all(change.grit is None for option in advice.options for change in option.changes)


def test_the_finishing_grit_is_left_alone_while_a_plan_holds() -> None:
    advice = advise(RemovalJob(0.5 * MM), [DRUM, FINISH], CUT, count=9)
    assert all(change.head != "2" for option in advice.options for change in option.changes)


def test_alternatives_come_best_first_and_at_most_as_many_as_asked() -> None:
    advice = advise(RemovalJob(1.2 * MM), [DRUM, FINISH], CUT)
    ranks = [(len(option.plan.passes), option.plan.peak_load) for option in advice.options]
    assert len(ranks) == 2
    assert ranks == sorted(ranks)


def test_a_platen_that_cannot_erase_gets_the_nearest_change_that_works() -> None:
    coarse = replace(DRUM, grit=Grit("P", 80), can_lift=False)
    advice = advise(RemovalJob(0.3 * MM), [coarse, replace(PLATEN, can_lift=False)], CUT)
    assert isinstance(advice.plan, NoPlan)
    assert advice.plan.head == "2"
    assert advice.options[0].changes == (Change("1", grit=Grit("P", 100)),)


def test_two_changes_are_tried_only_when_no_single_one_helps() -> None:
    # The scratches of P80 (60 µm) or P100 (49 µm) against a motor good for 25 µm, or 50 µm at half the feed.
    coarse = replace(DRUM, grit=Grit("P", 80), can_lift=False)
    weak = replace(PLATEN, grit=Grit("P", 220), can_lift=False, motor=HeadMotor(1150.0, 0.70, 0.90))
    advice = advise(RemovalJob(0.3 * MM), [coarse, weak], CUT, count=9)
    assert isinstance(advice.plan, NoPlan)
    assert advice.options
    assert all(len(option.changes) == 2 for option in advice.options)
    wanted = (Change("1", grit=Grit("P", 100)), Change(feed_speed=0.05))
    assert wanted in [option.changes for option in advice.options]


def test_every_option_keeps_the_caps_of_the_heads_it_names() -> None:
    for total in (0.2, 0.6, 1.5):
        advice = advise(RemovalJob(total * MM), [DRUM, FINISH], CUT, count=9)
        for option in advice.options:
            heads = {head.id: head for head in (DRUM, FINISH)}
            for change in option.changes:
                if change.grit is not None:
                    heads[change.head] = replace(heads[change.head], grit=change.grit)
            for one in option.plan.passes:
                for share in one.shares:
                    assert share.take <= head_cap(heads[share.head], CUT).cap
                    assert share.take >= share.need - 1e-12


def test_a_grit_barred_from_its_head_is_never_offered() -> None:
    limited = replace(DRUM, coarsest=Grit("P", 100), finest=Grit("P", 100))
    advice = advise(RemovalJob(0.7 * MM), [limited, FINISH], CUT, count=9)
    assert all(change.grit is None for option in advice.options for change in option.changes)


def test_planned_is_the_plan_of_advise() -> None:
    job = RemovalJob(0.5 * MM)
    assert planned(job, [DRUM, FINISH], CUT) == advise(job, [DRUM, FINISH], CUT).plan


def test_a_hopeless_total_gets_no_options_and_the_most_that_works() -> None:
    advice = advise(RemovalJob(50 * MM), [DRUM, FINISH], CUT)
    assert isinstance(advice.plan, NoPlan)
    assert advice.plan.nearest_total is not None
    assert advice.options == ()
