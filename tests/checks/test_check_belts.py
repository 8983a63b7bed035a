"""Belts: size in the window, cone, arrow, glue line, washing. Common practice, no source, unless marked."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from builders import AT, sheet, view

from preflight.checks.belts import check as belts
from preflight.checks.finding import Verdict, worst

if TYPE_CHECKING:
    from builders import Changes

    from preflight.checks.finding import Finding


def findings(answers: Changes | None = None, machine: Changes | None = None, **cards: Changes) -> dict[str, Finding]:
    found = belts.check(sheet(answers), view(machine, **cards), None)
    by_subject = {finding.subject: finding for finding in found}
    assert len(by_subject) == len(found), "two findings share a subject"
    return by_subject


INCH_HEAD: dict[str, Any] = {
    "units": "inch",
    "heads.1.belt_length": {"low": "74 7/8 in", "high": "75 1/8 in"},
}


def inch_belt(length: str) -> dict[str, Any]:
    return {"length_left": length, "length_right": length}


def test_belts_in_order_are_ok_on_every_head() -> None:
    found = findings()
    assert worst(f.verdict for f in found.values()) is Verdict.OK
    for head in "12":
        for fact in ("looks", "length left", "length right", "cone", "width", "swing"):
            assert f"head {head} {fact}" in found


def test_a_head_without_a_belt_card_is_open() -> None:
    found = findings({"belts": []})
    assert found["head 1"].verdict is Verdict.OPEN
    assert found["head 1"].asks == "belts.1.card"


def test_a_belt_card_that_is_not_found_is_open() -> None:
    found = findings({"belts.1.card": "B-9999"})["head 1"]
    assert found.verdict is Verdict.OPEN
    assert "B-9999" in found.statement


def test_a_belt_that_is_not_confirmed_is_open_and_names_what_lacks() -> None:
    found = findings({"belts.1.looked": ["edges"], "belts.1.arrow": None})["head 1 looks"]
    assert found.verdict is Verdict.OPEN
    assert "joint, arrow, no glue line" in found.statement


def test_an_arrow_answer_confirms_the_arrow() -> None:
    found = findings({"belts.1.looked": ["edges", "joint", "no glue line"]})["head 1 looks"]
    assert found.verdict is Verdict.OK


@pytest.mark.parametrize(
    ("length", "over", "verdict"),
    [
        ("75 3/8 in", "0.25 in over", "stop"),  # a quarter inch over the window
        ("74 3/8 in", "0.5 in below", "stop"),  # half an inch under it
        ("75 in", "", "ok"),
        ("75 1/8 in", "", "caution"),  # exactly on the limit: inside, but near
    ],
)
def test_a_belt_outside_its_window_is_refused_by_the_amount(length: str, over: str, verdict: str) -> None:
    for edge in ("left", "right"):
        found = findings(machine=INCH_HEAD, belt_1=inch_belt(length))[f"head 1 length {edge}"]
        assert found.verdict.word == verdict
        assert over in found.statement
        if verdict == "stop":
            assert "never wind the take-up to its end" in found.remedy
            assert found.basis == "heads.1.belt_length"


def test_each_edge_is_judged_by_itself() -> None:
    found = findings(belt_1={"length_left": "1900 mm", "length_right": "1913.4 mm"})
    assert found["head 1 length left"].verdict is Verdict.OK
    assert found["head 1 length right"].verdict is Verdict.STOP
    assert "6.4 mm over" in found["head 1 length right"].statement
    assert found["head 1 cone"].verdict is Verdict.STOP


def test_the_inch_neighbour_of_a_metric_belt_is_named() -> None:
    # 75 in = 1905 mm exactly (definition of the inch)
    found = findings(belt_1=inch_belt("1905 mm"))["head 1 length left"]
    assert found.verdict is Verdict.OK
    assert "75 in (1905 mm) size, not 1900 mm" in found.statement


def test_the_metric_neighbour_of_an_inch_belt_is_named_with_the_refusal() -> None:
    found = findings(machine=INCH_HEAD, belt_1=inch_belt("1900 mm"))["head 1 length left"]
    assert found.verdict is Verdict.STOP
    assert "looks like the 1900 mm (74.803 in) size, not 75 in" in found.statement


def test_a_belt_of_its_own_size_names_no_neighbour() -> None:
    assert "size" not in findings()["head 1 length left"].statement


def test_a_length_typed_in_the_wrong_unit_is_refused_and_asked_about() -> None:
    found = findings(belt_1=inch_belt("1900 in"))
    assert found["head 1 length left"].verdict is Verdict.STOP
    assert "was 1900 mm meant?" in found["head 1 length left unit"].statement


@pytest.mark.parametrize(
    ("left", "verdict"), [("1899 mm", "ok"), ("1898.5 mm", "caution"), ("1898 mm", "caution"), ("1897.5 mm", "stop")]
)
def test_a_conical_belt_is_judged_by_the_difference_of_its_edges(left: str, verdict: str) -> None:
    found = findings(belt_1={"length_left": left, "length_right": "1900 mm"})["head 1 cone"]
    assert found.verdict.word == verdict
    if verdict == "stop":
        assert "0.5 mm over" in found.statement
        assert "conical belt walks" in found.remedy


def test_a_cone_of_exactly_one_millimetre_is_ok_whatever_the_rounding() -> None:
    found = findings(belt_1={"length_left": "1899.5 mm", "length_right": "1900.5 mm"})["head 1 cone"]
    assert found.verdict is Verdict.OK


def test_without_a_cone_limit_the_default_goes_by_the_machines_width() -> None:
    card = {"length_left": "1900 mm", "length_right": "1902.3 mm"}
    narrow = findings(machine={"heads.1.belt_cone": None}, belt_1=card)["head 1 cone"]
    wide = {"heads.1.belt_cone": None, "conveyor.working_width": "1350 mm"}
    broad = findings(machine=wide, belt_1=card)["head 1 cone"]
    assert narrow.verdict is Verdict.STOP
    assert broad.verdict is Verdict.CAUTION
    assert narrow.source.startswith("default")


def test_a_belt_too_wide_is_refused_by_how_much() -> None:
    found = findings(belt_1={"width": "953 mm"})["head 1 width"]
    assert found.verdict is Verdict.STOP
    assert "3 mm over" in found.statement


def test_a_belt_wider_than_the_drum_less_its_swing_is_a_caution() -> None:
    found = findings(belt_1={"width": "948 mm"})["head 1 swing"]  # 960 - 15 = 945 mm
    assert found.verdict is Verdict.CAUTION
    assert "3 mm over the drum less its swing (945 mm)" in found.statement


def test_a_belt_exactly_as_wide_as_the_drum_less_its_swing_is_ok() -> None:
    assert findings(belt_1={"width": "945 mm"})["head 1 swing"].verdict is Verdict.OK


def test_sizes_missing_on_the_card_are_open() -> None:
    found = findings(belt_1={"length_left": None, "width": None})
    assert found["head 1 length left"].verdict is Verdict.OPEN
    assert found["head 1 width"].verdict is Verdict.OPEN
    assert found["head 1 length right"].verdict is Verdict.OK


@pytest.mark.parametrize("joint", ["lap", "skived lap"])
def test_a_lap_belt_against_its_arrow_stops(joint: str) -> None:
    found = findings({"belts.1.arrow": "against"}, belt_1={"joint": joint})["head 1 arrow"]
    assert found.verdict is Verdict.STOP
    assert "turn it" in found.remedy


def test_a_butt_joint_against_its_arrow_is_only_a_caution() -> None:
    found = findings({"belts.2.arrow": "against"})["head 2 arrow"]
    assert found.verdict is Verdict.CAUTION
    assert found.actions


def test_a_card_of_another_head_is_named() -> None:
    found = findings(belt_1={"head": "2"})["head 1 card"]
    assert found.verdict is Verdict.CAUTION
    assert "its card says head 2" in found.statement


def test_one_belt_cannot_be_on_two_heads() -> None:
    found = findings({"belts.2.card": "B-0412"})["head 2 card twice"]
    assert found.verdict is Verdict.STOP
    assert "head 1 and on head 2" in found.statement


def test_a_lifted_head_is_still_judged_for_belt_size() -> None:
    found = findings({"belts.1.lifted": True}, belt_1=inch_belt("1913.4 mm"))
    assert found["head 1 length left"].verdict is Verdict.STOP


def test_a_glue_line_takes_its_strip_out_of_the_width() -> None:
    # line 5 + stroke 15 + margin 10 = 30 mm
    found = findings(belt_1={"glue_lines": [{"centre": "410 mm", "width": "5 mm"}]})["head 1 glue line at 410 mm"]
    assert found.verdict is Verdict.CAUTION
    assert "keep 30 mm of it free, 395 mm to 425 mm" in found.statement
    assert "5 mm + stroke 15 mm + margin 10 mm" in found.workings


def test_a_belt_with_a_glue_line_is_not_asked_to_have_none() -> None:
    lines = [{"centre": "410 mm", "width": "5 mm"}]
    found = findings({"belts.1.looked": ["edges", "joint", "arrow"]}, belt_1={"glue_lines": lines})["head 1 looks"]
    assert found.verdict is Verdict.OK


def washed(*weights: tuple[float, str], hung_days_ago: float = 3, **more: Any) -> dict[str, Any]:
    hung = AT - timedelta(days=hung_days_ago)
    weighings = [{"at": hung + timedelta(hours=hours), "mass": mass} for hours, mass in weights]
    return {"washed": [{"hung": hung, "weights": weighings}], **more}


def test_a_washed_cloth_belt_is_dry_when_two_weighings_hours_apart_agree() -> None:
    found = findings(belt_1=washed((30, "1310 g"), (36, "1305 g")))["head 1 dryness"]
    assert found.verdict is Verdict.OK


def test_a_washed_belt_whose_weighings_disagree_is_still_wet() -> None:
    found = findings(belt_1=washed((30, "1330 g"), (36, "1310 g")))["head 1 dryness"]
    assert found.verdict is Verdict.STOP
    assert "differ by 13 g too much" in found.statement  # 20 g less 0.5 % of 1330 g
    assert "weigh it in four hours" in found.remedy


@pytest.mark.parametrize("weights", [(), ((30, "1310 g"),), ((30, "1310 g"), (33, "1310 g"))])
def test_a_washed_belt_without_two_weighings_four_hours_apart_is_open(weights: tuple[tuple[float, str], ...]) -> None:
    found = findings(belt_1=washed(*weights))["head 1 dryness"]
    assert found.verdict is Verdict.OPEN
    assert "4 h apart" in found.statement


def test_a_weighing_from_before_the_wash_proves_nothing() -> None:
    found = findings(belt_1=washed((-10, "1310 g"), (30, "1310 g")))["head 1 dryness"]
    assert found.verdict is Verdict.OPEN


def test_paper_is_never_washed() -> None:
    found = findings(belt_2=washed((30, "900 g"), (36, "900 g")))["head 2 washed"]
    assert found.verdict is Verdict.STOP
    assert "Only cloth" in found.remedy


def test_a_belt_measured_before_its_wash_is_taped_again() -> None:
    dry = washed((30, "1310 g"), (36, "1310 g"), measured=date(2026, 11, 20))
    found = findings(belt_1=dry)["head 1 taped after washing"]
    assert found.verdict is Verdict.OPEN
    assert "conical" in found.remedy


def test_heat_fused_glue_is_a_caution() -> None:
    found = findings(belt_1={"heat_fused": True})["head 1 fused glue"]
    assert found.verdict is Verdict.CAUTION
    assert "past saving" in found.statement


def test_more_than_two_washes_is_a_caution() -> None:
    hung = [{"hung": AT - timedelta(days=days)} for days in (30, 20, 10)]
    assert findings(belt_1={"washed": hung})["head 1 washes"].verdict is Verdict.CAUTION


def test_a_washed_belt_whose_card_names_no_day_of_measuring_is_taped_again() -> None:
    found = findings(belt_1=washed((30, "1310 g"), (36, "1305 g"), measured=None))["head 1 taped after washing"]
    assert found.verdict is Verdict.OPEN
    assert "does not say when it was measured" in found.statement
    assert "Tape both edges" in found.remedy
