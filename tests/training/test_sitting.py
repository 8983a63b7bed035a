"""A sitting shows nothing of a station before it is judged; help fades with the level; the reason comes after."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from practice_samples import judged

from preflight.checks.finding import Finding, Verdict
from preflight.quantities import Kind, parse
from preflight.training.drill import STATIONS
from preflight.training.drill_file import written, written_drill
from preflight.training.explain import limit_words, reasons, words_for
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
    first = begin(drill, 1).helps("belts")
    assert "head 1 cone: at most 2 mm" in first
    assert "cone = |left - right|" in first
    assert begin(drill, 2).helps("belts") == ["The worst verdict of this drill is: stop."]
    assert begin(drill, 3).helps("belts") == []


@pytest.mark.parametrize("drill", [*written(), *range(40)])
def test_help_shows_no_figure_but_limits_and_none_in_the_other_units(drill: str | int) -> None:
    sitting = begin(written_drill(drill) if isinstance(drill, str) else generated(drill, 3), 1)
    units = sitting.drill.scene.view.machine.units
    other = {"metric": "inch", "inch": "metric"}[units]
    foreign = {kind.unit_in(other) for kind in Kind if kind.unit_in(other) != kind.unit_in(units)}
    foreign -= {kind.unit_in(units) for kind in Kind}  # a belt's m/s is no feed's
    for result in sitting.answer.checks:
        limits = [f"{one.subject}: {limit_words(one, units)}" for one in result.findings if one.low or one.high]
        for line in sitting.helps(result.check):
            assert not re.search(rf"\d ?({'|'.join(map(re.escape, foreign))})(?![\w/])", line), line
            if line not in limits:
                assert not re.search(r"\d\.\d|\d (mm|in|bar|psi|m3/h|cfm|m/s|fpm|s|A|kW|hp)\b", line), line


def test_a_limit_in_other_units_is_shown_in_the_machines_with_what_its_size_needs() -> None:
    """40 g/m3 is 0.0024971 lb/ft3: 0.45359237 kg to the pound, 0.3048 m to the foot, by definition."""
    finding = Finding("dust per air", Verdict.OK, "", high=parse("40 g/m3", Kind.DENSITY))
    assert limit_words(finding, "inch") == "at most 0.0025 lb/ft3"
    assert limit_words(replace(finding, high=parse("60 1/4 in", Kind.LENGTH)), "inch") == "at most 60 1/4 in"


def test_another_stop_than_todays_is_what_assess_calls_it_and_can_be_read() -> None:
    drill = written_drill("same-stop-again")
    texts = {one.label: one.text for one in readings(drill.scene, "running")}
    assert (texts["today's turn"], texts["stop tried at"]) == ("outfeed", "infeed")
    assert texts["last tried"] == "outfeed 17 Nov, panel 20 Nov, infeed 24 Nov"
    assert begin(drill, 3).result("running").verdict is Verdict.OPEN


def test_the_stop_whose_turn_it_is_can_be_read_and_is_the_one_tried() -> None:
    """What nobody planted must not look like a slip."""
    for seed in range(30):
        scene = generated(seed, 3).scene
        texts = {one.label: one.text for one in readings(scene, "running")}
        assert texts["stop tried at"] == texts["today's turn"]
        assert texts["today's turn"] in texts["stops of this machine"]


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
