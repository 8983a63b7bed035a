"""Laws of caps, shares, plans and fits that hold for any input."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from preflight.engine.abrasives import GRAIN_SIZES, Grit, grades, parse_grit
from preflight.engine.cutting_head import Cut, CuttingHead, HeadMotor, head_cap
from preflight.engine.removal import CapTable
from preflight.engine.removal_job import PlanHead, RemovalJob
from preflight.engine.removal_plan import RemovalPlan, plan_removal
from preflight.engine.share_levels import Bound, level_shares
from preflight.engine.tension import TensionCylinder, line_tension, slip_force
from preflight.engine.thickness import fit_thickness

LAW = settings(deadline=None)  # a busy machine is no broken law
GRITS = st.sampled_from([*grades("P"), *grades("ANSI")])
CAPS = st.floats(1e-5, 1e-3)


@st.composite
def tables(draw: st.DrawFn) -> CapTable:
    grits = sorted(draw(st.sets(GRITS, min_size=1, max_size=5)), reverse=True)
    caps = sorted((draw(CAPS) for _ in grits), reverse=True)
    return CapTable(dict(zip(grits, caps, strict=True)))


@st.composite
def plan_heads(draw: st.DrawFn) -> list[PlanHead]:
    grains = sorted(draw(st.lists(st.floats(50e-6, 400e-6), min_size=1, max_size=3)), reverse=True)
    heads = []
    for index, grain in enumerate(grains):
        cap = draw(st.floats(30e-6, 700e-6))
        heads.append(
            PlanHead(
                id=str(index + 1),
                grain_size=grain,
                cap=cap,
                scratch=draw(st.floats(0.1, 0.4)) * grain,
                comfort=draw(st.floats(0.5, 1.0)) * cap,
                can_lift=draw(st.booleans()),
                platen=draw(st.booleans()),
            )
        )
    return heads


JOBS = st.builds(RemovalJob, total=st.floats(20e-6, 4e-3), spread=st.floats(0, 1e-4), marks=st.floats(0, 5e-5))


@LAW
@given(tables(), GRITS, GRITS)
def test_a_coarser_grit_never_has_the_lower_cap(table: CapTable, one: Grit, other: Grit) -> None:
    coarse, fine = max(one, other), min(one, other)
    assert table.cap(coarse).cap >= table.cap(fine).cap * (1 - 1e-12)


@LAW
@given(tables(), GRITS)
def test_no_cap_lies_above_the_first_row(table: CapTable, grit: Grit) -> None:
    assert 0 < table.cap(grit).cap <= table.rows[0][1] * (1 + 1e-12)


@LAW
@given(tables(), st.floats(0.1, 10))
def test_caps_scale_with_their_table(table: CapTable, factor: float) -> None:
    scaled = CapTable({grit: cap * factor for grit, cap in table.rows})
    for grit in (Grit("P", 36), Grit("P", 120), Grit("P", 400)):
        assert scaled.cap(grit).cap == pytest.approx(factor * table.cap(grit).cap)


@LAW
@given(
    tables(),
    GRITS,
    st.lists(st.floats(0.05, 3), max_size=4),
    st.none() | st.floats(1e-5, 1e-3),
    st.none() | st.floats(500, 40e3),
)
def test_nothing_ever_loosens_the_cap_of_a_grit(
    table: CapTable, grit: Grit, factors: list[float], maximum: float | None, motor: float | None
) -> None:
    bare = CuttingHead("1", grit, table, 0.3)
    cut = Cut(0.9, 0.1, 650.0)
    bound = replace(
        bare, factors=tuple(factors), maximum=maximum, motor=None if motor is None else HeadMotor(motor, 0.70, 0.90)
    )
    limit = head_cap(bound, cut)
    assert limit.cap <= head_cap(bare, cut).cap
    assert limit.comfort <= limit.cap


@LAW
@given(JOBS, plan_heads())
def test_shares_sum_to_the_total_within_every_cap_and_need(job: RemovalJob, heads: list[PlanHead]) -> None:
    plan = plan_removal(job, heads)
    assume(isinstance(plan, RemovalPlan))
    assert isinstance(plan, RemovalPlan)
    shares = [share for one in plan.passes for share in one.shares]
    assert math.fsum(share.take for share in shares) == pytest.approx(job.total, abs=1e-11)
    by_id = {head.id: head for head in heads}
    for before, share in zip([None, *shares], shares, strict=False):
        assert share.take <= by_id[share.head].cap
        need = job.marks + job.spread if before is None else by_id[before.head].scratch
        assert share.take >= need - 1e-12
    assert plan.passes[-1].shares[-1].head == heads[-1].id


@LAW
@given(JOBS, plan_heads())
def test_passes_are_never_fewer_than_the_sum_of_caps_allows(job: RemovalJob, heads: list[PlanHead]) -> None:
    plan = plan_removal(job, heads)
    if isinstance(plan, RemovalPlan):
        assert len(plan.passes) * sum(head.cap for head in heads) >= job.total - 1e-11


@LAW
@given(JOBS, plan_heads(), st.floats(1.0, 3.0))
def test_higher_caps_never_cost_a_pass(job: RemovalJob, heads: list[PlanHead], factor: float) -> None:
    plan = plan_removal(job, heads)
    if isinstance(plan, RemovalPlan):
        wider = plan_removal(job, [replace(head, cap=head.cap * factor) for head in heads])
        assert isinstance(wider, RemovalPlan)
        assert len(wider.passes) <= len(plan.passes)


@LAW
@given(JOBS, plan_heads())
def test_a_comfortable_plan_keeps_every_head_in_its_comfort(job: RemovalJob, heads: list[PlanHead]) -> None:
    plan = plan_removal(job, heads)
    if isinstance(plan, RemovalPlan) and plan.comfortable:
        by_id = {head.id: head for head in heads}
        for share in (share for one in plan.passes for share in one.shares if not by_id[share.head].platen):
            assert share.take <= max(share.need, by_id[share.head].comfort) + 1e-12


@LAW
@given(
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(0.1, 1), st.booleans()), min_size=1, max_size=6),
    st.floats(0, 1),
)
def test_level_shares_sum_to_any_total_their_bounds_allow(
    rows: list[tuple[float, float, float, bool]], part: float
) -> None:
    bounds = [Bound(low, low + extra, weight, resort) for low, extra, weight, resort in rows]
    low, high = (math.fsum(getattr(b, edge) for b in bounds) for edge in ("low", "high"))
    takes = level_shares(low + part * (high - low), bounds)
    assert math.fsum(takes) == pytest.approx(low + part * (high - low), abs=1e-9)
    for take, bound in zip(takes, bounds, strict=True):
        assert bound.low <= take <= bound.high
    # Level: whoever could still take more is loaded at least as much as whoever could still take less.
    for resort in (False, True):
        group = [(t, b) for t, b in zip(takes, bounds, strict=True) if b.last_resort is resort]
        room = [t / b.weight for t, b in group if t < b.high - 1e-9]
        slack = [t / b.weight for t, b in group if t > b.low + 1e-9]
        assert min(room, default=math.inf) >= max(slack, default=-math.inf) - 1e-6


@LAW
@given(GRITS)
def test_every_grit_survives_being_written_and_read(grit: Grit) -> None:
    assert parse_grit(str(grit)) == grit
    assert grit.grain_size == GRAIN_SIZES[grit.scale][grit.number].size


@LAW
@given(st.text(max_size=12))
def test_any_text_is_a_grit_or_a_value_error(text: str) -> None:
    try:
        grit = parse_grit(text)
    except ValueError:
        return
    assert grit in (*grades("P"), *grades("ANSI"))


@LAW
@given(st.floats(0, 8e5), st.floats(0, 8e5), st.floats(0.02, 0.2), st.floats(0.3, 2.0), st.floats(-1000, 1000))
def test_more_pressure_is_more_line_tension(one: float, other: float, bore: float, width: float, weight: float) -> None:
    cylinder = TensionCylinder(bore, roller_force=weight)
    low, high = sorted((one, other))
    assert line_tension(low, cylinder, width) <= line_tension(high, cylinder, width)


@LAW
@given(st.floats(0, 1e5), st.floats(0, 2), st.floats(0, 7))
def test_a_drum_never_pulls_harder_than_the_belt_is_pulled(pull: float, friction: float, wrap: float) -> None:
    assert 0 <= slip_force(pull, friction, wrap) <= pull


@LAW
@given(
    st.lists(st.integers(0, 1400), min_size=3, max_size=12, unique=True),
    st.floats(0.005, 0.1),
    st.floats(-1e-3, 1e-3),
    st.floats(-1e-3, 1e-3),
)
def test_a_parabola_comes_back_from_any_three_places(
    places: list[int], constant: float, slope: float, bend: float
) -> None:
    xs = [x / 1000 for x in places]
    fit = fit_thickness(xs, [constant + slope * x + bend * x * x for x in xs], 0.0)
    for x in xs:
        assert fit.at(x) == pytest.approx(constant + slope * x + bend * x * x, rel=1e-9)
    left, right = min(xs), max(xs)
    crown, taper = fit.crown(), fit.taper()
    assert crown is not None
    assert taper is not None
    assert crown.value == pytest.approx(-bend * ((right - left) / 2) ** 2, abs=1e-12)
    assert taper.value == pytest.approx(slope * (right - left) + bend * (right**2 - left**2), abs=1e-12)


@LAW
@given(
    st.lists(st.tuples(st.floats(0, 1.4), st.floats(0.019, 0.021)), min_size=3, max_size=10, unique_by=lambda r: r[0]),
    st.floats(-0.01, 0.01),
)
def test_an_offset_of_the_caliper_changes_neither_taper_nor_crown(
    rows: list[tuple[float, float]], offset: float
) -> None:
    xs = sorted(round(x, 3) for x, _ in rows)
    assume(len(set(xs)) == len(xs))
    ts = [t for _, t in rows]
    one, two = fit_thickness(xs, ts, 1e-6), fit_thickness(xs, [t + offset for t in ts], 1e-6)
    for a, b in ((one.taper(), two.taper()), (one.crown(), two.crown())):
        assert a is not None
        assert b is not None
        assert a.value == pytest.approx(b.value, abs=1e-10)
