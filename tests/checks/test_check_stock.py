"""Stock: the opening, the spread, the sizes, metal. Trade facts: common practice, no source, unless marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from builders import sheet, view

from preflight.checks.finding import Verdict, worst
from preflight.checks.stock import check as stock
from preflight.quantities import Quantity

if TYPE_CHECKING:
    from builders import Changes

    from preflight.checks.finding import Finding


def findings(answers: Changes | None = None, **shop: Changes) -> dict[str, Finding]:
    found = stock.check(sheet(answers), view(shop.pop("machine", None), **shop), None)
    by_subject = {finding.subject: finding for finding in found}
    assert len(by_subject) == len(found), "two findings share a subject"
    return by_subject


def test_stock_in_order_is_ok_and_every_fact_has_its_finding() -> None:
    found = findings()
    assert worst(f.verdict for f in found.values()) is Verdict.OK
    assert set(found) >= {"thickness", "thinnest", "opening", "spread", "length", "narrowest", "across", "metal"}


def test_the_thickest_piece_sets_the_opening_wherever_it_stands_in_the_list() -> None:
    found = findings({"stock.thickness": ["27.8 mm", "27.95 mm", "27.85 mm"]})["opening"]
    assert "27.95 mm" in found.statement
    assert "0.95 mm over the target" in found.statement


def test_nothing_typed_is_open_and_says_which_key_is_asked() -> None:
    found = findings({"stock": {}, "job": None})
    assert {key: f.asks for key, f in found.items() if f.verdict is Verdict.OPEN} == {
        "job": "job",
        "thickness": "stock.thickness",
        "length": "stock.shortest",
        "metal": "stock.metal_found",
    }


def test_one_piece_alone_does_not_answer_thickness() -> None:
    found = findings({"stock.thickness": ["27.9 mm"]})["thickness"]
    assert found.verdict is Verdict.OPEN
    assert "only 27.9 mm" in found.statement


def test_a_job_card_that_is_not_at_hand_is_open() -> None:
    found = findings({"job": "oak-doors"})["job"]
    assert found.verdict is Verdict.OPEN
    assert "oak-doors" in found.statement


def test_a_piece_over_the_machine_is_refused_by_how_much() -> None:
    found = findings({"stock.thickness": ["162.5 mm", "162.4 mm"]})["thickness"]
    assert found.verdict is Verdict.STOP
    assert "2.5 mm over" in found.statement
    assert "plane or saw" in found.remedy
    assert (found.basis, found.source) == ("conveyor.part_thickness", "machine book, rev. C")


def test_a_piece_under_the_machine_is_refused_by_how_much() -> None:
    found = findings({"stock.thickness": ["3.1 mm", "2.6 mm"]}, job_changes={"target_thickness": "2 mm"})["thinnest"]
    assert found.verdict is Verdict.STOP
    assert "0.4 mm below" in found.statement
    assert "carrier" in found.remedy


def test_an_ordinary_board_is_not_near_the_thin_end_of_a_wide_window() -> None:
    found = findings({"stock.thickness": ["18.2 mm", "18.1 mm"]}, job_changes={"target_thickness": "17.5 mm"})
    assert found["thinnest"].verdict is Verdict.OK


def test_a_piece_exactly_on_the_limit_is_inside_but_near() -> None:
    found = findings({"stock.thickness": ["160 mm", "159.9 mm"]}, job_changes={"target_thickness": "159 mm"})
    assert found["thickness"].verdict is Verdict.CAUTION


def test_a_thinnest_piece_under_the_target_is_refused_by_how_much() -> None:
    found = findings({"stock.thickness": ["27.9 mm", "26.85 mm"]})["opening"]
    assert found.verdict is Verdict.STOP
    assert "0.15 mm under the target" in found.statement


def test_a_thinnest_piece_exactly_at_the_target_leaves_nothing_to_sand() -> None:
    found = findings({"stock.thickness": ["27.9 mm", "27 mm"]})["opening"]
    assert found.verdict is Verdict.STOP
    assert "already at" in found.statement


def test_a_spread_over_half_of_the_first_heads_cap_asks_for_sorting() -> None:
    # cap of P80 between 0.70 mm at P60 and 0.40 mm at P100, log-log in grain size: 0.5075 mm
    found = findings({"stock.thickness": ["27.9 mm", "27.6 mm"]})["spread"]
    assert found.verdict is Verdict.CAUTION
    assert "0.3 mm is 0.046 mm over 50% of what head 1 takes" in found.statement
    assert "two thickness groups" in found.remedy
    assert 2 <= len(found.actions) <= 4


def test_a_spread_within_half_of_the_cap_is_ok() -> None:
    assert findings({"stock.thickness": ["27.9 mm", "27.65 mm"]})["spread"].verdict is Verdict.OK


def test_the_first_head_for_the_spread_is_the_first_that_is_not_lifted() -> None:
    # P150 on head 2: cap 0.16 mm, half of it 0.08 mm
    found = findings({"belts.1.lifted": True})["spread"]
    assert found.verdict is Verdict.CAUTION
    assert "0.02 mm over 50% of what head 2" in found.statement


def test_a_spread_without_a_known_grit_is_open() -> None:
    found = findings({"belts": []}, job_changes={"grits": {}})["spread"]
    assert found.verdict is Verdict.OPEN
    assert found.asks == "belts.1.card"


def test_caps_that_contradict_themselves_leave_the_spread_open() -> None:
    found = findings(machine={"removal_caps.P150": "0.9 mm"})["spread"]
    assert found.verdict is Verdict.OPEN
    assert "P150" in found.statement


def test_a_short_piece_is_refused_by_how_much_and_goes_on_a_carrier() -> None:
    found = findings({"stock.shortest": "352 mm"})["length"]
    assert found.verdict is Verdict.STOP
    assert "18 mm below" in found.statement
    assert "carrier" in found.remedy


def test_a_part_of_the_job_card_shorter_than_the_reading_counts() -> None:
    parts = [{"width": "180 mm", "length": "300 mm", "count": 4}]
    found = findings({"stock.shortest": "900 mm"}, job_changes={"parts": parts})["length"]
    assert found.verdict is Verdict.STOP
    assert "70 mm below" in found.statement


def test_without_a_length_limit_the_hold_down_spacing_gives_a_default() -> None:
    found = findings({"stock.shortest": "360 mm"}, machine={"conveyor.part_length": None})["length"]
    assert found.verdict is Verdict.STOP  # 320 mm + 50 mm
    assert "10 mm below" in found.statement
    assert found.source.startswith("default")


def test_without_limit_and_spacing_the_length_is_open() -> None:
    changes = {"conveyor.part_length": None, "conveyor.hold_down_spacing": None}
    assert findings(machine=changes)["length limit"].verdict is Verdict.OPEN


def test_a_narrow_piece_is_refused_by_how_much() -> None:
    found = findings({"stock.narrowest": "44 mm"})["narrowest"]
    assert found.verdict is Verdict.STOP
    assert "6 mm below" in found.statement


def test_a_piece_narrower_than_its_thickness_asks_tips_over() -> None:
    found = findings({"stock.narrowest": "55 mm", "stock.thickness": ["40 mm", "39.9 mm"]})["tipping"]
    assert found.verdict is Verdict.CAUTION
    assert "5 mm under 1.5 times" in found.statement


@pytest.mark.parametrize(("skew", "across", "verdict"), [(15, 812, "ok"), (20, 872, "ok"), (30, 970, "stop")])
def test_skew_takes_more_of_the_bed(skew: int, across: float, verdict: str) -> None:
    # a door of 600 x 900 mm, w cos t + l sin t, arithmetic
    parts = [{"width": "600 mm", "length": "900 mm", "count": 4}]
    found = findings(job_changes={"parts": parts, "skew_degrees": skew})["across"]
    assert found.verdict.word == verdict
    assert isinstance(found.measured, Quantity)
    assert found.measured.to("mm") == pytest.approx(across, abs=0.5)
    if verdict == "stop":
        assert "29.62 mm over" in found.statement


def test_a_part_in_the_edge_margin_is_a_caution() -> None:
    found = findings({"stock.widest": "925 mm"})["across"]
    assert found.verdict is Verdict.CAUTION
    assert "910 mm" in found.statement


@pytest.mark.parametrize("count", [1, 3])
def test_metal_found_stops_and_nobody_may_go_on(count: int) -> None:
    found = findings({"stock.metal_found": count})["metal"]
    assert found.verdict is Verdict.STOP
    assert not found.takes_override
    assert str(count) in found.statement
    assert "do not punch" in found.remedy


def test_reclaimed_stock_that_is_not_scanned_is_open_and_says_so() -> None:
    found = findings({"stock.metal_found": None}, job_changes={"reclaimed": True})["metal"]
    assert found.verdict is Verdict.OPEN
    assert "Reclaimed" in found.statement


def test_a_thickness_typed_in_the_wrong_unit_is_refused_and_asked_about() -> None:
    found = findings({"stock.thickness": ["27.9 in", "27.8 mm"]})
    assert found["thickness"].verdict is Verdict.STOP
    assert found["thickness unit"].verdict is Verdict.OPEN
    assert found["thickness unit"].asks == "stock.thickness"


def test_an_inch_shop_reads_inches() -> None:
    found = findings({"stock.shortest": "350 mm"}, machine={"units": "inch"})["length"]
    assert "350 mm (13.78 in) is 0.7874 in below the limit (at least 14.567 in)" in found.statement
