"""Removal: caps, platen, needs, motors and passes of shares given, and the plan where none are."""

from __future__ import annotations

import math
from typing import Any

import pytest
from builders import machine, sheet, view
from pydantic import ValidationError
from why_panel import by_subject

from preflight.checks.backing import check as backing
from preflight.checks.finding import Finding, Verdict
from preflight.checks.removal import check as removal
from preflight.engine.widest_row import widest_row
from preflight.quantities import Quantity

INCH_DEFAULTS: dict[str, Any] = {"units": "inch", "removal_caps": {}, "heads.1.removal": None, "heads.1.motor": None}
PLAN = {"removal.share": None, "removal.passes": None}
DOWN = {"belts.2.platen": "down"}
NEUTRAL_WOOD = {"material": "", "density": "650 kg/m3"}


def found(changes: dict[str, Any] | None = None, **shop: Any) -> dict[str, Finding]:
    return by_subject(removal.check(sheet(changes), view(shop.pop("machine", None), **shop), None))


def test_a_sheet_in_order_has_only_ok_findings() -> None:
    assert {f.verdict for f in found().values()} == {Verdict.OK}


# Common practice, no source: P80 takes 0.024 in at most, P150 0.006 to 0.007 in, finer less.
@pytest.mark.parametrize(
    ("grit", "share", "verdict"),
    [
        ("P80", "0.019 in", Verdict.OK),
        ("P80", "0.024 in", Verdict.CAUTION),
        ("P80", "0.025 in", Verdict.STOP),
        ("P60", "0.025 in", Verdict.STOP),
        ("P150", "0.005 in", Verdict.OK),
        ("P150", "0.006 in", Verdict.CAUTION),
        ("P150", "0.0071 in", Verdict.STOP),
        ("P180", "0.006 in", Verdict.STOP),
    ],
)
def test_default_caps_by_grit(grit: str, share: str, verdict: Verdict) -> None:
    finding = found({"removal.share.1": share}, machine=INCH_DEFAULTS, belt_1={"grit": grit}, job_changes=NEUTRAL_WOOD)[
        "head 1"
    ]
    assert finding.verdict is verdict
    assert finding.source.startswith("default")


def test_a_share_beyond_its_cap_says_by_how_much_and_in_how_many_passes() -> None:
    finding = found({"removal.share.1": "0.030 in"}, machine=INCH_DEFAULTS, job_changes=NEUTRAL_WOOD)["head 1"]
    assert "0.030 in is 0.006 in over the limit (at most 0.024 in)" in finding.statement
    assert finding.remedy == "Take it in 2 passes of 0.015 in."


def test_a_cap_between_rows_is_interpolated_and_a_fine_grit_is_offered_a_coarser_one() -> None:
    """Log-log in grain size between 0.024 in at P80 and 0.0065 in at P150: 0.0099 in at P120."""
    finding = found(
        {"removal.share.1": "0.0120 in"}, machine=INCH_DEFAULTS, belt_1={"grit": "P120"}, job_changes=NEUTRAL_WOOD
    )["head 1"]
    assert finding.high is not None
    assert finding.high.to("in") == pytest.approx(0.0099, rel=0.01)
    assert "one grit coarser" in finding.remedy
    assert "between P80 and P150" in finding.workings


def test_the_profiles_own_caps_and_head_maximum_decide() -> None:
    assert found()["head 2"].basis == "removal_caps.P150"
    finding = found(machine={"heads.1.removal": {"high": "0.35 mm"}})["head 1"]
    assert finding.verdict is Verdict.STOP
    assert finding.basis == "heads.1.removal"
    assert "0.03 mm over" in finding.statement


def test_hard_wood_and_fast_feed_only_lower_a_cap() -> None:
    def cap(job: dict[str, Any], feed: str) -> float:
        finding = found({"removal.feed_speed": feed}, job_changes=job)["head 1"]
        assert finding.high is not None
        return finding.high.value

    usual = cap({"density": "650 kg/m3"}, "6 m/min")
    assert cap({"density": "450 kg/m3"}, "3 m/min") == usual
    assert cap({"density": "750 kg/m3"}, "6 m/min") == pytest.approx(usual * 650 / 750)
    assert cap({"density": "650 kg/m3"}, "12 m/min") == pytest.approx(usual / 2)


# Common practice, no source: a platen never more than 0.002 in, and only with 150 or finer.
@pytest.mark.parametrize(
    ("share", "verdict"), [("0.0015 in", Verdict.OK), ("0.002 in", Verdict.CAUTION), ("0.0021 in", Verdict.STOP)]
)
def test_a_platen_takes_two_thou_at_most(share: str, verdict: Verdict) -> None:
    profile = {"heads.2.platen": None, "heads.2.kind": "platen", "units": "inch"}
    finding = found({**DOWN, "removal.share.2": share}, machine=profile)["head 2"]
    assert finding.verdict is verdict
    assert finding.source.startswith("default")
    if verdict is Verdict.STOP:
        assert "0.0001 in over" in finding.statement
        assert "it does not cut" in finding.remedy


@pytest.mark.parametrize(
    ("grit", "platen", "stops"),
    [("P120", "down", ["head 2 platen grit"]), ("P150", "down", []), ("P60", "lifted", ["head 2 coarsest grit"])],
)
def test_a_grit_that_may_not_run_on_its_head_is_one_stop_at_the_backing_station(
    grit: str, platen: str, stops: list[str]
) -> None:
    changes, card = {"belts.2.platen": platen, "removal.share.2": "0.04 mm"}, {"grit": grit}
    findings = [
        *removal.check(sheet(changes), view(belt_2=card), None),
        *backing.check(sheet(changes), view(belt_2=card), None),
    ]
    stopped = [f.subject for f in findings if f.verdict is Verdict.STOP and f.subject.endswith("grit")]
    assert [subject for subject in stopped if "ordered" not in subject] == stops


def test_platen_rules_do_not_hold_while_it_is_lifted() -> None:
    assert found({"removal.share.2": "0.10 mm"})["head 2"].verdict is Verdict.OK


def test_a_share_too_small_to_erase_the_head_before_is_a_stop() -> None:
    """0.30 x 201 um of P80 = 60 um; factor from memory."""
    finding = found({"removal.share.2": "0.05 mm"})["head 2 need"]
    assert finding.verdict is Verdict.STOP
    assert "0.01 mm too little" in finding.statement
    assert "erasing head 1 (P80) takes at least 0.06 mm" in finding.statement
    assert "one grade finer on the head before" in finding.remedy
    assert found({"removal.share.2": "0.0604 mm"})["head 2 need"].verdict is Verdict.OK


def test_a_spread_wider_than_the_first_share_asks_for_sorting() -> None:
    finding = found({"stock.thickness": ["27.9 mm", "27.4 mm"]})["head 1 need"]
    assert finding.verdict is Verdict.CAUTION
    assert "spreads by 0.5 mm" in finding.statement
    assert "sort the lot" in finding.remedy


def test_a_spread_beyond_the_first_cut_says_within_what_to_sort() -> None:
    finding = found({**PLAN, "stock.thickness": ["28.4 mm", "27.2 mm"]})["plan"]
    assert finding.verdict is Verdict.STOP
    assert "sort the lot" in finding.statement
    assert finding.remedy.startswith("Sort the lot to within 0.485 mm")


# Common practice, no source: P80 at 0.61 mm, 6 m/min, 650 kg/m3, 635 mm wide is 10.9 kW: 145 % of 7.5 kW.
def test_the_motor_often_binds_before_the_grit() -> None:
    finding = found(
        {"removal.share": {"1": "0.61 mm", "2": "0.07 mm"}},
        machine={"heads.1.motor.power": "7.5 kW", "conveyor.working_width": "665 mm"},
        job_changes={**NEUTRAL_WOOD, "parts.1.width": "635 mm"},
    )["head 1 motor"]
    assert finding.verdict is Verdict.STOP
    assert "145%, over 90%, 635 mm of wood abreast" in finding.statement
    assert "Slow the feed to 3.7 m/min" in finding.remedy
    assert "at most 0.37" in finding.remedy


@pytest.mark.parametrize(
    ("power", "verdict"), [("15 kW", Verdict.OK), ("12 kW", Verdict.CAUTION), ("11 kW", Verdict.STOP)]
)
def test_motor_load_is_looked_at_from_70_and_stopped_from_90_percent(power: str, verdict: Verdict) -> None:
    finding = found(machine={"heads.1.motor.power": power})["head 1 motor"]
    assert finding.verdict is verdict
    assert bool(finding.actions) is (verdict is Verdict.CAUTION)


def test_a_feed_below_the_machines_slowest_is_not_advised() -> None:
    profile = {"heads.1.motor.power": "3 kW"}
    assert "Slow the feed" not in found(machine=profile)["head 1 motor"].remedy


def test_the_widest_row_mixes_sizes_within_their_counts() -> None:
    assert widest_row([(0.180, 2)], 0.910) == pytest.approx(0.360)
    assert widest_row([(0.300, 9), (0.155, 2)], 0.910) == pytest.approx(0.910)
    assert widest_row([(0.182, 5)], 0.910) == pytest.approx(0.910)
    assert widest_row([(1.2, 3)], 0.910) == 0


def test_a_share_ten_times_too_large_is_asked_about_beside_the_stop() -> None:
    findings = found({"removal.share.1": "3.8 mm"})
    assert findings["head 1"].verdict is Verdict.STOP
    assert findings["head 1 unit"].verdict is Verdict.OPEN
    assert "was 0.38 mm meant?" in findings["head 1 unit"].statement


def test_passes_needed_are_said_and_too_few_leave_wood_standing() -> None:
    assert "2 passes" in found({"stock.thickness": ["28.8 mm"], "removal.passes": None})["passes"].statement
    finding = found({"stock.thickness": ["28.8 mm"]})["passes"]
    assert finding.verdict is Verdict.STOP
    assert "leaves 0.45 mm standing" in finding.statement
    assert finding.remedy == "Plan 2 passes, or other shares."


def test_shares_beyond_the_total_take_too_much() -> None:
    finding = found({"stock.thickness": ["27.6 mm"]})["passes"]
    assert finding.verdict is Verdict.CAUTION
    assert "takes 0.15 mm too much" in finding.statement


def test_beads_standing_count_on_top_of_the_first_share() -> None:
    finding = found({"glue.bead_height": "0.2 mm"})["head 1"]
    assert finding.verdict is Verdict.STOP
    assert "0.38 mm and 0.2 mm of bead" in finding.statement


def test_nothing_to_take_off_is_a_stop() -> None:
    finding = found({"stock.thickness": ["26.9 mm"]})["plan"]
    assert finding.verdict is Verdict.STOP
    assert "0.1 mm below the target" in finding.statement


@pytest.mark.parametrize(
    ("changes", "subject", "asks"),
    [
        ({"job": None}, "job", "job"),
        ({"stock.thickness": []}, "thickest piece", "stock.thickness"),
        ({"belts.2": None}, "head 2", "belts.2"),
        ({"belts.2.platen": None}, "head 2", "belts.2.platen"),
        ({"removal.share": {"1": "0.38 mm"}}, "head 2", "removal.share.2"),
        ({"belts.2.lifted": True}, "head 2", "removal.share.2"),
        ({"removal.share.9": "0.1 mm"}, "head 9", "removal.share.9"),
    ],
)
def test_what_is_not_answered_is_open(changes: dict[str, Any], subject: str, asks: str) -> None:
    finding = found(changes)[subject]
    assert finding.verdict is Verdict.OPEN
    assert finding.asks == asks


def test_without_shares_the_computed_plan_is_accepted_and_shown() -> None:
    findings = found(PLAN)
    assert {f.verdict for f in findings.values()} == {Verdict.OK}
    assert findings["plan"].statement == "Plan: 1 pass for 0.45 mm a face at 6 m/min."
    assert "pass 1: head 1" in findings["plan"].workings
    assert "or P" in findings["plan"].workings
    assert "margin" in findings["head 1"].workings


def test_the_plan_keeps_to_the_feed_limits_of_the_machine() -> None:
    fast = {"conveyor.feed_speed": {"low": "8 m/min"}}
    assert "8 m/min" in found({**PLAN, "removal.feed_speed": None}, machine=fast)["plan"].statement


def test_without_a_plan_it_says_why_and_the_nearest_that_works() -> None:
    """P80 on rubber leaves 60 um, a platen takes 50: no place for it."""
    finding = found({**PLAN, **DOWN})["plan"]
    assert finding.verdict is Verdict.STOP
    assert "head 2 may not take enough to erase the scratches before it" in finding.statement
    assert "P100 on head 1" in finding.remedy


def test_plan_for_gives_shares_passes_and_feed_speed() -> None:
    given = removal.plan_for(sheet({"removal.feed_speed": "5 m/min"}), view())
    assert given is not None
    assert given.given
    assert [dict(one) for one in given.passes] == [{"1": pytest.approx(0.38e-3), "2": pytest.approx(0.07e-3)}]
    assert given.feed_speed == pytest.approx(5 / 60)
    assert given.cut_width == pytest.approx(0.900)
    computed = removal.plan_for(sheet({**PLAN, "stock.thickness": ["29.0 mm"]}), view())
    assert computed is not None
    assert not computed.given
    assert len(computed.passes) == 2
    assert math.fsum(math.fsum(one.values()) for one in computed.passes) == pytest.approx(1e-3)
    assert computed.most["1"] == max(one["1"] for one in computed.passes)


def test_plan_for_knows_nothing_while_a_fact_is_open_and_has_no_pass_when_nothing_holds() -> None:
    assert removal.plan_for(sheet({**PLAN, "job": None}), view()) is None
    none_holds = removal.plan_for(sheet({**PLAN, **DOWN}), view())
    assert none_holds is not None
    assert none_holds.passes == ()


def test_caps_that_contradict_each_other_are_open_not_an_error() -> None:
    assert found(machine={"removal_caps": {"P60": "0.1 mm", "P150": "0.2 mm"}})["caps"].verdict is Verdict.OPEN


@pytest.mark.parametrize(
    "changes",
    [
        {"removal.share.1": "0 mm"},
        {"removal.share": {}},
        {"stock.thickness": ["0 mm"]},
        {"stock.thickness": ["279 mm"], **PLAN},
    ],
)
def test_senseless_readings_give_findings_not_errors(changes: dict[str, Any]) -> None:
    assert any(f.verdict >= Verdict.OPEN for f in found(changes).values())


def test_a_feed_speed_of_nothing_is_planned_instead() -> None:
    planned = removal.plan_for(sheet({"removal.feed_speed": "0 m/min"}), view())
    assert planned is not None
    assert planned.feed_speed == pytest.approx(0.1)


def test_the_removal_test_shows_that_head_2_does_all_the_work() -> None:
    test = {"before": "27.90 mm", "after": ["27.88 mm", "27.45 mm"]}
    findings = found({"removal.test": test})
    assert findings["head 1 take"].verdict is Verdict.CAUTION
    assert "really takes 0.02 mm, planned 0.38 mm: other heads do its work" in findings["head 1 take"].statement
    assert findings["head 2 take"].verdict is Verdict.STOP
    assert "over the limit" in findings["head 2 take"].statement
    assert "set them level" in findings["head 2 take"].remedy


def test_heads_that_take_their_share_are_ok() -> None:
    findings = found({"removal.test": {"before": "27.90 mm", "after": ["27.52 mm", "27.45 mm"]}})
    assert findings["head 1 take"].statement == "Head 1 really takes 0.38 mm, planned 0.38 mm."
    assert findings["head 1 take"].verdict is findings["head 2 take"].verdict is Verdict.OK
    assert "head 1 take" not in found()


@pytest.mark.parametrize(
    "changes",
    [
        {"removal.test": {"before": "27.90 mm", "after": ["27.45 mm"]}},
        {"removal.test": {"before": "27.90 mm", "after": ["27.9 mm", "27.9 mm"]}},
        {"removal.test": {"before": "27.90 mm", "after": ["27.5 mm", "27.4 mm"]}, "stock.instrument": None},
    ],
)
def test_a_removal_test_that_says_nothing_is_open(changes: dict[str, Any]) -> None:
    assert found(changes)["removal test"].verdict is Verdict.OPEN


def test_a_profile_may_state_how_much_of_its_motor_a_cut_may_take() -> None:
    weak = {"heads.1.motor.power": "20 kW"}
    usual = found(machine=weak)["head 1 motor"]
    share = usual.measured.value / 20e3 if isinstance(usual.measured, Quantity) else 0.0
    assert usual.source.startswith("default: common practice, no source")
    assert "look from 70%, stop from 90%" in usual.source
    own = {"high": share - 0.01, "caution_high": share - 0.05}
    finding = found(machine={**weak, "heads.1.motor.load": own})["head 1 motor"]
    assert (usual.verdict, finding.verdict) == (Verdict.OK, Verdict.STOP)
    assert f"over {own['high']:.0%}" in finding.statement
    assert finding.source.startswith("machine book, rev. C")
    assert finding.basis == "heads.1.motor.load"


def test_bounds_of_a_motors_load_stand_in_order() -> None:
    with pytest.raises(ValidationError, match="caution_high is above high"):
        machine({"heads.1.motor.load": {"high": 0.6, "caution_high": 0.7}})
