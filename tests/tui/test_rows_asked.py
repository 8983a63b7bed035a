"""What a station asks follows what was answered: rows that may stay empty, and those that may not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from builders import AT, SHEET, changed, sheet, view

from preflight.checks.finding import Verdict
from preflight.history import History
from preflight.shop.limits import Limit
from preflight.tui.run import Run
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.stations.belts import ALL_SOUND

if TYPE_CHECKING:
    from preflight.tui.rows import Row

BASE: dict[str, Any] = {"schema": 1, "machine": "bay-two", "at": AT}


def run(**typed: str) -> Run:
    """A run with answers by row key, dots written as two underscores."""
    answers = {key.replace("__", "."): text for key, text in typed.items()}
    return Run(STATIONS, view=view(), base=BASE).resumed(answers, {}, {})


def asked(run: Run, station: str) -> dict[str, bool]:
    """Rows of a station by key, and whether each wants an answer."""
    return {row.key: run.asks(row) for row in run.rows(station)}


def row(run: Run, station: str, key: str) -> Row:
    return next(row for row in run.rows(station) if row.key == key)


@pytest.mark.parametrize(
    ("state", "wanted"),
    [
        ("none", set()),
        ("scraped", {"glue.by"}),
        ("beads standing", {"glue.bead", "glue.hours"}),
        ("smeared", {"glue.bead", "glue.hours"}),
    ],
)
def test_the_glue_rows_that_the_check_leaves_open_want_an_answer(state: str, wanted: set[str]) -> None:
    rows = asked(run(glue__state=state), "glue")
    assert {key for key, wants in rows.items() if wants} == {"glue.state", *wanted}


def test_a_scraped_lot_without_a_name_is_open_at_a_row_that_enter_does_not_pass() -> None:
    scraped = run(glue__state="scraped")
    assert scraped.verdict("glue") is Verdict.OPEN
    assert "empty" not in row(scraped, "glue", "glue.by").hint


def test_a_head_can_be_lifted_for_the_job_and_then_nothing_is_read_on_it() -> None:
    lifted = run(belts__2__lifted="lifted")
    assert lifted.sheet is not None
    on = lifted.sheet.belt_on("2")
    assert on is not None
    assert on.lifted
    assert not asked(lifted, "tension")["tension.2"]
    assert "running.stop.2" not in asked(lifted, "running")
    assert "running.current.2" not in asked(lifted, "running")
    tracked = lifted.typing("running.tracking", row(lifted, "running", "running.tracking").choices[0].label)
    assert tracked.sheet is not None
    assert set(tracked.sheet.running.tracking) == {"1"}
    lowered = lifted.typing("belts.2.lifted", "lowered")
    assert asked(lowered, "tension")["tension.2"]
    assert "running.stop.2" in asked(lowered, "running")


def test_one_look_may_answer_for_all_heads_and_a_head_may_still_differ() -> None:
    both = run(belts__1__look=ALL_SOUND)
    assert not asked(both, "belts")["belts.2.look"]
    assert both.sheet is not None
    assert [len(on.looked) for on in both.sheet.belts] == [4, 4]
    assert [on.head for on in both.sheet.belts] == ["1", "2"]
    differs = both.typing("belts.2.look", "runs against its arrow")
    assert differs.sheet is not None
    assert [on.arrow for on in differs.sheet.belts] == ["with", "against"]
    alone = run(belts__1__look="all four good")
    assert asked(alone, "belts")["belts.2.look"]


def test_an_unbraked_head_without_a_limit_shows_no_band_of_a_brake() -> None:
    unbraked = view({"heads.1.brake": "none", "heads.1.run_down": None, "heads.2.run_down": None})
    rows = Run(STATIONS, view=unbraked, base=BASE).judged().rows("running")
    bands = {row.key: row.band for row in rows}
    assert bands["running.stop.1"] is None
    assert isinstance(bands["running.stop.2"], Limit)


def test_the_air_supply_wants_an_answer_after_the_air_was_off() -> None:
    yesterday = History(sheets=(changed(SHEET, {"at": None}),), times=(AT,))
    for happened, wants in (("", False), ("power or air off", True)):
        one = Run(STATIONS, view=view(), history=yesterday, base={**BASE, "happened": happened}).judged()
        assert asked(one, "tension")["tension.supply"] is wants


def test_the_lamp_of_a_stated_spark_detection_wants_an_answer() -> None:
    guard = {"what": "spark detection", "by": "P. Quill", "date": sheet().at.date()}
    guarded = Run(STATIONS, view=view(ducts={"protection": guard}), base=BASE).judged()
    assert asked(guarded, "extraction")["extraction.spark"]
    assert "extraction.spark" not in asked(run(), "extraction")
