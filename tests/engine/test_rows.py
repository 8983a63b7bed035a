"""Boards abreast and the order of feeds."""

from __future__ import annotations

import itertools
from collections import Counter
from random import Random

import pytest

from preflight.engine.boards import Part, Usable
from preflight.engine.coverage import exposure_over
from preflight.engine.lane_cells import cells_of
from preflight.engine.lane_search import abreast_lefts
from preflight.engine.rows import abreast, fewest_feeds, share_rows, take_turns

BELT = Usable(0.910, 0.0)


@pytest.mark.parametrize(("width", "expected"), [(0.180, 4), (0.100, 7), (0.300, 2), (0.442, 2), (0.443, 1)])
def test_as_many_abreast_as_width_and_gap_allow(width: float, expected: int) -> None:
    # Computed: floor((910 + 25) / (w + 25)).
    assert abreast(0.910, width, 0.025) == expected


def test_sharing_rows_needs_as_many_as_overlap_at_the_worst_point() -> None:
    random = Random(3)
    for _ in range(50):
        spans = []
        for _ in range(random.randint(1, 40)):
            a = random.randint(0, 60) / 100
            spans.append((a, a + random.randint(5, 40) / 100))
        rows = share_rows(spans)
        worst = max(sum(a <= x + 1e-12 < b for a, b in spans) for x, _ in spans)
        assert len(set(rows)) == worst
        for i, (a, b) in enumerate(spans):
            for j in range(i):
                if rows[i] == rows[j]:
                    assert b <= spans[j][0] + 1e-9 or spans[j][1] <= a + 1e-9


def test_boards_that_just_touch_share_a_row() -> None:
    assert share_rows([(0.0, 0.1 + 0.2), (0.3, 0.6)]) == (0, 0)


def test_turns_give_each_key_as_often_as_counted() -> None:
    random = Random(5)
    for _ in range(200):
        counts = [(k, random.randint(0, 30)) for k in "abcdefghijklmnop"[: random.randint(1, 16)]]
        assert Counter(take_turns(counts)) == Counter({k: n for k, n in counts if n})


def test_equal_counts_never_follow_themselves() -> None:
    for kinds in range(2, 15):
        order = take_turns([(k, 9) for k in range(kinds)])
        assert all(a != b for a, b in itertools.pairwise(order))


def test_a_key_of_half_the_feeds_is_every_second_one() -> None:
    order = take_turns([("a", 20), ("b", 10), ("c", 10)])
    assert all(a != b for a, b in itertools.pairwise(order))


@pytest.mark.parametrize(
    ("parts", "feeds"),
    [
        ([Part(0.180, 1.0, 200)], 50),
        ([Part(0.180, 1.0, 201)], 51),
        ([Part(0.600, 1.0, 10), Part(0.250, 1.0, 10)], 10),  # side by side: 600 + 25 + 250
        ([Part(0.600, 1.0, 4, thickness=0.02), Part(0.250, 1.0, 3, thickness=0.03)], 5),
    ],
)
def test_fewest_feeds_fill_each_row(parts: list[Part], feeds: int) -> None:
    gap = 0.025
    extra = [abreast_lefts(p, parts, BELT, gap) for p in parts]
    cells = cells_of(parts, BELT, exposure_over([], BELT.segments), None, gap, extra)
    rows = fewest_feeds(parts, cells)
    assert len(rows) == feeds
    assert Counter(part for row in rows for part, _ in row) == {i: p.count for i, p in enumerate(parts)}
    for row in rows:
        spans = sorted((cells.windows[i].lefts[k], cells.windows[i].lefts[k] + parts[i].width) for i, k in row)
        assert all(a - b >= gap - 1e-9 for (_, b), (a, _) in itertools.pairwise(spans))
