"""Grain sizes and removal caps against values from outside.

Grain sizes: a secondary source's table of FEPA P / ISO 6344 and of ANSI B74.18 grades, and where the table
says so, memory; never the standards' own text. Removal caps: common practice, no source.
"""

from __future__ import annotations

import pytest

from preflight.engine.abrasives import GRAIN_SIZES, MEMORY, PUBLISHED, Grit, Scale
from preflight.engine.cutting_head import Cut, CuttingHead, head_cap, head_scratch, why_barred
from preflight.engine.removal import (
    CapTable,
    cutting_power,
    feed_limit,
    removal_at_load,
    specific_energy,
)
from preflight.engine.removal_job import RemovalJob
from preflight.engine.removal_options import plan_head
from preflight.engine.removal_plan import RemovalPlan, plan_removal

INCH = 0.0254
MM = 1e-3

# Secondary source, FEPA P = ISO 6344.
P_PUBLISHED = {
    12: 1815, 16: 1324, 20: 1000, 24: 764, 30: 642, 36: 538, 40: 425, 50: 336, 60: 269, 80: 201, 100: 162,
    120: 125, 220: 68, 240: 58.5, 400: 35.0, 600: 25.75, 2500: 8.4,
}  # fmt: skip
# Secondary source, ANSI B74.18; grade 24 stands as 715 in one copy and as 708 in another.
ANSI_PUBLISHED = {
    16: 1320, 20: 905, 24: 708, 30: 638, 36: 535, 40: 428, 50: 351, 60: 268, 80: 192, 100: 141, 400: 23.6, 600: 16.0,
}  # fmt: skip
# From memory.
P_MEMORY = {150: 100, 180: 82, 280: 52.2, 320: 46.2, 360: 40.5, 500: 30.2, 800: 21.8, 1000: 18.3, 1200: 15.3}
ANSI_MEMORY = {120: 116, 150: 93, 180: 78, 220: 66, 240: 53.5, 280: 44.0, 320: 36.0, 360: 28.8}


@pytest.mark.parametrize(
    ("scale", "table", "provenance"),
    [
        ("P", P_PUBLISHED, PUBLISHED),
        ("ANSI", ANSI_PUBLISHED, PUBLISHED),
        ("P", P_MEMORY, MEMORY),
        ("ANSI", ANSI_MEMORY, MEMORY),
    ],
)
def test_grain_sizes_agree_within_two_percent_and_own_up_to_their_provenance(
    scale: Scale, table: dict[int, float], provenance: str
) -> None:
    for number, micrometres in table.items():
        row = GRAIN_SIZES[scale][number]
        assert row.size == pytest.approx(micrometres * 1e-6, rel=0.02)
        assert row.provenance == provenance


def test_macrogrits_end_at_p220_and_microgrits_begin_at_p240() -> None:
    # ISO 6344-2 covers P12 to P220, part 3 P240 and finer: no grade between (opening text, reproduced).
    numbers = list(GRAIN_SIZES["P"])
    assert numbers[numbers.index(220) + 1] == 240


def test_p400_is_about_one_and_a_half_times_as_coarse_as_ansi_400() -> None:
    # Secondary source.
    assert Grit("P", 400).grain_size / Grit("ANSI", 400).grain_size == pytest.approx(1.5, rel=0.02)


def test_the_two_scales_part_ways_as_they_get_finer() -> None:
    # Secondary source, fine end of ANSI from memory.
    assert Grit("P", 120).coarser_than(Grit("ANSI", 120))
    assert Grit("P", 220).grain_size == pytest.approx(Grit("ANSI", 220).grain_size, rel=0.04)
    # from memory
    assert Grit("P", 800).grain_size == pytest.approx(Grit("ANSI", 400).grain_size, rel=0.10)


COMMON = CapTable({Grit("P", 80): 0.024 * INCH, Grit("P", 150): 0.0065 * INCH})


def test_caps_at_p80_and_p150_give_p120_within_one_percent() -> None:
    # Common practice, no source.
    assert COMMON.cap(Grit("P", 120)).cap / INCH == pytest.approx(0.0099, rel=0.01)


@pytest.mark.parametrize(
    ("number", "inches"),
    [
        (24, 0.024), (60, 0.024), (80, 0.024), (100, 0.016), (120, 0.0099), (150, 0.0065), (180, 0.0045),
        (220, 0.0032), (240, 0.0024), (280, 0.0019), (320, 0.0015),
    ],
)  # fmt: skip
def test_the_common_table_of_caps_comes_out_to_its_last_digit(number: int, inches: float) -> None:
    # Common practice, no source, computed from the two anchors; the table prints tenths of a thousandth.
    half_digit = 0.00005 if inches < 0.01 else 0.0005
    assert abs(COMMON.cap(Grit("P", number)).cap / INCH - inches) <= half_digit


def test_p150_takes_six_to_seven_thousandths_and_finer_grits_less() -> None:
    # Common practice, no source.
    assert 0.006 <= COMMON.cap(Grit("P", 150)).cap / INCH <= 0.007
    assert COMMON.cap(Grit("P", 180)).cap < COMMON.cap(Grit("P", 150)).cap


CUT = Cut(width=0.94, feed_speed=0.1, density=650.0)


def platen(number: int) -> CuttingHead:
    # Common practice, no source: a platen takes 0.002 in at most, and only with P150 and finer.
    return CuttingHead("2", Grit("P", number), COMMON, 0.18, maximum=0.002 * INCH, platen=True, coarsest=Grit("P", 150))


def test_a_platen_takes_at_most_two_thousandths_on_p150_and_finer() -> None:
    for number in (150, 180, 220):
        assert head_cap(platen(number), CUT).cap <= 0.002 * INCH
        assert why_barred(platen(number)) == ""
    for number in (80, 100, 120):
        assert "coarser than P150" in why_barred(platen(number))


@pytest.mark.parametrize(
    ("before", "factor", "after", "works"),
    [
        (80, 0.30, 150, False), (100, 0.30, 150, True), (120, 0.30, 180, True), (120, 0.30, 220, True),
        (150, 0.30, 220, True), (100, 0.35, 180, False), (120, 0.35, 180, True), (80, 0.22, 180, True),
        (60, 0.30, 150, False), (60, 0.30, 120, False), (80, 0.30, 120, False),
    ],
)  # fmt: skip
def test_a_platen_follows_only_what_it_can_erase(before: int, factor: float, after: int, works: bool) -> None:
    # Worked sums from common practice and scratch factors from memory.
    drum = CuttingHead("1", Grit("P", before), COMMON, factor, can_lift=False)
    finish = CuttingHead(
        "2", Grit("P", after), COMMON, 0.18, maximum=0.05 * MM, can_lift=False, platen=True, coarsest=Grit("P", 150)
    )
    plan = plan_removal(RemovalJob(0.2 * MM), [plan_head(drum, CUT), plan_head(finish, CUT)])
    assert isinstance(plan, RemovalPlan) is works


@pytest.mark.parametrize(
    ("number", "factor", "micrometres"),
    [(60, 0.30, 81), (80, 0.30, 60), (100, 0.30, 49), (120, 0.30, 37.5),
     (150, 0.30, 30), (100, 0.35, 57), (80, 0.22, 44)],
)  # fmt: skip
def test_needs_after_a_head_are_the_worked_ones(number: int, factor: float, micrometres: float) -> None:
    # From memory.
    head = CuttingHead("1", Grit("P", number), COMMON, factor)
    assert head_scratch(head) * 1e6 == pytest.approx(micrometres, abs=0.6)


@pytest.mark.parametrize(
    ("width_mm", "motor_kw", "power_kw", "ninety_mm"), [(635, 7.5, 10.9, 0.38), (940, 15, 16.1, 0.51)]
)
def test_the_motor_often_binds_before_the_grit(
    width_mm: float, motor_kw: float, power_kw: float, ninety_mm: float
) -> None:
    # Worked figures on a specific energy from memory: P80, 0.61 mm, 6 m/min, 650 kg/m3.
    energy = specific_energy(Grit("P", 80).grain_size, 650.0)
    assert cutting_power(energy, width_mm * MM, 0.61 * MM, 0.1) / 1e3 == pytest.approx(power_kw, abs=0.06)
    found = removal_at_load(0.9, motor_kw * 1e3, energy, width_mm * MM, 0.1)
    assert found / MM == pytest.approx(ninety_mm, abs=0.006)


def test_slower_feed_brings_the_small_motor_back_to_ninety_percent() -> None:
    # Worked figure on a specific energy from memory: 0.61 mm at 3.7 m/min.
    energy = specific_energy(Grit("P", 80).grain_size, 650.0)
    assert feed_limit(0.9, 7500.0, energy, 0.635, 0.61 * MM) * 60 == pytest.approx(3.7, abs=0.05)
