"""Marked places, their names, and patterns that a person can follow."""

from __future__ import annotations

import itertools

import pytest

from preflight.engine.boards import Part, Placement, Usable
from preflight.engine.lanes import plan, replan
from preflight.engine.places import (
    marked_places,
    nearest_place,
    pattern_of,
    place_name,
    repeating_pattern,
    row_names,
    tallies,
)

BELT = Usable(0.910, 0.015)


def test_ten_marks_run_from_hard_left_to_hard_right() -> None:
    marks = marked_places(0.180, BELT, 10)
    assert marks[0] == 0.015
    assert marks[-1] + 0.180 == pytest.approx(0.925)
    assert {round(b - a, 9) for a, b in itertools.pairwise(marks)} == {round(0.730 / 9, 9)}


def test_a_part_too_wide_for_the_marks_is_refused_by_how_much() -> None:
    with pytest.raises(ValueError, match=r"10\.0 mm wider"):
        marked_places(0.920, BELT, 10)
    with pytest.raises(ValueError, match="at least one place"):
        marked_places(0.1, BELT, 0)


def test_each_mark_is_its_own_nearest_place() -> None:
    marks = marked_places(0.180, BELT, 10)
    assert [nearest_place(x, 0.180, BELT, 10) for x in marks] == list(range(10))


def test_edges_have_names_and_other_marks_have_numbers() -> None:
    names = [place_name(x, 0.180, BELT, 10) for x in marked_places(0.180, BELT, 10)]
    assert names == ["left edge", "1", "2", "3", "4", "5", "6", "7", "8", "right edge"]


def test_the_part_is_named_only_where_there_are_several() -> None:
    one = [Part(0.2, 1.0, 3)]
    two = [*one, Part(0.3, 1.0, 3)]
    row = [Placement(0, 0.725, 0), Placement(0, 0.015, 0)]
    assert row_names(row, one, BELT) == ("left edge", "right edge")
    assert row_names(row, two, BELT) == ("left edge (part 1)", "right edge (part 1)")


def test_a_pattern_gives_back_the_very_steps_it_was_made_of() -> None:
    for text in ("abcabcabcx", "aaaa", "ab", "", "xaabaabyy", "abcdabceabcd"):
        blocks = repeating_pattern(text)
        assert "".join("".join(b.steps) * b.times for b in blocks) == text


def test_the_plan_of_eighty_feeds_is_one_line_to_follow() -> None:
    parts = [Part(0.180, 1.0, 200)]
    blocks = pattern_of(plan(parts, BELT, places=5), parts, BELT, 5)
    assert [(set(b.steps), b.times) for b in blocks] == [
        ({("left edge", "2", "right edge"), ("1", "3")}, 40),
    ]


def test_a_plan_on_ten_marks_stays_short() -> None:
    parts = [Part(0.300, 0.9, 60)]
    found = plan(parts, BELT, places=10)
    blocks = pattern_of(found, parts, BELT, 10)
    assert sum(len(b.steps) * b.times for b in blocks) == found.feeds
    assert sum(len(b.steps) for b in blocks) <= 24


def test_tallies_count_boards_by_part_and_mark() -> None:
    parts = [Part(0.180, 1.0, 200)]
    counted = tallies(plan(parts, BELT, places=5).placements, parts, BELT, 5)
    assert counted == ((40, 40, 40, 40, 40),)


def test_the_next_place_is_not_the_one_just_used() -> None:
    parts = [Part(0.300, 0.9, 12)]
    current = plan(parts, BELT, places=10)
    first = current
    fed: list[Placement] = []
    while row := current.rows[0] if current.feeds else ():
        if fed:
            last = {p.left_edge for p in fed if p.row == fed[-1].row}
            others = {p.left_edge for p in current.placements} - last
            assert not others or not last & {p.left_edge for p in row}
        fed += [Placement(p.part, p.left_edge, len(fed)) for p in row]
        current = replan(parts, BELT, fed, first, places=10)
    assert len(fed) == 12
    assert current.peak == pytest.approx(first.peak)
