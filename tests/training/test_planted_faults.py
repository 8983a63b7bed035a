"""Drills: the planted faults are exactly what `assess` finds, no more and no fewer."""

from __future__ import annotations

from random import Random

import pytest

from preflight.checks.finding import Verdict
from preflight.training.drill import STATIONS, Drill, expected, not_ok
from preflight.training.drill_file import NoSuchDrillError, written, written_drill
from preflight.training.faults import BY_ID, FAULTS
from preflight.training.generator import MOST_FAULTS, STATIONS_ASKED, generated, varied
from preflight.training.question import causes, remedies
from preflight.training.setup import SOUND, Change, sound

GENERATED = 300
"""Seeds tried here; `tests/bench/bench_drills.py` tries 2,000."""


def planted_at(base: str, fault_id: str, seed: int) -> Drill | None:
    """A drill with that one fault, or None where the machine has no place for it."""
    fault, random = BY_ID[fault_id], Random(seed)
    setup = varied(sound(base), random)
    planting = fault.plant(setup, random)
    if planting is None:
        return None
    return Drill("one", "", "", setup.changed(planting.changes).scene(), (fault.planted(planting),))


@pytest.mark.parametrize("drill_id", written())
def test_a_written_drill_holds_exactly_its_planted_faults(drill_id: str) -> None:
    drill = written_drill(drill_id)
    assert not_ok(drill.answer()) == expected(drill)
    assert {fault.check for fault in drill.planted} <= set(drill.asked)


def test_the_written_drills_cover_every_station_and_the_safety_faults() -> None:
    drills = [written_drill(drill_id) for drill_id in written()]
    assert len(drills) >= 25
    assert {fault.check for drill in drills for fault in drill.planted} == set(STATIONS)
    safety = {fault.kind for drill in drills for fault in drill.planted if fault.safety}
    assert {"metal", "fire", "air", "safety device", "part size"} <= safety
    assert {len(drill.planted) for drill in drills} >= {0, 1, 2, 3}


def test_a_drill_that_is_not_there_is_refused() -> None:
    with pytest.raises(NoSuchDrillError, match="no drill 'tea-break'"):
        written_drill("tea-break")


@pytest.mark.parametrize("fault_id", BY_ID)
def test_a_fault_of_the_library_brings_about_exactly_what_it_names(fault_id: str) -> None:
    drills = [planted_at(base, fault_id, seed) for base in SOUND for seed in range(2)]
    there = [drill for drill in drills if drill is not None]
    assert there, "a fault that fits no machine teaches nothing"
    for drill in there:
        assert not_ok(drill.answer()) == expected(drill)


@pytest.mark.parametrize("base", SOUND)
def test_a_varied_set_up_without_faults_is_all_ok(base: str) -> None:
    for seed in range(15):
        scene = varied(sound(base), Random(seed)).scene()
        assert Drill("none", "", "", scene).answer().verdict is Verdict.OK


@pytest.mark.parametrize("level", [1, 2, 3])
def test_generated_drills_hold_exactly_their_planted_faults(level: int) -> None:
    counts = set()
    for seed in range(GENERATED // 3):
        drill = generated(seed, level)
        assert not_ok(drill.answer()) == expected(drill), drill.id
        assert {fault.check for fault in drill.planted} <= set(drill.asked)
        assert len(drill.asked) >= STATIONS_ASKED[level]
        assert all(BY_ID[fault.fault].level <= level for fault in drill.planted)
        counts.add(len(drill.planted))
    assert counts == set(range(MOST_FAULTS[level] + 1))


def test_the_same_seed_gives_the_same_drill() -> None:
    one, other = generated(71, 3), generated(71, 3)
    assert (one.scene.sheet, one.planted, one.asked) == (other.scene.sheet, other.planted, other.asked)
    assert generated(72, 3).scene.sheet != one.scene.sheet


def test_a_level_that_there_is_not_is_refused() -> None:
    with pytest.raises(ValueError, match="a level is one of 1, 2, 3"):
        generated(1, 4)


def test_what_somebody_misses_is_planted_more_often() -> None:
    def share(lean: dict[str, float]) -> float:
        kinds = [fault.kind for seed in range(120) for fault in generated(seed, 1, lean).planted]
        return kinds.count("tracking") / len(kinds)

    assert share({"tracking": 8.0}) > 2 * share({})


def test_the_same_lines_are_to_choose_from_and_the_right_one_is_among_them() -> None:
    for seed in range(40):
        drill = generated(seed, 3)
        for check in drill.asked:
            assert causes(drill, check) == causes(drill, check)
            assert len(causes(drill, check).choices) >= 3 or check in ("removal", "feed")
            for fault in drill.faults_at(check):
                assert fault.cause in causes(drill, check).choices
                assert fault.remedy in remedies(drill, check).choices


def test_a_written_drill_never_offers_the_librarys_words_for_its_own_fault_as_a_wrong_answer() -> None:
    drill = written_drill("new-belt-cone")
    assert BY_ID["cone"].cause not in causes(drill, "belts").choices


def test_faults_that_meet_at_a_station_are_not_planted_together() -> None:
    for seed in range(120):
        stations = [BY_ID[fault.fault].stations for fault in generated(seed, 3).planted]
        assert sum(map(len, stations)) == len(frozenset[str]().union(*stations))


def test_a_change_at_a_place_that_no_set_up_has_is_refused() -> None:
    with pytest.raises(ValueError, match="a set-up has no 'card 9'"):
        sound("ok-two-heads").changed([Change("card 9", "width", "900 mm")])


def test_every_fault_says_what_it_costs() -> None:
    assert all(fault.why and fault.cause and fault.remedy for fault in FAULTS)
    assert {fault.check for fault in FAULTS} == set(STATIONS)
