from __future__ import annotations

import pytest

from preflight.engine.marks import (
    MarkSource,
    MeasuredPitch,
    drum_pitch,
    feed_roller_pitch,
    feed_test,
    joint_pitch,
    measured_pitch,
    oscillation_pitch,
    rank_sources,
)

FEED, BELT = 0.1, 15.708
JOINT = MarkSource("belt joint", "head 1", joint_pitch(FEED, 1.9, BELT))
DRUM = MarkSource("drum", "head 1", drum_pitch(FEED, 25.0))
ROLLER = MarkSource("feed roller", "infeed", feed_roller_pitch(0.08))
SWING = MarkSource("oscillation", "head 1", oscillation_pitch(FEED, 2.5))
ALL = [SWING, ROLLER, DRUM, JOINT]


def test_the_nearest_source_comes_first_and_the_others_do_not_fit() -> None:
    ranked = rank_sources(measured_pitch(0.1205, 10), ALL)
    assert ranked[0].source == JOINT
    assert [one.fits for one in ranked] == [True, False, False, False]


def test_ten_spaces_over_one_span_are_ten_times_as_sure() -> None:
    assert measured_pitch(0.12, 10).error == pytest.approx(measured_pitch(0.12, 1).error / 10)


def test_roller_and_swing_of_one_pitch_are_told_apart_by_the_feed() -> None:
    measured = measured_pitch(0.502, 2)
    ranked = rank_sources(measured, ALL)
    assert {one.source.kind for one in ranked if one.fits} == {"feed roller", "oscillation"}
    test = feed_test(measured, ranked)
    pitches = {source.kind: pitch for source, pitch in test.pitches}
    assert pitches["feed roller"] == pytest.approx(measured.pitch)
    assert pitches["oscillation"] == pytest.approx(1.25 * measured.pitch)
    assert test.separates


def test_two_sources_that_both_follow_the_feed_are_not_said_to_be_separated() -> None:
    twin = MarkSource("belt joint", "head 2", joint_pitch(FEED, 1.9, BELT))
    measured = measured_pitch(0.121, 10)
    test = feed_test(measured, rank_sources(measured, [JOINT, twin]))
    assert len(test.pitches) == 2
    assert not test.separates


def test_a_pitch_that_fits_nothing_predicts_nothing() -> None:
    measured = measured_pitch(0.07, 10)
    ranked = rank_sources(measured, ALL)
    assert not any(one.fits for one in ranked)
    assert not feed_test(measured, ranked).separates


def test_a_coarse_reading_lets_more_sources_fit() -> None:
    sure, rough = MeasuredPitch(0.0110, 0.0001), MeasuredPitch(0.0110, 0.004)
    assert sum(one.fits for one in rank_sources(sure, ALL)) == 0
    assert sum(one.fits for one in rank_sources(rough, ALL)) == 2


def test_only_the_feed_roller_keeps_its_pitch_at_another_feed() -> None:
    assert [source.pitch_at(1.25) / source.pitch for source in ALL] == [1.25, 1.0, 1.25, 1.25]


@pytest.mark.parametrize(
    "call",
    [
        lambda: joint_pitch(0.0, 1.9, 15.0),
        lambda: drum_pitch(0.1, 0.0),
        lambda: feed_roller_pitch(-0.1),
        lambda: oscillation_pitch(0.1, float("inf")),
        lambda: measured_pitch(0.1, 0),
        lambda: measured_pitch(0.0, 1),
        lambda: rank_sources(MeasuredPitch(0.01, 0.001), ALL, speed_error=1.0),
    ],
)
def test_values_out_of_range_are_refused(call: object) -> None:
    assert callable(call)
    with pytest.raises(ValueError):
        call()
