"""The planner against an integer programme that shares no code with it.

The programme is a path through slots (pass, head): an arc from one lowered slot to the next carries the need of
the second, shares are continuous, and passes are added until the programme has a solution.
"""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from preflight.engine.abrasives import Grit
from preflight.engine.cutting_head import Cut, CuttingHead, head_cap
from preflight.engine.removal import CapTable
from preflight.engine.removal_job import PlanHead, RemovalJob
from preflight.engine.removal_plan import NoPlan, RemovalPlan, plan_removal
from preflight.engine.removal_reach import LEAST_CUT

MOST_PASSES = 4
MICRO = 1e6  # solver tolerances are absolute: work in micrometres


def generated_job(seed: int) -> tuple[RemovalJob, list[PlanHead]]:
    rng = random.Random(seed)
    count = rng.choice([1, 2, 2, 3, 3, 3])
    grains = sorted((rng.uniform(60e-6, 300e-6) for _ in range(count)), reverse=True)
    if rng.random() < 0.1:
        rng.shuffle(grains)
    heads = []
    for index, grain in enumerate(grains):
        cap = rng.uniform(20e-6, 600e-6) * (0.3 if rng.random() < 0.3 else 1.0)
        heads.append(
            PlanHead(
                id=str(index + 1),
                grain_size=grain,
                cap=cap,
                scratch=rng.uniform(0.15, 0.40) * grain,
                comfort=rng.uniform(0.6, 0.8) * cap,
                can_lift=rng.random() < 0.75,
                platen=index == count - 1 and rng.random() < 0.3,
                barred="worn out" if rng.random() < 0.05 else "",
            )
        )
    total = rng.uniform(10e-6, 1.3 * MOST_PASSES * sum(head.cap for head in heads) / rng.choice([1, 2, 4, 8]))
    spread = rng.choice([0.0, 0.0, rng.uniform(0.0, 150e-6)])
    marks = rng.choice([0.0, rng.uniform(0.0, 60e-6)])
    return RemovalJob(total, spread, marks), heads


def programme_solves(job: RemovalJob, heads: list[PlanHead], passes: int) -> bool:
    """Is there a plan of exactly this many passes? Variables: one binary an arc, one share a slot."""
    slots = [(p, h) for p in range(passes) for h in range(len(heads)) if not heads[h].barred]
    if not slots:
        return False
    arcs: list[tuple[int | None, int]] = []
    for b, (p, h) in enumerate(slots):
        if p == 0:
            arcs.append((None, b))
        for a, (q, g) in enumerate(slots):
            within = q == p and g < h and heads[g].grain_size >= heads[h].grain_size
            if within or q == p - 1:
                arcs.append((a, b))
    sinks = [b for b, (p, h) in enumerate(slots) if (p, h) == (passes - 1, len(heads) - 1)]
    n, m = len(arcs), len(slots)
    rows, low, high = [], [], []

    def add(row: np.ndarray, least: float, most: float) -> None:
        rows.append(row)
        low.append(least)
        high.append(most)

    source = np.zeros(n + m)
    source[[i for i, (a, _) in enumerate(arcs) if a is None]] = 1
    add(source, 1, 1)
    for s, (_, h) in enumerate(slots):
        into = [i for i, (_, b) in enumerate(arcs) if b == s]
        out = [i for i, (a, _) in enumerate(arcs) if a == s]
        flow = np.zeros(n + m)
        flow[into], flow[out] = 1, -1
        add(flow, 1.0 if s in sinks else 0.0, 1.0 if s in sinks else 0.0)
        if not heads[h].can_lift:
            used = np.zeros(n + m)
            used[into] = 1
            add(used, 1, 1)
        least, most = np.zeros(n + m), np.zeros(n + m)
        least[n + s] = most[n + s] = 1
        for i in into:
            start = arcs[i][0]
            need = job.spread + job.marks if start is None else heads[slots[start][1]].scratch
            least[i] = -max(LEAST_CUT, need) * MICRO
            most[i] = -heads[h].cap * MICRO
        add(least, 0, np.inf)
        add(most, -np.inf, 0)
    total = np.zeros(n + m)
    total[n:] = 1
    add(total, job.total * MICRO, job.total * MICRO)
    if not sinks or any(head.barred and not head.can_lift for head in heads):
        return False
    found = milp(
        c=np.zeros(n + m),
        constraints=LinearConstraint(np.array(rows), np.array(low), np.array(high)),
        integrality=np.r_[np.ones(n), np.zeros(m)],
        bounds=Bounds(np.zeros(n + m), np.r_[np.ones(n), np.full(m, np.inf)]),
    )
    return bool(found.status == 0)


def fewest_by_programme(job: RemovalJob, heads: list[PlanHead]) -> int | None:
    return next((n for n in range(1, MOST_PASSES + 1) if programme_solves(job, heads, n)), None)


def check_plan(job: RemovalJob, heads: list[PlanHead], plan: RemovalPlan) -> None:
    by_id = {head.id: head for head in heads}
    order = [head.id for head in heads]
    before: PlanHead | None = None
    for one in plan.passes:
        ids = [share.head for share in one.shares]
        assert ids == sorted(ids, key=order.index)
        assert set(ids) | set(one.lifted) == set(order)
        assert set(ids).isdisjoint(one.lifted)
        assert all(by_id[i].can_lift for i in one.lifted)
        for coarse, fine in itertools.pairwise(ids):
            assert by_id[coarse].grain_size >= by_id[fine].grain_size
        for share in one.shares:
            head = by_id[share.head]
            need = job.spread + job.marks if before is None else before.scratch
            assert not head.barred
            assert max(LEAST_CUT, need) - 1e-12 <= share.take <= head.cap
            before = head
    assert plan.passes[-1].shares[-1].head == order[-1]
    assert sum(one.total for one in plan.passes) == pytest.approx(job.total, abs=1e-11)


@pytest.mark.parametrize("block", range(6))
def test_fifty_generated_jobs_take_as_few_passes_as_the_integer_programme(block: int) -> None:
    outcomes = set()
    for seed in range(50 * block, 50 * block + 50):
        job, heads = generated_job(seed)
        plan = plan_removal(job, heads, max_passes=MOST_PASSES)
        fewest = fewest_by_programme(job, heads)
        if isinstance(plan, NoPlan):
            assert fewest is None, f"job {seed}: {plan.reason}, yet {fewest} passes do"
            outcomes.add(0)
        else:
            assert len(plan.passes) == fewest, f"job {seed}"
            check_plan(job, heads, plan)
            outcomes.add(len(plan.passes))
    # The jobs are no use as a test if they all come out alike.
    assert {0, 1, 2} <= outcomes


def test_the_nearest_total_of_a_refusal_can_be_planned() -> None:
    refusals = 0
    for seed in range(300):
        job, heads = generated_job(seed)
        none = plan_removal(job, heads, max_passes=MOST_PASSES)
        if isinstance(none, NoPlan) and none.nearest_total is not None:
            refusals += 1
            again = RemovalJob(none.nearest_total, job.spread, job.marks)
            assert isinstance(plan_removal(again, heads, max_passes=MOST_PASSES), RemovalPlan), f"job {seed}"
    assert refusals > 20


def test_no_cap_is_ever_extrapolated_upward() -> None:
    rng = random.Random(5)
    sizes = [24, 36, 40, 50, 60, 80, 100, 120, 150, 180, 220, 240, 320, 400]
    for _ in range(300):
        chosen = sorted(rng.sample(sizes, rng.randint(1, 4)))
        caps = sorted((rng.uniform(0.02e-3, 0.8e-3) for _ in chosen), reverse=True)
        table = CapTable({Grit("P", n): cap for n, cap in zip(chosen, caps, strict=True)})
        for number in sizes:
            head = CuttingHead("1", Grit("P", number), table, 0.3, factors=(rng.uniform(0.5, 2.0),))
            limit = head_cap(head, Cut(1.0, 0.1, 650.0))
            assert limit.cap <= caps[0]
            if number > chosen[-1]:
                assert limit.cap < caps[-1]
