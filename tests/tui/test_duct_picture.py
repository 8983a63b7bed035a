"""The extraction station: the duct tree as lines, the gates as rows, and both following a toggle at once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from builders import AT, view
from generated_hall import hall

from preflight.checks.finding import Verdict
from preflight.tui.charset import ASCII, UNICODE
from preflight.tui.painting import width_of
from preflight.tui.run import Run
from preflight.tui.stations.all_stations import STATIONS
from preflight.tui.stations.extraction import picture, rows
from preflight.tui.widgets.entry_lines import table_lines

if TYPE_CHECKING:
    from preflight.tui.painting import Picture

GATE = "extraction.gate."
BEFORE = {f"{GATE}bay-two-1": "open", f"{GATE}bay-two-2": "open", f"{GATE}saw": "shut"}


def run(typed: dict[str, str] | None = None) -> Run:
    start = Run(STATIONS, view=view(), base={"schema": 1, "machine": "bay-two", "at": AT})
    return replace(start, typed=BEFORE if typed is None else typed).judged()


def text(drawn: Picture) -> list[str]:
    return ["".join(part for part, _ in line) for line in drawn]


@pytest.mark.parametrize("width", [20, 26, 40, 60, 90])
@pytest.mark.parametrize("height", [2, 4, 6, 30])
def test_the_picture_never_leaves_its_room(width: int, height: int) -> None:
    drawn = picture(run(), width, height, UNICODE)
    assert 0 < len(drawn) <= height
    assert all(width_of(line) <= width for line in drawn)


def test_each_run_is_a_line_under_the_one_it_leads_into_with_flow_velocity_and_verdict() -> None:
    lines = text(picture(run(), 90, 20, UNICODE))
    assert lines[0].startswith("fan ")
    names = [line[2:].split()[0] for line in lines[1:]]
    assert names == ["main", "bay-two", "b2-drop-1", "b2-drop-2", "saw"]
    main = lines[1]
    assert main.startswith("✓ main")
    assert "m3/h" in main
    assert "m/s" in main
    assert "bay-two-1 open" in lines[3]
    assert "saw shut" in lines[5]


def test_the_velocity_is_what_is_kept_where_there_is_no_room_for_more() -> None:
    lines = text(picture(run(), 26, 20, UNICODE))
    assert all("m/s" in line or "leaks only" in line for line in lines[1:])
    assert not any("m3/h" in line for line in lines[1:])


def test_what_does_not_fit_is_counted_and_runs_without_air_give_way_first() -> None:
    lines = text(picture(run(), 60, 6, UNICODE))
    assert len(lines) == 6
    lines = text(picture(run(), 60, 5, UNICODE))
    assert lines[-1] == "2 more runs"
    only_saw = text(
        picture(
            run({**BEFORE, f"{GATE}bay-two-1": "shut", f"{GATE}bay-two-2": "shut", f"{GATE}saw": "open"}),
            60,
            4,
            UNICODE,
        )
    )
    assert [line[2:].split()[0] for line in only_saw[1:3]] == ["main", "saw"]


def test_the_verdict_reads_without_colour_and_in_ascii() -> None:
    slow = run({**BEFORE, f"{GATE}bay-two-1": "shut", f"{GATE}bay-two-2": "shut", f"{GATE}saw": "open"})
    line = text(picture(slow, 60, 20, ASCII))[1]
    assert line.startswith("X main")
    assert all(character.isascii() for line in text(picture(slow, 90, 20, ASCII)) for character in line)


def test_a_bar_passes_the_tick_of_the_limit_only_when_the_run_is_fast_enough() -> None:
    fast = text(picture(run(), 90, 20, ASCII))[1]
    slow = text(
        picture(
            run({**BEFORE, f"{GATE}bay-two-1": "shut", f"{GATE}bay-two-2": "shut", f"{GATE}saw": "open"}), 90, 20, ASCII
        )
    )[1]
    assert "|#" in fast
    assert "|." in slow


def test_a_toggled_gate_changes_verdict_picture_and_figures_at_once() -> None:
    before = run()
    after = before.typing(f"{GATE}saw", "open", AT)
    assert text(picture(before, 60, 20, UNICODE)) != text(picture(after, 60, 20, UNICODE))
    notes = {row.key: row.note for row in rows(after)}
    assert "m3/h" in notes[f"{GATE}saw"]
    assert {row.key: row.note for row in rows(before)}[f"{GATE}saw"] == ""
    shut = after.typing(f"{GATE}bay-two-1", "shut", AT)
    assert shut.verdict("extraction") is Verdict.STOP


def test_this_machines_gates_the_reading_and_the_bin_stand_on_one_small_screen() -> None:
    keys = [row.key for row in rows(run()) if row.asked]
    assert keys[:2] == [f"{GATE}bay-two-1", f"{GATE}bay-two-2"]
    assert keys[2:6] == ["extraction.static", "extraction.velocity", "extraction.bin", "extraction.filter"]
    assert keys[6:] == [f"{GATE}saw"]


def test_only_shared_runs_are_shown_and_below_all_that_is_answered() -> None:
    shown = [row.key for row in rows(run()) if not row.asked]
    assert shown == ["extraction.run.main", "extraction.run.bay-two"]
    assert [row.key for row in rows(run())][-len(shown) :] == shown


def test_gates_are_facts_that_carry_over_and_readings_are_not() -> None:
    facts = {row.key: row.fact for row in rows(run())}
    assert all(fact == key.startswith(GATE) for key, fact in facts.items())


def test_a_gate_in_use_is_open_and_kept_so() -> None:
    sheet = run().typing(f"{GATE}saw", "in use", AT).sheet
    assert sheet is not None
    assert sheet.extraction.in_use == ("saw",)
    assert "saw" in (sheet.extraction.open or ())


def test_gates_not_looked_at_yet_are_asked_for_and_marked() -> None:
    first = run({f"{GATE}bay-two-1": "open"})
    found = next(f for f in first.findings("extraction") if f.subject == "gates")
    assert found.verdict is Verdict.OPEN
    marked = [row.key for row in rows(first) if "gates" in row.subjects]
    assert marked == [f"{GATE}bay-two-2", f"{GATE}saw"]
    assert next(f for f in run().findings("extraction") if f.subject == "gates").verdict is Verdict.OK


def test_at_80_by_24_the_main_stands_beside_the_gates() -> None:
    lines = text(table_lines(run(), "extraction", f"{GATE}bay-two-1", 60, 16, UNICODE, picture=True))
    assert any("run main" in line and "m/s" in line for line in lines)
    assert any("gate bay-two-1" in line for line in lines)
    assert any("m3/h" in line for line in lines if "run " not in line)


def test_labels_and_hints_fit_their_columns_in_a_hall_of_forty_gates() -> None:
    start = Run(STATIONS, view=replace(view(), extraction=hall(40)), base={"schema": 1, "machine": "bay-two", "at": AT})
    big = replace(start, typed={f"{GATE}gate-{n}": "shut" for n in range(40)}).judged()
    assert len(rows(big)) > 40
    assert all(len(row.label) <= 26 for row in rows(big))


def test_the_gate_that_is_toggled_says_what_it_does_elsewhere_and_what_cures_it() -> None:
    slow = run({**BEFORE, f"{GATE}bay-two-1": "shut", f"{GATE}bay-two-2": "shut"}).typing(f"{GATE}saw", "open", AT)
    saw = next(row for row in rows(slow) if row.key == f"{GATE}saw")
    assert saw.hint == "gate bay-two-1, stop: Open it, then read the air again."
    fine = next(row for row in rows(run()) if row.key == f"{GATE}saw")
    assert fine.hint == "panel saw's. In use: somebody works there."


def test_without_ducts_there_is_nothing_to_ask_or_draw() -> None:
    bare = replace(run({}), view=replace(view(), extraction=None)).judged()
    assert rows(bare) == []
    assert picture(bare, 60, 20, UNICODE) == []


def test_a_run_that_carries_only_leaks_says_so_in_picture_and_row() -> None:
    shut = run({f"{GATE}bay-two-1": "shut", f"{GATE}bay-two-2": "shut", f"{GATE}saw": "open"})
    row = next(row for row in rows(shut) if row.key == "extraction.run.bay-two")
    assert row.shown.startswith("leaks only, ")
    lines = ["".join(text for text, _ in line) for line in picture(shut, 58, 12, UNICODE)]
    assert any("bay-two" in line and "leaks only" in line for line in lines)
    assert not any("main" in line and "leaks only" in line for line in lines)
    assert "leaks" not in next(row for row in rows(run()) if row.key == "extraction.run.bay-two").shown
