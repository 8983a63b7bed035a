"""Figures of the trade: marks, test board, density of the wood.

Common practice, no source, unless a line says otherwise; worked figures are arithmetic on them.
"""

from __future__ import annotations

import math

import pytest

from preflight.engine.board_remedy import adjuster_correction
from preflight.engine.marks import drum_pitch, feed_roller_pitch, joint_pitch, oscillation_pitch
from preflight.engine.removal import wood_factor

MM = 1e-3
FEED, BELT = 0.1, 15.708


@pytest.mark.parametrize(("length_mm", "pitch_mm"), [(1524, 9.7), (1900, 12.1), (2620, 16.7)])
def test_the_pitch_of_a_belt_joint(length_mm: float, pitch_mm: float) -> None:
    assert joint_pitch(FEED, length_mm * MM, BELT) / MM == pytest.approx(pitch_mm, abs=0.05)


def test_the_pitch_of_drum_roller_and_oscillation() -> None:
    assert drum_pitch(FEED, 1500 / 60) / MM == pytest.approx(4.0)
    assert feed_roller_pitch(0.080) / MM == pytest.approx(251, abs=0.5)
    assert feed_roller_pitch(0.100) / MM == pytest.approx(314, abs=0.5)
    assert oscillation_pitch(FEED, 3.0) / MM == pytest.approx(300)


def test_joint_and_drum_marks_are_told_apart_by_a_ruler() -> None:
    speed = math.pi * 0.2 * 1500 / 60
    assert joint_pitch(FEED, 1.9, speed) / drum_pitch(FEED, 1500 / 60) == pytest.approx(3.02, abs=0.005)


@pytest.mark.parametrize(("taper_mm", "adjust_mm"), [(0.18, 0.22), (0.24, 0.29)])
def test_a_taper_is_taken_out_at_the_adjusters(taper_mm: float, adjust_mm: float) -> None:
    fix = adjuster_correction(taper_mm * MM, 0.9, 1.1, "bed")
    assert fix.amount / MM == pytest.approx(adjust_mm, abs=0.005)
    assert (fix.side, fix.direction) == ("right", "raise")
    assert adjuster_correction(taper_mm * MM, 0.9, 1.1, "head").direction == "lower"


def test_denser_wood_lowers_the_cap_within_its_clamp() -> None:
    # Densities after the Wood Handbook, from memory.
    assert wood_factor(705.0) == pytest.approx(0.92, abs=0.005)
    assert wood_factor(500.0) == 1.0
