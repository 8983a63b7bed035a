from __future__ import annotations

import pytest

from preflight.engine.board_remedy import (
    Moves,
    Side,
    adjuster_correction,
    glued_up_bow,
    largest_joint_step,
    repeatability,
    snipe,
)
from preflight.engine.thickness import fit_thickness


@pytest.mark.parametrize(
    ("taper", "moves", "side", "direction"),
    [
        (0.24e-3, "bed", "right", "raise"),
        (0.24e-3, "head", "right", "lower"),
        (-0.24e-3, "bed", "left", "raise"),
        (-0.24e-3, "head", "left", "lower"),
    ],
)
def test_the_thick_side_is_moved_the_way_its_adjuster_works(
    taper: float, moves: Moves, side: Side, direction: str
) -> None:
    fix = adjuster_correction(taper, 0.9, 1.1, moves)
    assert (fix.side, fix.moves, fix.direction) == (side, moves, direction)
    assert fix.amount == pytest.approx(0.24e-3 * 1.1 / 0.9)


def test_the_correction_takes_the_taper_out() -> None:
    fix = adjuster_correction(0.18e-3, 0.9, 1.1, "bed")
    assert fix.amount / 1.1 * 0.9 == pytest.approx(0.18e-3)


def test_snipe_is_negative_where_an_end_dips() -> None:
    lead, trail = snipe(0.0199, 0.0200, 0.0201)
    assert lead == pytest.approx(-0.1e-3)
    assert trail == pytest.approx(0.1e-3)


def test_repeatability_reports_the_mean_and_the_largest_further_cut() -> None:
    found = repeatability([0.0200, 0.0200, 0.0200], [0.01999, 0.01994, 0.02001])
    assert found.mean == pytest.approx(0.02e-3)
    assert found.largest == pytest.approx(0.06e-3)
    with pytest.raises(ValueError, match="same places"):
        repeatability([0.02], [])


def test_the_bow_of_a_glued_panel_is_the_arc_of_its_wedges() -> None:
    # Built joint by joint: each wedge of width w turns the panel by taper / w.
    taper, width, parts = 0.05e-3, 0.08, 40
    angle, x, y = 0.0, 0.0, 0.0
    heights = [(0.0, 0.0)]
    for _ in range(parts):
        x, y = x + width, y + width * angle
        angle += taper / width
        heights.append((x, y))
    chord = y / x
    bow = max(abs(h - chord * at) for at, h in heights)
    assert glued_up_bow(taper, parts) == pytest.approx(bow, rel=0.05)
    assert glued_up_bow(-taper, parts) == glued_up_bow(taper, parts)


def test_a_single_part_hides_what_eight_show() -> None:
    assert glued_up_bow(0.02e-3, 8) / glued_up_bow(0.02e-3, 1) == pytest.approx(64)
    assert glued_up_bow(0.02e-3, 8, turned=True) == 0.0


def test_the_largest_joint_step_finds_a_thick_middle_between_readings() -> None:
    fit = fit_thickness([0.0, 0.4, 1.0], [0.0200, 0.02024, 0.0200], 5e-6)
    xs = [i / 1000 for i in range(1001)]
    heights = [fit.at(x) for x in xs]
    assert largest_joint_step(fit) == pytest.approx(max(heights) - min(heights), rel=1e-4)


def test_a_straight_taper_steps_by_its_whole_range() -> None:
    fit = fit_thickness([0.0, 1.0], [0.0200, 0.0202], 5e-6)
    assert largest_joint_step(fit) == pytest.approx(0.2e-3)


def test_values_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        adjuster_correction(0.1e-3, 0.0, 1.1, "bed")
    with pytest.raises(ValueError, match="at least one part"):
        glued_up_bow(0.1e-3, 0)
