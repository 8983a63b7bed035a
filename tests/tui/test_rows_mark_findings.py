"""Every finding has its row: what is wrong is marked at the entry that answers for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from preflight.checks.finding import Verdict
from preflight.checks.route import assess
from preflight.checks.running.weekly import WEEKLY
from preflight.cli.assess import judge_file
from preflight.history import History
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at
from preflight.tui.run import Run
from preflight.tui.stations.all_stations import STATIONS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.checks.finding import Finding
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView

SHEETS = sorted((bundled() / "sheets").glob("*.toml"))

NO_ROW = {("extraction", "spark detection"), ("feed", "job")}
"""Answered in a sheet of a shop whose profile names no spark detection: the screen does not ask for it. Without a job
card there is nothing to feed, so that station has no rows yet."""

READ: dict[str, Any] = {
    "running": {"interlock": "start refused", "swing": {"1": {}}, "feed_timed": {"distance": "1 m"}},
    "tension": {"leak_fall": "0 bar", "supply": "6 bar"},
    "removal": {"test": {"before": "20 mm"}},
    "test_board": {"readings": [{"second": "20 mm"}]},
}


def one_due(sheet: SetupSheet) -> Iterator[History | None]:
    """No records; then, one after the other, records in which one weekly thing was not read for a month."""
    yield None
    for one in WEEKLY:
        read = {part: dict(readings) for part, readings in READ.items()}
        for part, readings in READ.items():
            for key in readings:
                if one.read({part: {key: readings[key]}}):
                    del read[part][key]
        yield History(sheets=({}, read), times=(sheet.at - timedelta(days=30), sheet.at - timedelta(days=1)))


def typed(sheet: SetupSheet) -> dict[str, str]:
    """The answers that decide which further rows are asked."""
    return {"glue.state": sheet.glue.state or "", "test_board.light": sheet.test_board.raking_light}


def unmarked(sheet: SetupSheet, view: ShopView, findings: list[tuple[str, Finding]]) -> set[tuple[str, str]]:
    left = {(check, finding.subject) for check, finding in findings} - NO_ROW
    for history in one_due(sheet):
        run = Run(STATIONS, view=view, base={"at": sheet.at}, sheet=sheet, typed=typed(sheet), history=history)
        rows = {station.id: station.rows(run) for station in STATIONS}
        left = {(check, subject) for check, subject in left if not any(r.answers_for(subject) for r in rows[check])}
    return left


@pytest.mark.parametrize("file", SHEETS, ids=lambda file: file.stem)
def test_every_finding_of_the_samples_marks_a_row_of_its_station(file: Path) -> None:
    loaded, view, found = judge_file(file, shop_at(None))
    assert unmarked(loaded.value, view, [(r.check, f) for r in found.checks for f in r.findings]) == set()


@pytest.mark.parametrize("file", SHEETS, ids=lambda file: file.stem)
def test_every_finding_of_a_sheet_with_one_station_unanswered_marks_a_row(file: Path) -> None:
    loaded, view, _ = judge_file(file, shop_at(None))
    sheet = loaded.value
    for name in ("job", "stock", "glue", "belts", "condition", "tension", "extraction", "removal", "running"):
        empty = type(sheet).model_fields[name].get_default()
        without = sheet.model_copy(update={name: empty})
        found = assess(without, view, None)
        assert unmarked(without, view, [(r.check, f) for r in found.checks for f in r.findings]) == set(), name


def test_the_question_whether_a_unit_slipped_marks_the_row_of_its_reading() -> None:
    loaded, view, _ = judge_file(bundled() / "sheets" / "ok-two-heads.toml", shop_at(None))
    sheet = loaded.value
    run = Run(STATIONS, view=view, base={"schema": 1, "machine": sheet.machine, "at": sheet.at})
    run = replace(run, typed={"stock.thickest": "278 mm", "stock.thinnest": "27.8 mm"}).judged()
    row = next(row for row in run.rows("stock") if row.key == "stock.thickest")
    slipped = [found.subject for found in run.findings("stock") if found.subject.endswith(" unit")]
    assert slipped == ["thickness unit"]
    assert row.answers_for("thickness unit")


def test_a_new_belt_is_marked_at_the_measure_that_is_wrong_not_at_its_card() -> None:
    loaded, view, _ = judge_file(bundled() / "sheets" / "ok-two-heads.toml", shop_at(None))
    sheet = loaded.value
    run = Run(STATIONS, view=view, base={"schema": 1, "machine": sheet.machine, "at": sheet.at})
    card = {"card": "new belt", "id": "H-300", "grit": "P100", "backing": "cloth X", "joint": "lap"}
    sizes = {"length_left": "1900", "length_right": "19000", "width": "940"}
    run = replace(run, typed={f"belts.1.{key}": text for key, text in {**card, **sizes}.items()}).judged().judged()
    worst = {row.key: found.verdict for row in run.rows("belts") if (found := run.finding(row, "belts"))}
    assert worst["belts.1.length_right"] is Verdict.STOP
    assert worst["belts.1.width"] is Verdict.OK
    assert worst.get("belts.1.card") is not Verdict.STOP
