from __future__ import annotations

import itertools

import pytest

from preflight.engine.abrasives import (
    GRAIN_SIZES,
    MEMORY,
    PUBLISHED,
    Grit,
    Scale,
    grades,
    grain_ratio,
    neighbour,
    parse_grit,
    steps_between,
)

SCALES: tuple[Scale, Scale] = ("P", "ANSI")


@pytest.mark.parametrize("text", ["P120", "p120", " P 120 ", "P-120"])
def test_a_p_grade_is_read_however_it_is_spaced(text: str) -> None:
    assert parse_grit(text) == Grit("P", 120)


@pytest.mark.parametrize("text", ["ANSI 120", "ansi120", "Ansi  120"])
def test_an_ansi_grade_is_read_however_it_is_spaced(text: str) -> None:
    assert parse_grit(text) == Grit("ANSI", 120)


@pytest.mark.parametrize("number", [80, 120, 400, 90])
def test_a_bare_number_is_refused_and_both_scales_are_named(number: int) -> None:
    with pytest.raises(ValueError, match=rf'"P{number}" or "ANSI {number}"'):
        parse_grit(str(number))


@pytest.mark.parametrize(
    ("text", "neighbours"),
    [("P90", "P80 and P100"), ("P11", "is P12"), ("P5000", "is P2500"), ("ANSI 500", "ANSI 400 and ANSI 600")],
)
def test_an_unknown_grade_is_refused_and_the_nearest_are_named(text: str, neighbours: str) -> None:
    with pytest.raises(ValueError, match=neighbours):
        parse_grit(text)


@pytest.mark.parametrize("text", ["", "P", "P1.5", "P-", "Q80", "P80/120", "P٨٠", "80P", "P 1_20"])
def test_anything_else_is_refused_as_no_grit(text: str) -> None:
    with pytest.raises(ValueError, match="is not a grit"):
        parse_grit(text)


@pytest.mark.parametrize("scale", SCALES)
def test_text_and_grit_are_inverses(scale: Scale) -> None:
    for grit in grades(scale):
        assert parse_grit(str(grit)) == grit


@pytest.mark.parametrize("scale", SCALES)
def test_grades_run_coarse_to_fine_as_their_numbers_rise(scale: Scale) -> None:
    for coarse, fine in itertools.pairwise(grades(scale)):
        assert coarse.number < fine.number
        assert coarse > fine
        assert coarse.coarser_than(fine)
        assert fine.finer_than(coarse)


def test_no_two_grades_share_a_grain_size_so_order_and_equality_agree() -> None:
    sizes = [row.size for table in GRAIN_SIZES.values() for row in table.values()]
    assert len(set(sizes)) == len(sizes)


def test_every_grain_size_says_where_it_comes_from() -> None:
    assert {row.provenance for table in GRAIN_SIZES.values() for row in table.values()} == {PUBLISHED, MEMORY}
    assert Grit("P", 120).provenance == PUBLISHED
    assert Grit("P", 150).provenance == MEMORY


def test_min_is_the_finest_and_max_the_coarsest_across_scales() -> None:
    grits = [Grit("P", 120), Grit("ANSI", 120), Grit("P", 80)]
    assert max(grits) == Grit("P", 80)
    assert min(grits) == Grit("ANSI", 120)


def test_steps_and_neighbours_agree_and_stop_at_the_ends() -> None:
    assert neighbour(Grit("P", 80), 3) == Grit("P", 150)
    assert steps_between(Grit("P", 80), Grit("P", 150)) == 3
    assert steps_between(Grit("P", 150), Grit("P", 80)) == -3
    assert neighbour(Grit("P", 12), -1) is None
    assert neighbour(Grit("P", 2500), 1) is None


def test_steps_between_two_scales_are_refused() -> None:
    with pytest.raises(ValueError, match="two scales"):
        steps_between(Grit("P", 80), Grit("ANSI", 120))


def test_a_ratio_below_one_means_finer_before_coarser() -> None:
    assert grain_ratio(Grit("P", 150), Grit("P", 80)) == pytest.approx(100 / 201)
