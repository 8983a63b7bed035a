"""Dressing the conveyor, marks read on the test board, and what else than the plan would do."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from builders import AT, machine, sheet, view
from why_panel import by_subject

from preflight.checks.condition import check as condition
from preflight.checks.finding import Finding, Verdict
from preflight.checks.removal.planned_removal import plan_for
from preflight.checks.removal.removal_choices import alternatives, what_if
from preflight.checks.test_board import check as test_board
from preflight.checks.test_board.board_marks import sources_of
from preflight.engine.abrasives import Grit
from preflight.engine.widest_row import widest_row
from preflight.history import History, WearStrip


def dressed(**how: Any) -> Finding:
    return by_subject(condition.check(sheet({"condition.dressing": how}), view(), None))["conveyor dressing"]


@pytest.mark.parametrize("grit", ["P120", "P150", "ANSI 120"])
def test_a_conveyor_is_dressed_with_120_or_finer(grit: str) -> None:
    """Common practice, no source: 120 and not coarser, other heads raised, by someone competent."""
    assert dressed(grit=grit, other_heads="raised", by="F. Aldous").verdict is Verdict.OK


@pytest.mark.parametrize("grit", ["P100", "P80", "ANSI 100"])
def test_a_coarser_dressing_stops_the_feed(grit: str) -> None:
    finding = dressed(grit=grit, other_heads="raised", by="F. Aldous")
    assert finding.verdict is Verdict.STOP
    assert "coarser than" in finding.statement


def test_heads_left_down_or_not_told_are_said() -> None:
    assert dressed(grit="P120", other_heads="lowered", by="F. Aldous").verdict is Verdict.STOP
    assert dressed(grit="P120", by="F. Aldous").verdict is Verdict.OPEN
    assert dressed(grit="P120", other_heads="raised").verdict is Verdict.OPEN


def board(changes: dict[str, Any], profile: dict[str, Any] | None = None) -> dict[str, Finding]:
    return by_subject(test_board.check(sheet(changes), view(profile), None))


def marks(span: str, count: int, profile: dict[str, Any] | None = None, **more: Any) -> Finding:
    return board({"test_board.marks": {"span": span, "count": count}, **more}, profile)["marks"]


def test_marks_at_the_pitch_of_the_belt_joint_name_it_and_the_test() -> None:
    """6 m/min, 1900 mm, 200 mm at 1480/min: 12.3 mm by p = v_f L / v_b; 12.4 is near, 15.5 at a quarter more feed."""
    finding = marks("124 mm", 10)
    assert finding.verdict is Verdict.CAUTION
    assert "12.4 mm from mark to mark: likeliest belt joint" in finding.statement
    assert "25% faster" in finding.remedy
    assert "15.5 mm" in finding.remedy
    assert "span / spaces" in finding.workings


def test_marks_at_the_pitch_of_the_drum_name_the_drum() -> None:
    assert "likeliest drum of head" in marks("81 mm", 20).statement


def test_a_roller_of_the_profile_is_told_apart_because_it_stays_with_the_feed() -> None:
    finding = marks("1005 mm", 4, {"conveyor.roller_diameter": "80 mm"})
    assert "feed or hold-down roller" in finding.statement
    assert "251.25 mm" in finding.remedy


def test_a_timed_swing_makes_the_oscillation_a_source() -> None:
    swing = {"running.swing": {"1": {"out": 1.5, "back": 1.5}}}
    finding = marks("1200 mm", 4, **swing)
    assert "swing of the belt on head 1" in finding.statement


def test_a_pitch_of_nothing_on_the_machine_says_so() -> None:
    finding = marks("70 mm", 10)
    assert "nothing that turns" in finding.statement
    assert "None fits" in finding.remedy


def test_sources_at_another_feed_move_with_it_but_the_roller_stays() -> None:
    profile = machine({"conveyor.roller_diameter": "80 mm"})
    slow, fast = ({s.name: s.pitch for s in sources_of(profile, feed, {}, {})} for feed in (0.1, 0.125))
    for name, pitch in slow.items():
        assert fast[name] == pytest.approx(pitch if "roller" in name else 1.25 * pitch)


PLANNED = {"removal.share": None, "removal.passes": None}


def test_two_next_best_ways_stand_beside_the_plan_and_none_beside_typed_shares() -> None:
    ways = alternatives(sheet(PLANNED), view())
    assert len(ways) == 2
    assert all("pass" in outcome and "% loaded" in outcome for _, outcome in ways)
    assert alternatives(sheet(), view()) == []


def test_what_if_plans_with_the_other_grit_and_leaves_the_sheet_alone() -> None:
    answers, shop = sheet(PLANNED), view()
    before = plan_for(answers, shop)
    coarser = what_if(answers, shop, {"1": Grit("P", 60)})
    finer = what_if(answers, shop, {"1": Grit("P", 150)})
    assert coarser != finer
    assert finer.startswith(("2 passes", "3 passes", "no plan"))
    assert plan_for(answers, shop) == before


def test_a_part_without_width_fills_no_row() -> None:
    assert widest_row([(0.0, 10), (0.18, 2)], 0.91) == pytest.approx(0.36)


@pytest.mark.parametrize(
    ("metres", "words"),
    [
        ((100.0, 400.0, 120.0), "had 3.6 times the wood"),
        ((200.0, 210.0, 190.0), "even feeding"),
        ((), "See the feed places"),
    ],
)
def test_a_hollow_over_weeks_is_set_against_the_wear_maps(metres: tuple[float, ...], words: str) -> None:
    """Centre-only feeding wears the drum hollow: common practice, no source."""
    crowned = [
        {"x": "60 mm", "after": "27.40 mm"},
        {"x": "470 mm", "after": "27.52 mm"},
        {"x": "880 mm", "after": "27.40 mm"},
    ]
    board_then = {"test_board": {"readings": crowned}}
    strips = tuple(WearStrip(0.3 * n, 0.3 * (n + 1), value) for n, value in enumerate(metres))
    history = History(
        sheets=(board_then,) * 3,
        times=tuple(AT - timedelta(days=days) for days in (21, 14, 7)),
        belt_wear={"B-0412": strips} if strips else {},
    )
    findings = by_subject(test_board.check(sheet({"test_board.readings": crowned}), view(), history))
    assert words in findings["crown over weeks"].remedy
