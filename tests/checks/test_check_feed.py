"""Station 9: evenness against what the parts allow, the middle, trades, refusals, tallies, wear. Trade facts are
common practice, no source, unless a test names another."""

from __future__ import annotations

from collections.abc import Mapping
from time import perf_counter
from typing import TYPE_CHECKING, Any

import pytest
from builders import history, machine, sheet, view

from preflight.checks.feed.check import check
from preflight.checks.feed.feed_progress import progress
from preflight.checks.feed.feed_task import FeedTask, chosen_plan, task_for
from preflight.checks.feed.feed_words import turns
from preflight.checks.finding import Finding, Verdict
from preflight.engine.lane_bounds import least_peak_of_identical
from preflight.history import History, WearStrip

if TYPE_CHECKING:
    from preflight.shop.view import ShopView

Changes = Mapping[str, Any]


def judged(
    sheet_changes: Changes | None = None, shop: ShopView | None = None, past: History | None = None
) -> dict[str, Finding]:
    return {found.subject: found for found in check(sheet(sheet_changes), shop or view(), past)}


def task(sheet_changes: Changes | None = None, shop: ShopView | None = None, past: History | None = None) -> FeedTask:
    found = task_for(sheet(sheet_changes), shop or view(), past)
    assert isinstance(found, FeedTask)
    return found


MIDDLE = {"feed.boards": [{"part": 1, "place": 5}]}


def test_the_computed_places_are_ok_and_say_what_the_middle_would_be() -> None:
    found = judged()
    assert found["evenness"].verdict is Verdict.OK
    assert "100%" in found["evenness"].statement
    assert "all down the middle 20%" in found["evenness"].statement
    for name in ("share_of_best", "mean_over_peak", "lowest_over_peak"):
        assert name in found["evenness"].workings


def test_identical_parts_reach_the_closed_form_peak_in_metres_of_wood_passed() -> None:
    """l ceil(N / floor(U / w)), every board twice through the machine for its two faces."""
    one = task()
    assert one.times == 2
    assert chosen_plan(sheet(), one).peak == pytest.approx(2 * least_peak_of_identical(120, 0.180, 0.900, 0.910))


@pytest.mark.parametrize("width", ["180 mm", "600 mm"])
def test_the_middle_only_is_a_caution_with_amount_next_place_and_reason(width: str) -> None:
    found = judged(MIDDLE, view(job_changes={"parts.1.width": width}))["evenness"]
    assert found.verdict is Verdict.CAUTION
    assert "down the middle only wear a hollow in drum and belt" in found.statement
    assert ("730 mm" if width == "180 mm" else "310 mm") in found.statement
    assert found.remedy.startswith("Next: left edge")
    assert 2 <= len(found.actions) <= 4


def test_the_middle_stays_a_caution_on_a_belt_whose_old_peak_would_hide_it() -> None:
    worn = history(belt_wear={"B-0412": (WearStrip(0.015, 0.300, 900.0), WearStrip(0.300, 0.925, 20.0))})
    assert judged(MIDDLE, past=worn)["evenness"].verdict is Verdict.CAUTION
    assert judged(past=worn)["evenness"].verdict is Verdict.OK


def test_the_pattern_of_the_file_is_part_from_1_and_place_from_0() -> None:
    given = sheet({"feed.boards": [{"part": 1, "place": 0}, {"part": 1, "place": 9}]})
    one = task()
    followed = chosen_plan(given, one)
    taken = turns(followed, one, 10, "metric")
    assert taken.feeds == (("A", "left edge"), ("B", "right edge"))
    assert taken.in_turn == "A B, 60 times"
    assert [round(p.left_edge, 4) for p in followed.placements[:2]] == [0.015, 0.745]
    assert judged({"feed.boards": [{"part": 1, "place": 0}, {"part": 1, "place": 9}]})["evenness"].verdict is (
        Verdict.CAUTION
    )


@pytest.mark.parametrize(
    ("board", "word"),
    [
        ({"part": 1, "place": 10}, "Place 10 is not one of 0 to 9"),
        ({"part": 2, "place": 0}, "there is no part 2"),
        ({"part": 1, "left_edge": "5 mm"}, "10.0 mm outside the usable width"),
        ({"part": 1}, "has no place"),
    ],
)
def test_a_place_that_cannot_be_is_a_stop_with_the_amount(board: dict[str, Any], word: str) -> None:
    boards = [board] if board["part"] == 1 else [{"part": 1, "place": 0}, board]
    found = judged({"feed.boards": boards})["places"]
    assert found.verdict is Verdict.STOP
    assert word in found.statement
    assert "another place" in found.remedy


def test_fewest_feeds_says_which_was_traded_and_what_evenness_costs() -> None:
    found = judged({"feed.trade": "fewest"})
    assert found["evenness"].verdict is Verdict.CAUTION
    assert "Few feeds were chosen over evenness: 30 wear the belt 80%" in found["evenness"].statement
    assert "18 feeds more" in found["evenness"].remedy
    assert "as few as any found" in found["feeds"].statement
    assert "18 more than full rows abreast would take, for evenness" in judged()["feeds"].statement


def test_at_most_so_many_extra_feeds_lies_between() -> None:
    fewest, some, evenest = (chosen_plan(sheet(c), task(c)) for c in (
        {"feed.trade": "fewest"}, {"feed.trade": 6}, {}))  # fmt: skip
    assert fewest.feeds <= some.feeds <= fewest.feeds + 6
    assert fewest.share_of_best <= some.share_of_best <= evenest.share_of_best


def test_marks_that_do_not_suit_the_width_are_left_unless_asked_for() -> None:
    assert task().places is None
    found = judged({"feed.at": "marks"})["evenness"]
    assert found.verdict is Verdict.CAUTION
    assert "10 marks do not suit" in found.statement
    assert "not by the marks: 100% in 48 feeds" in found.remedy


def test_marks_that_suit_are_kept() -> None:
    """455 mm on 910 mm: hard left and hard right are marks, and no position does better."""
    kept = task(shop=view(job_changes={"parts.1.width": "455 mm"}))
    assert kept.places == 10
    found = judged(shop=view(job_changes={"parts.1.width": "455 mm"}))["evenness"]
    assert "100%" in found.statement


def test_wide_frames_are_not_blamed() -> None:
    found = judged(shop=view(job_changes={"parts.1.width": "600 mm"}))["evenness"]
    assert found.verdict is Verdict.OK
    assert "hard left and hard right in turn is all there is" in found.statement


def test_the_same_place_twice_running_with_another_free_is_a_caution() -> None:
    shop = view(job_changes={"parts.1.width": "600 mm"})
    twice = judged({"feed.boards": [{"part": 1, "place": place} for place in (0, 0, 9, 9)]}, shop)
    assert twice["evenness"].verdict is Verdict.OK
    assert twice["turns"].verdict is Verdict.CAUTION
    assert "60 of 120 feeds" in twice["turns"].statement
    in_turn = judged({"feed.boards": [{"part": 1, "place": place} for place in (0, 9)]}, shop)
    assert "turns" not in in_turn


def test_too_wide_under_skew_is_refused_by_the_amount_and_names_the_skew_that_fits() -> None:
    """600 x 900 mm at 30 degrees: w cos t + l sin t = 969.6 mm; geometry."""
    found = judged(shop=view(job_changes={"parts.1.width": "600 mm", "skew_degrees": 30.0}))["width"]
    assert found.verdict is Verdict.STOP
    assert "969.62 mm at 30° skew, 59.62 mm more than the usable width" in found.statement
    assert "at most 23° skew" in found.remedy


def test_a_glue_line_on_the_belt_is_kept_off_and_no_board_lies_on_it() -> None:
    """Strip = line + stroke + margin = 6 + 15 + 10 mm, the belt as wide as the bed."""
    shop = view(belt_1={"glue_lines": [{"centre": "400 mm", "width": "6 mm"}]})
    one = task(shop=shop)
    ((start, end),) = one.belt.keep_off
    assert (start, end) == pytest.approx((0.3845, 0.4155))
    for p in chosen_plan(sheet(), one).placements:
        assert p.left_edge + 0.180 <= start + 1e-6 or p.left_edge >= end - 1e-6


def test_a_part_wider_than_the_stretch_beside_the_glue_is_refused() -> None:
    shop = view(job_changes={"parts.1.width": "600 mm"}, belt_1={"glue_lines": [{"centre": "400 mm", "width": "6 mm"}]})
    found = judged(shop=shop)["width"]
    assert "90.5 mm more than the widest stretch free of glue lines" in found.statement
    assert "Wash or change the belt" in found.remedy


def test_two_thicknesses_abreast_are_a_stop_with_the_step() -> None:
    parts = [
        {"width": "180 mm", "length": "900 mm", "count": 4, "thickness": "27 mm"},
        {"width": "180 mm", "length": "900 mm", "count": 4, "thickness": "29 mm"},
    ]
    boards = [{"part": 1, "place": 0, "row": 1}, {"part": 2, "place": 9, "row": 1}]
    shop = view(job_changes={"parts": parts})
    found = judged({"feed.boards": boards}, shop)["abreast 1"]
    assert found.verdict is Verdict.STOP
    assert "2 mm apart in thickness, 0.5 mm is the most" in found.statement
    computed = chosen_plan(sheet(), task(shop=shop))
    for row in computed.rows:
        assert len({p.part for p in row}) == 1


def test_where_glue_lines_leave_no_mark_free_the_places_are_free_and_nothing_else_is_hidden() -> None:
    lines = [{"centre": "70 mm", "width": "4 mm"}, {"centre": "705 mm", "width": "4 mm"}]
    shop = view(job_changes={"parts.1.width": "600 mm"}, belt_1={"glue_lines": lines})
    assert task(None, shop).places is None
    assert judged(None, shop)["evenness"].verdict is not Verdict.STOP
    asked = judged({"feed.at": "marks"}, shop)["places"]
    assert asked.verdict is Verdict.STOP
    assert "no marked place is free" in asked.statement.casefold()
    assert asked.remedy.startswith("Feed it at any place")


def test_a_part_thinner_than_the_machine_takes_is_stopped_with_carrier_advice() -> None:
    parts = [{"width": "180 mm", "length": "900 mm", "count": 4, "thickness": "2.2 mm"}]
    found = judged(shop=view(job_changes={"parts": parts}))["part 1 thickness"]
    assert found.verdict is Verdict.STOP
    assert "0.8 mm below the limit" in found.statement
    assert "carrier board at least 370 mm long" in found.remedy


def test_length_is_the_stock_stations_and_not_said_twice() -> None:
    found = judged(shop=view(job_changes={"parts.1.length": "300 mm"}))
    assert not [f for f in found.values() if "length" in f.subject or "short" in f.statement]


def test_run_time_and_one_more_pass_are_computed_from_the_rows() -> None:
    """48 feeds of 900 + 100 mm at 6 m/min, two faces: 16 min; one pass more 8 min."""
    found = judged()["run time"]
    assert "About 16 min at 6 m/min" in found.statement
    assert "one more pass costs 8 min" in found.statement
    assert "450 boards an hour" in found.statement


@pytest.mark.parametrize(("speed", "verdict"), [("6 m/min", Verdict.OK), ("18 m/min", Verdict.STOP)])
def test_feed_speed_is_judged_here(speed: str, verdict: Verdict) -> None:
    assert judged({"removal.feed_speed": speed})["feed speed"].verdict is verdict


def test_wear_of_the_belts_that_cut_moves_the_plan_and_is_never_a_stop() -> None:
    worn = history(belt_wear={"B-0412": (WearStrip(0.015, 0.215, 400.0),), "B-0418": (WearStrip(0.015, 0.215, 400.0),)})
    one = task(past=worn)
    assert one.wear
    lefts = [p.left_edge for p in chosen_plan(sheet(), one).placements]
    assert sum(left < 0.2 for left in lefts) < len(lefts) / 10
    found = judged(past=worn)
    assert found["wear"].verdict is Verdict.OK
    assert "worn most at 115 mm" in found["wear"].statement
    assert not [f for f in judged(MIDDLE, past=worn).values() if f.verdict is Verdict.STOP]


def test_tallies_plan_the_rest_anew_and_name_what_goes_in_next() -> None:
    one, fed = task(), [{"feeds": 5}, {"part": 1, "place": 4, "count": 2}, {"feeds": 3}]
    given = sheet({"feed.fed": fed})
    now = progress(given, one, chosen_plan(given, one))
    assert len(now.fed) + len(now.rest.placements) == 120
    assert now.rest.share_of_best > 0.95
    assert "Next: " in judged({"feed.fed": fed})["feeds"].statement


def test_more_fed_than_there_is_asks_to_count_again() -> None:
    found = judged({"feed.fed": [{"feeds": 49}]})["fed"]
    assert found.verdict is Verdict.OPEN
    assert found.statement == "49 feeds were counted, 48 are left."
    assert "All fed." in judged({"feed.fed": [{"feeds": 48}]})["feeds"].statement


def test_a_large_count_is_planned_in_lots_alike() -> None:
    shop = view(job_changes={"parts.1.count": 50_000})
    one = task(shop=shop)
    assert one.lots == 50
    assert one.parts[0].count == 1000
    assert "in each of 50 lots alike" in judged(shop=shop)["feeds"].statement


def test_a_machine_without_marks_is_named_by_distance() -> None:
    shop = view({"conveyor.places": None})
    assert task(shop=shop).marks is None
    assert judged(MIDDLE, shop)["evenness"].verdict is Verdict.CAUTION
    assert machine({"conveyor.places": None}).conveyor.places is None


def test_statements_and_remedies_fit_the_panel() -> None:
    worn = history(belt_wear={"B-0412": (WearStrip(0.015, 0.215, 400.0),)})
    for changes in ({}, MIDDLE, {"feed.trade": "fewest"}, {"feed.at": "marks"}, {"feed.fed": [{"feeds": 3}]}):
        for found in judged(changes, past=worn).values():
            assert len(found.statement) <= 150, found.statement
            assert len(found.remedy) <= 200, found.remedy


def test_a_second_look_costs_next_to_nothing() -> None:
    """The check runs at each key: plans are kept. Prints the time, fails only when it is far off."""
    judged()
    start = perf_counter()
    for _ in range(20):
        judged()
    each = (perf_counter() - start) / 20
    print(f"feed.check with its plan kept: {each * 1e3:.2f} ms")
    assert each < 0.25


def test_without_a_job_it_is_open() -> None:
    assert judged({"job": None})["job"].verdict is Verdict.OPEN
