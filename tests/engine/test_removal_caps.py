from __future__ import annotations

import pytest

from preflight.engine.abrasives import Grit
from preflight.engine.cutting_head import Cut, CuttingHead, HeadMotor, head_cap, head_scratch, why_barred
from preflight.engine.removal import (
    SINGLE_ROW_SLOPE,
    CapTable,
    clamped_factor,
    cutting_power,
    feed_factor,
    feed_limit,
    removal_at_load,
    scratch_depth,
    specific_energy,
    total_per_face,
    wood_factor,
)

P60, P80, P100, P120, P150, P180 = (Grit("P", n) for n in (60, 80, 100, 120, 150, 180))
TABLE = CapTable({P80: 0.61e-3, P150: 0.165e-3})
CUT = Cut(width=0.94, feed_speed=0.1, density=650.0)


def test_a_row_of_the_table_is_taken_as_it_stands() -> None:
    assert TABLE.cap(P80).cap == 0.61e-3
    assert TABLE.cap(P80).note == "table"


def test_coarser_than_the_table_takes_the_first_cap_and_says_so() -> None:
    for grit in (P60, Grit("P", 24), Grit("ANSI", 60)):
        assert TABLE.cap(grit).cap == 0.61e-3
        assert "coarser than the table: cap of P80" in TABLE.cap(grit).note


def test_finer_than_the_table_goes_down_and_says_so() -> None:
    found = TABLE.cap(P180)
    assert found.cap == pytest.approx(0.114e-3, rel=0.005)
    assert found.note == "finer than the table: downward from P150"


def test_a_single_row_falls_with_the_common_slope() -> None:
    found = CapTable({P80: 0.5e-3}).cap(P120)
    assert found.cap == pytest.approx(0.5e-3 * (125 / 201) ** SINGLE_ROW_SLOPE)


def test_a_flat_table_still_falls_with_the_grain_beyond_its_end() -> None:
    found = CapTable({P80: 0.2e-3, P100: 0.2e-3}).cap(P150)
    assert found.cap == pytest.approx(0.2e-3 * 100 / 162)


def test_scales_may_mix_since_grain_size_decides() -> None:
    table = CapTable({P80: 0.6e-3, Grit("ANSI", 120): 0.2e-3})
    assert 0.2e-3 < table.cap(P120).cap < 0.6e-3


def test_a_table_that_allows_the_finer_grit_more_is_refused() -> None:
    with pytest.raises(ValueError, match="P150 is above that of the coarser P80"):
        CapTable({P80: 0.1e-3, P150: 0.2e-3})


@pytest.mark.parametrize("cap", [0.0, -1e-4, float("nan"), float("inf")])
def test_a_cap_that_is_no_positive_number_is_refused(cap: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        CapTable({P80: cap})


def test_an_empty_table_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one row"):
        CapTable({})


def test_a_factor_above_one_never_raises_a_cap() -> None:
    assert clamped_factor([1.5, 2.0]) == 1.0
    assert clamped_factor([1.5, 0.5]) == 0.5
    assert clamped_factor([]) == 1.0
    with pytest.raises(ValueError):
        clamped_factor([0.0])


def test_wood_and_feed_factors_stay_in_their_clamps() -> None:
    assert (wood_factor(400.0), wood_factor(2000.0)) == (1.0, 0.7)
    assert (feed_factor(0.01), feed_factor(1.0)) == (1.0, 0.5)


def test_the_cap_of_a_head_is_the_least_of_grit_maximum_and_motor() -> None:
    grit = head_cap(CuttingHead("1", P80, TABLE, 0.35), CUT)
    assert (grit.cap, grit.binding, grit.full_load) == (0.61e-3, "grit", None)
    assert grit.comfort == pytest.approx(0.8 * 0.61e-3)
    own = head_cap(CuttingHead("1", P80, TABLE, 0.35, maximum=0.4e-3), CUT)
    assert (own.cap, own.binding) == (0.4e-3, "head maximum")
    motor = head_cap(CuttingHead("1", P80, TABLE, 0.35, motor=HeadMotor(11e3, 0.70, 0.90)), CUT)
    assert motor.binding == "motor"
    energy = specific_energy(P80.grain_size, 650.0)
    assert cutting_power(energy, 0.94, motor.cap, 0.1) == pytest.approx(0.9 * 11e3)
    assert cutting_power(energy, 0.94, motor.comfort, 0.1) == pytest.approx(0.7 * 11e3)


def test_a_high_own_maximum_does_not_raise_the_cap_of_the_grit() -> None:
    assert head_cap(CuttingHead("1", P150, TABLE, 0.3, maximum=2e-3), CUT).cap == 0.165e-3


def test_factors_lower_the_grit_cap_but_not_the_own_maximum() -> None:
    head = CuttingHead("1", P80, TABLE, 0.35, maximum=0.4e-3, factors=(0.9, 0.8))
    assert head_cap(head, CUT).cap == 0.4e-3
    worn = CuttingHead("1", P80, TABLE, 0.35, maximum=0.4e-3, factors=(0.5,))
    assert head_cap(worn, CUT).cap == pytest.approx(0.305e-3)


def test_a_grit_outside_the_range_of_its_head_is_barred_with_the_reason() -> None:
    platen = CuttingHead("2", P120, TABLE, 0.18, platen=True, coarsest=P150)
    assert why_barred(platen) == "P120 is coarser than P150, the coarsest for the lowered platen"
    assert "finer than P100" in why_barred(CuttingHead("1", P120, TABLE, 0.3, finest=P100))
    assert why_barred(CuttingHead("1", P120, TABLE, 0.3, coarsest=P80, finest=P150)) == ""


def test_motor_cap_and_feed_limit_undo_the_power_of_the_cut() -> None:
    energy = specific_energy(P100.grain_size, 700.0)
    removal = removal_at_load(0.9, 15e3, energy, 0.94, 0.1)
    assert cutting_power(energy, 0.94, removal, 0.1) == pytest.approx(0.9 * 15e3)
    feed = feed_limit(0.9, 15e3, energy, 0.94, removal)
    assert feed == pytest.approx(0.1)


def test_total_per_face_halves_over_two_faces() -> None:
    assert total_per_face(0.0279, 0.0270, 1) == pytest.approx(0.9e-3)
    assert total_per_face(0.0279, 0.0270, 2) == pytest.approx(0.45e-3)
    with pytest.raises(ValueError, match="one or two faces"):
        total_per_face(0.0279, 0.0270, 3)


def test_scratches_scale_with_the_grain() -> None:
    assert scratch_depth(P100.grain_size, 0.3) == pytest.approx(48.6e-6)
    assert head_scratch(CuttingHead("1", P100, TABLE, 0.3)) == pytest.approx(48.6e-6)
    for bad in (0.0, -0.1, 1.1):
        with pytest.raises(ValueError, match="scratch factor"):
            scratch_depth(1e-4, bad)


def test_values_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="density"):
        specific_energy(1e-4, 0.0)
    with pytest.raises(ValueError, match="negative"):
        cutting_power(1e8, 1.0, -1e-4, 0.1)
    with pytest.raises(ValueError, match="feed speed"):
        feed_factor(0.0)
    with pytest.raises(ValueError, match="head 1"):
        head_cap(CuttingHead("1", P80, TABLE, 0.35, maximum=0.0), CUT)
