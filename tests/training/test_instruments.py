"""Gauges and calipers drawn to be read: what is drawn can be read back, and readings are judged as the scale allows."""

from __future__ import annotations

import doctest
import importlib

import pytest

from preflight.training.instruments import CALIPER, GAUGE, INDICATOR, INSTRUMENTS, WATER, drawn, lines, number_in, read

MODULES = ("checklist.practice_chain", "training.instruments", "training.score", "training.standing")


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.id)
def test_a_drawing_fits_a_small_terminal_and_is_the_same_for_the_same_seed(instrument: object) -> None:
    name = instrument.id  # type: ignore[attr-defined]
    for seed in range(20):
        _, value, grid = drawn(name, seed)
        assert drawn(name, seed)[1:] == (value, grid)
        assert max(map(len, grid)) <= 70
        assert len(grid) <= 14
        assert len({len(row) for row in grid}) == 1


@pytest.mark.parametrize("name", ["gauge", "gauge-psi", "dial"])
def test_a_straight_dial_points_at_its_value(name: str) -> None:
    for seed in range(30):
        instrument, value, grid = drawn(name, seed)
        scale, pointer = lines(grid)[1], lines(grid)[3]
        left, right = scale.index("|"), scale.rindex("|")
        share = (pointer.index("^") - left) / (right - left)
        assert instrument.low + share * (instrument.high - instrument.low) == pytest.approx(value)


def test_a_caliper_is_read_by_the_mark_that_meets_a_mark() -> None:
    """Principle of the vernier: the slide's divisions are 0.2 mm shorter than the main scale's 1 mm."""
    for seed in range(40):
        _, value, grid = drawn("caliper", seed)
        rows = lines(grid)
        main = [at for at, character in enumerate(rows[1]) if character == "|"]
        slide = [at for at, character in enumerate(rows[2]) if character == "|"]
        first = int(rows[0].split()[0]) - (rows[0].index(rows[0].split()[0][0]) > 2)
        whole = first + slide[0] // 5
        (fits, *others) = [number for number, at in enumerate(slide) if at in main]
        assert whole + fits % 5 * 0.2 == pytest.approx(value)
        assert not others or (fits, others) == (0, [5])


def test_a_water_manometer_is_read_from_level_to_level() -> None:
    for seed in range(10):
        _, value, grid = drawn("water", seed)
        rows = lines(grid)
        level = [
            next(y for y, row in enumerate(rows) if row[at : at + 1] in "~:" and row[at : at + 1]) for at in (11, 19)
        ]
        assert (level[1] - level[0]) * WATER.division == pytest.approx(value)


def test_half_a_division_is_right_and_a_whole_one_is_not() -> None:
    assert read(GAUGE, 4.2, 4.1).right
    assert read(GAUGE, 4.2, 4.3).right
    assert not read(GAUGE, 4.2, 4.4).right
    assert not read(INDICATOR, 0.05, 0.04).right


def test_a_slip_of_the_point_is_named() -> None:
    assert "ten times" in read(INDICATOR, 0.05, 0.5).statement
    assert "a tenth" in read(CALIPER, 34.0, 3.4).statement


def test_a_number_is_read_with_its_unit_and_no_other() -> None:
    assert number_in(GAUGE, "4.2") == number_in(GAUGE, "4,2 bar") == 4.2
    assert number_in(GAUGE, "60 psi") is None
    assert number_in(GAUGE, "about four") is None


@pytest.mark.parametrize("name", MODULES)
def test_the_worked_examples_of_practice_hold(name: str) -> None:
    found = doctest.testmod(importlib.import_module(f"preflight.{name}"))
    assert found.attempted > 0
    assert found.failed == 0
