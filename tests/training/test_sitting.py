"""A sitting shows nothing of a station before it is judged; help fades with the level; the reason comes after."""

from __future__ import annotations

import pytest
from practice_samples import judged

from preflight.checks.finding import Verdict
from preflight.training.drill import STATIONS
from preflight.training.drill_file import written, written_drill
from preflight.training.explain import help_lines, reasons, words_for
from preflight.training.generator import generated
from preflight.training.reading import NOT_READ, readings
from preflight.training.score import Judgement
from preflight.training.sitting import begin, told


def test_a_station_shows_its_findings_only_after_it_was_judged() -> None:
    sitting = begin(written_drill("new-belt-cone"), 1)
    assert sitting.shown("belts") is None
    after = sitting.judging(Judgement("belts", Verdict.OK))
    shown = after.shown("belts")
    assert shown is not None
    assert shown.verdict is Verdict.STOP
    assert after.shown("tension") is None


def test_a_judgement_is_final_and_only_for_stations_asked() -> None:
    sitting = begin(written_drill("new-belt-cone"), 1).judging(Judgement("belts", Verdict.OK))
    for check in ("belts", "glue"):
        with pytest.raises(ValueError, match="not to be judged now"):
            sitting.judging(Judgement(check, Verdict.STOP))


def test_help_fades_from_limits_to_the_worst_verdict_to_nothing() -> None:
    drill = written_drill("new-belt-cone")
    answer = drill.answer()
    assert "head 1 cone: at most 2 mm" in help_lines(answer, "belts", 1)
    assert help_lines(answer, "belts", 2) == ["The worst verdict of this drill is: stop."]
    assert help_lines(answer, "belts", 3) == []


@pytest.mark.parametrize("check", STATIONS)
def test_every_station_has_readings_to_judge(check: str) -> None:
    for drill_id in written():
        lines = readings(written_drill(drill_id).scene, check)
        assert lines
        assert all(one.label and one.text for one in lines)


def test_what_is_left_open_is_there_to_be_seen() -> None:
    texts = {one.label: one.text for one in readings(written_drill("reclaimed-pine").scene, "stock")}
    assert texts["metal found"] == NOT_READ


def test_a_planted_fault_changes_what_the_trainee_can_see() -> None:
    """A fault that no reading shows could not be found by looking."""
    from preflight.training.setup import sound

    for seed in range(150):
        drill = generated(seed, 3)
        machine = drill.scene.view.machine_id
        base = {"hall-two": "ok-two-heads", "annex-one": "ok-one-head", "hall-three": "ok-three-heads"}[machine]
        clean = sound(base).scene()
        for fault in drill.planted:
            assert readings(drill.scene, fault.check) != readings(clean, fault.check), (drill.id, fault.fault)


def test_the_reason_is_the_worst_finding_with_its_words_explained() -> None:
    sitting = judged("new-belt-cone")
    found = reasons(sitting.result("belts"))
    assert [one.subject for one in found] == ["head 1 cone"]
    assert "conical belt" in [word for word, _ in words_for(sitting.drill, found)]
    assert reasons(sitting.result("tension"))[0].verdict is Verdict.OK


def test_how_a_judgement_turned_out_is_told_in_a_sentence() -> None:
    missed = judged("power-came-back", right=False)
    assert "A safety fault: this weighs most." in told(missed.mark("running"))
    assert told(judged("fan-last").mark("extraction")).endswith("Cause right, remedy right.")


def test_a_level_that_there_is_not_begins_nothing() -> None:
    with pytest.raises(ValueError, match="a level is one of"):
        begin(written_drill("fan-last"), 0)
