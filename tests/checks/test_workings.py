"""Every number that the tool worked out can be asked why: formula, inputs, and where its limit comes from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import pytest
from builders import AT, SHEET, changed, sheet, view
from pydantic import BaseModel

from preflight.checks.finding import Finding, Verdict
from preflight.checks.route import assess
from preflight.cli.assess import judge_file, sheet_path
from preflight.history import History
from preflight.quantities import Quantity
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at

SAMPLES = sorted(path.stem for path in (bundled() / "sheets").glob("*.toml"))
MINE = ("belts", "backing", "condition", "tension", "removal", "running", "test_board")
"""Checks whose workings state a formula as an equation."""
DEEP: dict[str, Any] = {
    "removal.test": {"before": "27.90 mm", "after": ["27.52 mm", "27.45 mm"]},
    "removal.share": None,
    "removal.passes": None,
    "running.swing": {"1": {"out": 2.2, "back": 2.0}},
    "running.feed_timed": {"distance": "1 m", "seconds": 10.2},
    "test_board.marks": {"span": "121 mm", "count": 10},
    "test_board.readings.1.second": "27.43 mm",
    "test_board.readings.1.ends": ["27.44 mm", "27.42 mm"],
    "tension.leak_fall": "0.1 bar",
    "tension.running": {"1": "4.25 bar"},
}
"""A sheet on which what is due weekly is read too."""
EXTRA: dict[str, dict[str, Any]] = {
    "deep": DEEP,
    "no plan": {"removal.share": None, "removal.passes": None, "belts.2.platen": "down"},
}
ALL = (*SAMPLES, *EXTRA)


@cache
def findings(sample: str) -> tuple[tuple[str, Finding], ...]:
    if sample not in EXTRA:
        _, _, found = judge_file(sheet_path(sample), shop_at(None))
    else:
        history = History(sheets=(changed(SHEET, {"at": None, "tension.1": "4.1 bar"}),), times=(AT.replace(day=24),))
        shop = view(job_changes={"glued_up_side_by_side": True}, belt_2={"joint_step": "0.03 mm"})
        found = assess(sheet(EXTRA[sample]), shop, history)
    return tuple((result.check, finding) for result in found.checks for finding in result.findings)


@cache
def typed(sample: str) -> frozenset[float]:
    """Every quantity that somebody wrote: sheet, job, belts and profiles."""
    if sample in EXTRA:
        shop, answers = view(belt_2={"joint_step": "0.03 mm"}), sheet(EXTRA[sample])
    else:
        file, shop, _ = judge_file(sheet_path(sample), shop_at(None))
        answers = file.value
    models = [answers, shop.machine, *shop.jobs.values(), *shop.belts.values()]
    return frozenset(value for model in models for value in quantities(model))


def quantities(value: Any) -> Iterator[float]:
    if isinstance(value, Quantity):
        yield value.value
    elif isinstance(value, float):
        yield value * 3600  # hours written as a plain number
    elif isinstance(value, BaseModel):
        yield from quantities(dict(value))
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from quantities(item)
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from quantities(item)


def computed(sample: str) -> list[tuple[str, Finding]]:
    known = typed(sample)
    return [
        (check, finding)
        for check, finding in findings(sample)
        if isinstance(finding.measured, Quantity) and finding.measured.value not in known
    ]


@pytest.mark.parametrize("sample", ALL)
def test_a_computed_number_states_its_workings(sample: str) -> None:
    assert [f"{check} {f.subject}: {f.statement}" for check, f in computed(sample) if not f.workings] == []


@pytest.mark.parametrize("sample", ALL)
def test_its_workings_are_an_equation_with_its_inputs(sample: str) -> None:
    without = [
        f"{check} {f.subject}: {f.workings}"
        for check, f in computed(sample)
        if check in MINE and not ("=" in f.workings and any(c.isdigit() for c in f.workings))
    ]
    assert without == []


@pytest.mark.parametrize("sample", ALL)
def test_a_limit_and_a_stop_name_the_field_and_its_source(sample: str) -> None:
    silent = [
        f"{check} {f.subject}: {f.statement}"
        for check, f in findings(sample)
        if (f.low or f.high or f.verdict is Verdict.STOP) and not (f.basis and f.source)
    ]
    assert silent == []


def test_the_samples_hold_many_computed_numbers() -> None:
    found = [finding for sample in ALL for _, finding in computed(sample)]
    assert len(found) > 100
    subjects = {finding.subject.removeprefix("head 1 ") for finding in found}
    assert {"line tension", "take", "motor", "taper", "crown", "marks", "drift"} <= subjects
