"""The feed plan against linear and integer programmes, built here and solved by HiGHS through scipy.optimize."""

from __future__ import annotations

import numpy as np
import pytest
from feed_jobs import Job, job_of
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array

from preflight.engine.lanes import plan

JOBS = 320
MILP_NODES = 60
"""Nodes, not seconds: the same on every machine."""


def programme(job: Job) -> tuple[np.ndarray, csr_array, np.ndarray, csr_array, np.ndarray]:
    """min peak: boards per size and place, exposure of every cell at or below the peak, all boards placed."""
    cells = round(job.belt.width / job.step)
    wear = np.zeros(cells)
    for strip in job.wear:
        wear[round(strip.start / job.step) : round(strip.end / job.step)] += strip.exposure
    shut = np.zeros(cells, dtype=bool)
    for a, b in job.belt.keep_off:
        shut[round(a / job.step) : round(b / job.step)] = True
    row: list[int] = []
    column: list[int] = []
    value: list[float] = []
    size_row: list[int] = []
    columns = 0
    for size, part in enumerate(job.parts):
        wide = round(part.width / job.step)
        for left in range(cells - wide + 1):
            if shut[left : left + wide].any():
                continue
            row += range(left, left + wide)
            column += [columns] * wide
            value += [part.length] * wide
            size_row.append(size)
            columns += 1
    for cell in range(cells):
        row.append(cell)
        column.append(columns)
        value.append(-1.0)
    covered = csr_array((value, (row, column)), shape=(cells, columns + 1))
    placed = csr_array((np.ones(columns), (size_row, np.arange(columns))), shape=(len(job.parts), columns + 1))
    cost = np.zeros(columns + 1)
    cost[-1] = 1.0
    return cost, covered[~shut], -wear[~shut], placed, np.array([float(p.count) for p in job.parts])


def linear_peak(job: Job) -> float:
    cost, covered, floor, placed, counts = programme(job)
    result = linprog(cost, A_ub=covered, b_ub=floor, A_eq=placed, b_eq=counts, method="highs")
    assert result.status == 0
    return float(result.fun)


def integer_peak(job: Job) -> float:
    """Best whole-board peak HiGHS finds in so many nodes, infinite where it finds none."""
    cost, covered, floor, placed, counts = programme(job)
    whole = np.ones(len(cost))
    whole[-1] = 0.0
    result = milp(
        cost,
        constraints=[LinearConstraint(covered, ub=floor), LinearConstraint(placed, counts, counts)],
        integrality=whole,
        bounds=Bounds(0.0, np.inf),
        options={"node_limit": MILP_NODES},
    )
    if result.x is None:
        return float("inf")
    # HiGHS lets rows be passed by 1e-6, so the peak is summed up anew from its whole boards.
    boards = np.rint(result.x[:-1])
    assert (np.asarray(placed[:, :-1] @ boards) == counts).all()
    return float(np.max(covered[:, :-1] @ boards - floor))


@pytest.fixture(scope="module")
def judged() -> list[tuple[Job, float, float, float, float]]:
    """Job, plan's peak, plan's bound, linear peak, best known whole-board peak."""
    results = []
    for number in range(JOBS):
        job = job_of(number)
        found = plan(job.parts, job.belt, job.wear)
        results.append((job, found.peak, found.bound, linear_peak(job), min(integer_peak(job), found.peak)))
    return results


def test_of_a_hundred_jobs_ninety_five_are_within_one_percent_or_one_longest_board_of_the_best_known(
    judged: list[tuple[Job, float, float, float, float]],
) -> None:
    far = [
        number
        for number, (job, peak, _, _, best) in enumerate(judged)
        if peak - best > max(0.01 * best, *(p.length for p in job.parts)) + 1e-9
    ]
    assert len(far) <= 0.05 * len(judged), far


def test_nine_jobs_in_ten_are_within_one_percent_of_the_best_known(
    judged: list[tuple[Job, float, float, float, float]],
) -> None:
    near = sum(peak <= best * 1.01 + 1e-9 for _, peak, _, _, best in judged)
    assert near >= 0.9 * len(judged)


def test_no_plan_beats_the_linear_programme_and_no_bound_passes_the_best_known_plan(
    judged: list[tuple[Job, float, float, float, float]],
) -> None:
    for number, (_, peak, bound, linear, best) in enumerate(judged):
        assert peak >= linear * (1.0 - 1e-7), number
        assert bound <= best * (1.0 + 1e-7), number
        assert bound <= peak, number


def test_the_bound_proves_most_plans_nearly_the_best_there_is(
    judged: list[tuple[Job, float, float, float, float]],
) -> None:
    shares = [bound / peak for _, peak, bound, _, _ in judged]
    assert sum(shares) / len(shares) >= 0.97


def test_a_rotation_of_few_feeds_is_as_even_as_it_says_and_no_board_is_lost() -> None:
    """Exposure summed up cell by cell, apart from the planner's own coverage."""
    followed = 0
    for number in range(120):
        job = job_of(number)
        found = plan(job.parts, job.belt, job.wear, feeds="rotation")
        counts = [sum(p.part == i for p in found.placements) for i in range(len(job.parts))]
        assert counts == [part.count for part in job.parts], number
        exposure = np.zeros(round(job.belt.width / job.step * 20))
        fine = job.step / 20
        for strip in job.wear:
            exposure[round(strip.start / fine) : round(strip.end / fine)] += strip.exposure
        for shut in job.belt.keep_off:
            exposure[round(shut[0] / fine) : round(shut[1] / fine)] = 0.0
        for p in found.placements:
            a, b = p.left_edge, p.left_edge + job.parts[p.part].width
            exposure[round(a / fine) : round(b / fine)] += job.parts[p.part].length
        assert exposure.max() == pytest.approx(found.peak, rel=1e-9), number
        followed += len(found.different) <= 4 and found.share_of_best >= 0.95
    assert followed >= 55
