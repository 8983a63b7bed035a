"""Figures of the trade: marks, wood moisture, tracking, test board, veneer.

Common practice, no source, unless a line says otherwise; worked figures are arithmetic on them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats

from preflight.engine.board_remedy import adjuster_correction
from preflight.engine.drying import Weighing, dry_state
from preflight.engine.marks import drum_pitch, feed_roller_pitch, joint_pitch, oscillation_pitch
from preflight.engine.moisture import equilibrium_moisture, thickness_growth
from preflight.engine.removal import motor_load, wood_factor
from preflight.engine.tracking import cone_angle, lateral_speed, split_walk
from preflight.engine.veneer import chance_at_point, chance_in_panel, margin_in_sigmas

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


@pytest.mark.parametrize(
    ("humidity", "percent"), [(20, 4.5), (30, 6.2), (40, 7.7), (50, 9.3), (60, 11.0), (70, 13.1), (80, 16.0)]
)
def test_the_moisture_wood_settles_at_in_a_shop_of_20_degrees(humidity: int, percent: float) -> None:
    # Coefficients after the Wood Handbook from memory; the row is worked from them elsewhere.
    assert equilibrium_moisture(20.0, humidity / 100) == pytest.approx(percent, abs=0.051)


def test_the_moisture_formula_at_two_known_points() -> None:
    # Table value from memory: 9.2 % at 21 °C and 50 %. Published worked example: 8.4 % at 140 °F and 55 %.
    assert equilibrium_moisture(21.0, 0.50) == pytest.approx(9.2, abs=0.05)
    assert equilibrium_moisture((140 - 32) / 1.8, 0.55) == pytest.approx(8.4, abs=0.05)


def test_one_point_of_moisture_on_a_19_mm_board() -> None:
    # Growth shares after the Wood Handbook, from memory: 0.03 mm flat-sawn, 0.06 mm quarter-sawn.
    flat, quarter = thickness_growth(0.019, 1.0, "radial"), thickness_growth(0.019, 1.0, "tangential")
    assert flat[0] / MM <= 0.03 <= flat[1] / MM
    assert quarter[0] / MM <= 0.06 <= quarter[1] / MM
    assert 2 * quarter[1] > 0.10 * MM


def test_two_millimetres_of_cone_act_like_a_tilted_roller() -> None:
    assert math.degrees(cone_angle(1.899, 1.901, 0.94)) == pytest.approx(0.06, abs=0.005)
    assert lateral_speed(15.7, math.radians(0.02)) / MM == pytest.approx(5.5, abs=0.05)


def test_a_belt_that_walks_the_other_way_when_turned_is_conical() -> None:
    conical, machine = split_walk(-3.0, 3.0), split_walk(-3.0, -3.0)
    assert (conical.machine, conical.belt) == (0.0, -3.0)
    assert (machine.machine, machine.belt) == (-3.0, 0.0)


@pytest.mark.parametrize(("taper_mm", "adjust_mm"), [(0.18, 0.22), (0.24, 0.29)])
def test_a_taper_is_taken_out_at_the_adjusters(taper_mm: float, adjust_mm: float) -> None:
    fix = adjuster_correction(taper_mm * MM, 0.9, 1.1, "bed")
    assert fix.amount / MM == pytest.approx(adjust_mm, abs=0.005)
    assert (fix.side, fix.direction) == ("right", "raise")
    assert adjuster_correction(taper_mm * MM, 0.9, 1.1, "head").direction == "lower"


def test_a_washed_belt_is_ready_when_two_weighings_four_hours_apart_agree() -> None:
    assert dry_state(Weighing(24, 1.310), Weighing(28, 1.305)) == "dry"
    assert dry_state(Weighing(24, 1.310), Weighing(28, 1.300)) == "nearly"
    assert dry_state(Weighing(24, 1.310), Weighing(28, 1.290)) == "wet"


def test_motor_load_counts_from_the_idle_current() -> None:
    assert motor_load(22.0, 11.0, 29.0) == pytest.approx(11 / 18)


def test_denser_wood_lowers_the_cap_within_its_clamp() -> None:
    # Densities after the Wood Handbook, from memory.
    assert wood_factor(705.0) == pytest.approx(0.92, abs=0.005)
    assert wood_factor(500.0) == 1.0


SPREADS = [0.05 * MM, 0.04 * MM, 0.03 * MM]


@pytest.mark.parametrize(
    ("face_mm", "removal_mm", "z"),
    [(0.40, 0.05, 4.9), (0.30, 0.05, 3.5), (0.25, 0.05, 2.8), (0.20, 0.05, 2.1), (0.40, 0.10, 4.9 - 0.7)],
)
def test_the_margin_of_a_face_veneer(face_mm: float, removal_mm: float, z: float) -> None:
    # Worked figures, printed to a tenth.
    assert margin_in_sigmas(face_mm * MM, removal_mm * MM, SPREADS) == pytest.approx(z, abs=0.06)


@pytest.mark.parametrize(
    ("face_mm", "points", "percent", "last_digit"),
    [(0.25, 1, 0.23, 0.01), (0.20, 1, 1.7, 0.1), (0.25, 10, 2.3, 0.1),
     (0.25, 20, 4.6, 0.1), (0.20, 10, 16, 1), (0.20, 20, 29, 1)],
)  # fmt: skip
def test_the_odds_of_sanding_through(face_mm: float, points: int, percent: float, last_digit: float) -> None:
    # Worked figures.
    z = margin_in_sigmas(face_mm * MM, 0.05 * MM, SPREADS)
    assert 100 * chance_in_panel(z, points) == pytest.approx(percent, abs=last_digit)


def test_the_odds_are_those_of_the_normal_distribution() -> None:
    # scipy.stats.norm and binom, general-purpose reference.
    for z in np.linspace(-3, 8, 45):
        assert chance_at_point(float(z)) == pytest.approx(float(scipy.stats.norm.sf(z)), rel=1e-12)
        expected = float(scipy.stats.binom.sf(0, 20, scipy.stats.norm.sf(z)))
        assert chance_in_panel(float(z), 20) == pytest.approx(expected, rel=1e-9, abs=1e-14)
