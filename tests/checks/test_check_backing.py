"""Backing, joint and grit by head, and the grit sequence. Common practice, no source, unless marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from builders import MACHINE, sheet, view

from preflight.checks.backing import check as backing
from preflight.checks.finding import Verdict, worst

if TYPE_CHECKING:
    from builders import Changes

    from preflight.checks.finding import Finding


def findings(answers: Changes | None = None, machine: Changes | None = None, **cards: Changes) -> dict[str, Finding]:
    found = backing.check(sheet(answers), view(machine, **cards), None)
    by_subject = {finding.subject: finding for finding in found}
    assert len(by_subject) == len(found), "two findings share a subject"
    return by_subject


STEEL: dict[str, Any] = {"heads.1.kind": "steel drum", "heads.1.hardness_shore_a": None}
DOWN: dict[str, Any] = {"belts.2.platen": "down"}


def test_the_usual_pair_is_ok() -> None:
    found = findings()
    assert worst(f.verdict for f in found.values()) is Verdict.OK
    assert {"head 1 backing", "head 1 joint", "head 1 ordered grit", "heads 1 and 2 scratches"} <= set(found)


def test_a_head_without_a_card_is_open() -> None:
    assert findings({"belts.1.card": "B-9999"})["head 1"].verdict is Verdict.OPEN


@pytest.mark.parametrize("grit", ["P60", "P80", "P150"])
def test_any_paper_on_a_steel_drum_stops(grit: str) -> None:
    found = findings(machine=STEEL, belt_1={"backing": "paper", "grit": grit})["head 1 backing"]
    assert found.verdict is Verdict.STOP
    assert "a steel drum needs cloth" in found.remedy
    assert "paper" not in found.allowed


@pytest.mark.parametrize("cloth", ["cloth X", "cloth heavier"])
def test_cloth_on_a_steel_drum_is_right(cloth: str) -> None:
    assert findings(machine=STEEL, belt_1={"backing": cloth})["head 1 backing"].verdict is Verdict.OK


@pytest.mark.parametrize("grit", ["P120", "P150"])
def test_a_rubber_drum_can_run_paper_from_120(grit: str) -> None:
    assert findings(belt_1={"backing": "paper", "grit": grit})["head 1 backing"].verdict is Verdict.OK


@pytest.mark.parametrize("grit", ["P80", "P100"])
def test_coarser_paper_on_rubber_is_a_caution_with_the_reason(grit: str) -> None:
    found = findings(belt_1={"backing": "paper", "grit": grit})["head 1 backing"]
    assert found.verdict is Verdict.CAUTION
    assert "woven cloth stands removal, flat paper gives the finish" in found.remedy
    assert "several coarse paper belts go per cloth belt" in found.remedy
    assert 2 <= len(found.actions) <= 4


@pytest.mark.parametrize("grit", ["P80", "P100"])
def test_cloth_through_80_and_100_is_right_on_rubber(grit: str) -> None:
    found = findings(belt_1={"grit": grit})["head 1 backing"]
    assert found.verdict is Verdict.OK
    assert "is right" in found.statement


def test_heavy_cloth_finer_than_100_is_a_caution() -> None:
    found = findings(belt_1={"grit": "P120", "backing": "cloth heavier"})["head 1 backing"]
    assert found.verdict is Verdict.CAUTION


def test_paper_on_a_head_whose_profile_names_no_paper_stops() -> None:
    found = findings(machine={"heads.1.paper_from": None}, belt_1={"backing": "paper", "grit": "P150"})[
        "head 1 backing"
    ]
    assert found.verdict is Verdict.STOP
    assert found.basis == "heads.1.paper_from"


def test_ansi_120_paper_is_not_coarser_than_p120() -> None:
    # ANSI 120 about 116 µm (from memory), P120 125 µm (published, secondary source)
    assert findings(belt_1={"backing": "paper", "grit": "ANSI 120"})["head 1 backing"].verdict is Verdict.OK


@pytest.mark.parametrize("grit", ["P150", "P180", "P220"])
def test_a_platen_that_is_down_takes_150_and_finer(grit: str) -> None:
    assert findings(DOWN, belt_2={"grit": grit})["head 2 platen grit"].verdict is Verdict.OK


@pytest.mark.parametrize(("grit", "grades"), [("P120", "1 grade coarser"), ("P100", "2 grades coarser")])
def test_a_platen_that_is_down_refuses_coarser_than_150(grit: str, grades: str) -> None:
    found = findings(DOWN, belt_2={"grit": grit})["head 2 platen grit"]
    assert found.verdict is Verdict.STOP
    assert grades in found.statement
    assert "nothing is gained" in found.statement
    assert "Lift the platen" in found.remedy


def test_the_platens_default_stands_in_where_the_profile_is_silent() -> None:
    found = findings(DOWN, {"heads.2.platen.coarsest_grit": None}, belt_2={"grit": "P120"})["head 2 platen grit"]
    assert found.verdict is Verdict.STOP
    assert found.source.startswith("default")


def test_platen_rules_hold_only_while_it_is_down() -> None:
    found = findings(belt_2={"grit": "P120", "backing": "cloth X"})
    assert "head 2 platen grit" not in found
    assert "head 2 platen backing" not in found


def test_cloth_heavier_than_light_under_a_platen_is_a_caution() -> None:
    assert findings(DOWN, belt_2={"backing": "cloth X"})["head 2 platen backing"].verdict is Verdict.CAUTION
    assert "head 2 platen backing" not in findings(DOWN, belt_2={"backing": "cloth light"})


def test_a_platen_whose_state_is_not_said_is_open() -> None:
    found = findings({"belts.2.platen": None})["head 2 platen"]
    assert found.verdict is Verdict.OPEN
    assert found.asks == "belts.2.platen"


def test_a_lifted_head_is_not_asked_about_its_platen() -> None:
    assert "head 2 platen" not in findings({"belts.2.platen": None, "belts.2.lifted": True})


def test_a_grit_coarser_than_the_head_takes_is_refused_by_grades() -> None:
    found = findings(belt_1={"grit": "P50"})["head 1 coarsest grit"]
    assert found.verdict is Verdict.STOP
    assert "1 grade coarser than P60" in found.statement


def test_a_grit_finer_than_the_head_takes_is_refused_by_grades() -> None:
    found = findings(belt_1={"grit": "P220"})["head 1 finest grit"]
    assert found.verdict is Verdict.STOP
    assert "2 grades finer than P150" in found.statement


def test_two_scales_are_compared_by_grain_size_not_by_number() -> None:
    # P400 35.0 µm, ANSI 400 23.6 µm: published, secondary source
    found = findings(machine={"heads.2.finest_grit": "P400"}, belt_2={"grit": "ANSI 400"})["head 2 finest grit"]
    assert found.verdict is Verdict.STOP
    assert "24 µm grains against 35 µm" in found.statement


def test_another_grit_than_the_job_card_asks_stops() -> None:
    found = findings(belt_1={"grit": "P100"})["head 1 ordered grit"]
    assert found.verdict is Verdict.STOP
    assert "1 grade finer than the P80 of the job card" in found.statement


def test_the_same_number_on_the_other_scale_is_not_the_same_grit() -> None:
    found = findings(belt_1={"grit": "ANSI 80"})["head 1 ordered grit"]
    assert found.verdict is Verdict.CAUTION
    assert "192 µm grains against 201 µm" in found.statement


def test_a_job_card_that_names_no_grit_for_a_head_asks_nothing() -> None:
    assert "head 1 ordered grit" not in findings(job_changes={"grits": {"2": "P150"}})


def test_a_coarser_grit_after_a_finer_one_stops() -> None:
    found = findings(belt_1={"grit": "P150"}, belt_2={"grit": "P100"})["heads 1 and 2 order"]
    assert found.verdict is Verdict.STOP
    assert "coarser one comes second" in found.statement


def test_a_step_that_is_none_is_a_caution() -> None:
    assert findings(belt_2={"grit": "P80"})["heads 1 and 2 order"].verdict is Verdict.CAUTION


def test_skipping_grades_is_fine_where_the_scratches_can_be_erased() -> None:
    # P80 on rubber leaves 0.30 x 201 µm = 60 µm (factor from memory); a drum with P150 takes 160 µm here
    found = findings()
    assert found["heads 1 and 2 scratches"].verdict is Verdict.OK
    assert "scratch factor 0.3 (default: from memory) x grain 201 µm" in found["heads 1 and 2 scratches"].workings


def test_a_platen_cannot_erase_scratches_deeper_than_it_may_take() -> None:
    found = findings(DOWN)["heads 1 and 2 scratches"]
    assert found.verdict is Verdict.STOP
    assert "0.06 mm deep in P80, 0.01 mm over the 0.05 mm" in found.statement
    assert "lift the platen" in found.remedy
    assert found.basis == "heads.2.platen.removal"


@pytest.mark.parametrize(
    ("kind", "hardness", "grit", "verdict"),
    [
        # after rubber: P100 leaves 49 of 50 µm, P120 37.5; after steel P100 57, P120 44; after soft rubber P80 44
        ("rubber drum", 80, "P100", "caution"),
        ("rubber drum", 80, "P120", "ok"),
        ("steel drum", None, "P100", "stop"),
        ("steel drum", None, "P120", "ok"),
        ("rubber drum", 35, "P80", "ok"),
        ("rubber drum", 80, "P80", "stop"),
    ],
)
def test_what_a_platen_can_follow_comes_out_of_the_sums(
    kind: str, hardness: int | None, grit: str, verdict: str
) -> None:
    machine = {"heads.1.kind": kind, "heads.1.hardness_shore_a": hardness}
    found = findings(DOWN, machine, belt_1={"grit": grit}, belt_2={"grit": "P180"})["heads 1 and 2 scratches"]
    assert found.verdict.word == verdict


def test_a_head_that_is_lifted_takes_no_part_in_the_sequence() -> None:
    found = findings({"belts.1.lifted": True}, belt_1={"grit": "P150"}, belt_2={"grit": "P100"})
    assert "heads 1 and 2 order" not in found
    assert "head 1 ordered grit" not in found
    assert "head 1 backing" in found


def test_the_sequence_passes_over_a_lifted_head() -> None:
    third = {key: value for key, value in MACHINE["heads"][1].items() if key != "platen"}
    machine = {"heads.3": third | {"id": "3", "kind": "rubber drum"}}
    on = {"belts.3": {"head": "3", "card": "B-0412"}, "belts.2.lifted": True}
    found = findings(on, machine)
    assert "heads 1 and 3 order" in found
    assert "heads 1 and 2 order" not in found


def test_a_table_of_caps_that_contradicts_itself_leaves_the_sequence_open() -> None:
    found = findings(machine={"removal_caps.P150": "0.9 mm"})["heads 1 and 2 scratches"]
    assert found.verdict is Verdict.OPEN


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({"joint": "butt with tape"}, "ok"),
        ({"joint": "skived lap"}, "ok"),
        ({"joint": "lap"}, "caution"),
        ({"joint": None}, "open"),
    ],
)
def test_a_lap_joint_marks_a_fine_grit(changes: dict[str, Any], verdict: str) -> None:
    found = findings(belt_2=changes)["head 2 joint"]
    assert found.verdict.word == verdict
    if verdict == "caution":
        assert "mark at every turn" in found.statement
        assert "butt with thin tape" in found.remedy


def test_a_lap_joint_suits_a_coarse_sizing_head() -> None:
    assert findings()["head 1 joint"].verdict is Verdict.OK


def test_soft_rubber_wants_a_butt_joint() -> None:
    found = findings(machine={"heads.2.hardness_shore_a": 35}, belt_2={"joint": "skived lap"})["head 2 joint"]
    assert found.verdict is Verdict.CAUTION
    assert "35 Shore A" in found.statement


def test_on_a_steel_drum_light_cloth_is_not_among_what_is_allowed() -> None:
    steel = {"heads.1.kind": "steel drum"}
    for word in ("paper", "cloth light", "cloth X", "cloth heavier"):
        found = findings(machine=steel, belt_1={"backing": word})["head 1 backing"]
        assert found.allowed == ("cloth X", "cloth heavier")
        assert (found.verdict is Verdict.OK) is (word in found.allowed)
