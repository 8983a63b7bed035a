"""Wear maps over time: month ends, new surfaces, what survives them, and how it is drawn."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from audit.audit_samples import MACHINE, add_record

from preflight.audit.account_sections import account_sections, wear_sections
from preflight.audit.chart import BarRow, bar, bar_lines, bars_svg
from preflight.audit.report import html_page, lines
from preflight.audit.shop_audit import ShopAudit
from preflight.audit.wear_over_time import Surface, WearMoment, surfaces

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

FOREVER = 2**40


@pytest.fixture
def audit(tmp_path: Path) -> Iterator[ShopAudit]:
    made = ShopAudit(tmp_path, tmp_path / "cache")
    yield made
    made.close()


def run(audit: ShopAudit, day: str, belt: list[float] | None, drum: list[float] | None, **more: Any) -> None:
    """A run whose record keeps these maps."""
    wear = [{"belt": "H-1", "metres": belt}] if belt else []
    wear += [{"drum": "1", "metres": drum}] if drum else []
    _at(audit, day, "run", run={"hours": "2 h", "wear": [w | {"left": "15 mm", "strip": "10 mm"} for w in wear]} | more)


def _at(audit: ShopAudit, day: str, kind: str, **more: Any) -> None:
    at = datetime.fromisoformat(day).replace(hour=12, tzinfo=UTC).isoformat()
    add_record(audit.shop, 1, heading={"kind": kind, "utc": at, "local": at}, **more)


def told(audit: ShopAudit, since: int = 0) -> dict[str, list[tuple[str, tuple[float, ...], str]]]:
    audit.fill()
    found: list[Surface] = audit.ask(lambda c: surfaces(c, MACHINE, since, FOREVER))
    day = {one: datetime.fromtimestamp(one.at, UTC).strftime("%m-%d") for of in found for one in of.moments}
    return {f"{of.kind} {of.name}": [(day[one], one.metres, one.change) for one in of.moments] for of in found}


def test_each_month_ends_with_its_newest_map(audit: ShopAudit) -> None:
    for day, metres in (("2026-09-03", 1.0), ("2026-09-29", 4.0), ("2026-10-02", 5.0), ("2026-10-30", 9.0)):
        run(audit, day, None, [metres, metres])
    assert told(audit) == {"drum 1": [("09-29", (4.0, 4.0), ""), ("10-30", (9.0, 9.0), "")]}


def test_a_belt_thrown_away_begins_anew_and_the_drum_goes_on(audit: ShopAudit) -> None:
    run(audit, "2026-10-02", [5.0, 3.0], [15.0, 13.0])
    run(audit, "2026-10-05", None, [16.0, 14.0], off=[{"head": "1", "belt": "H-1", "why": "worn out"}])
    run(audit, "2026-10-06", [1.0, 0.5], [17.0, 14.5], off=[{"head": "1", "belt": "H-1", "why": "other grit"}])
    run(audit, "2026-10-07", [2.0, 1.0], [18.0, 15.0])
    assert told(audit) == {
        "belt H-1": [("10-05", (5.0, 3.0), "worn out"), ("10-07", (2.0, 1.0), "")],
        "drum 1": [("10-07", (18.0, 15.0), "")],
    }


def test_a_drum_ground_after_a_run_or_by_a_repair_begins_anew_and_the_belt_goes_on(audit: ShopAudit) -> None:
    run(audit, "2026-10-02", [5.0], [15.0])
    run(audit, "2026-10-05", [6.0], None, drums=[{"head": "1", "what": "ground"}])
    run(audit, "2026-10-06", [7.0], [1.0])
    _at(audit, "2026-10-07", "repair", repair={"check": "condition", "subject": "drum 1", "what": "Cleaned"})
    _at(audit, "2026-10-08", "repair", repair={"check": "condition", "subject": "drum 1", "what": "New rubber on"})
    run(audit, "2026-10-09", [8.0], [1.5])
    assert told(audit) == {
        "belt H-1": [("10-09", (8.0,), "")],
        "drum 1": [("10-05", (15.0,), "ground"), ("10-08", (1.0,), "New rubber on"), ("10-09", (1.5,), "")],
    }


def test_a_map_that_falls_began_anew_even_where_nobody_said_so(audit: ShopAudit) -> None:
    run(audit, "2026-10-02", None, [15.0, 3.0])
    run(audit, "2026-10-09", None, [1.0, 1.0])
    assert told(audit) == {"drum 1": [("10-02", (15.0, 3.0), "begun anew"), ("10-09", (1.0, 1.0), "")]}


def test_empty_maps_are_left_out(audit: ShopAudit) -> None:
    run(audit, "2026-10-02", [0.0, 0.0], [])
    assert told(audit) == {}


def test_the_shares_are_one_where_all_strips_have_passed_the_same() -> None:
    even, one_place = WearMoment(0, (4.0, 4.0, 4.0)), WearMoment(0, (0.0, 6.0, 3.0))
    assert (even.mean_over_peak, even.lowest_over_peak) == (1.0, 1.0)
    assert (one_place.mean_over_peak, one_place.lowest_over_peak) == (0.5, 0.0)


def test_bars_keep_their_scale_from_row_to_row_and_something_is_never_nothing() -> None:
    rows = [BarRow("a", (8.0, 4.0, 0.0), "x"), BarRow("longer", (0.1, 2.0, 8.0), "y; worn out")]
    text = ["".join(part for part, _ in line) for line in bar_lines(rows, 60)]
    assert text == ["a       █▄   x", "longer  ▁▂█  y; worn out"]
    assert bar(0.0, 0.0) == " "
    assert bar_lines([], 60) == []


def test_more_strips_than_columns_are_shared_out_without_losing_any() -> None:
    row = BarRow("a", tuple(float(n % 7 == 0) for n in range(91)), "x")
    (line,) = bar_lines([row], 80)
    assert len(line[1][0]) == 46
    assert sum(map(len, (part for part, _ in line))) <= 80


def test_the_newest_maps_of_all_machines_and_every_map_of_one_are_shown_alike_in_lines_and_page(
    invented: Path, tmp_path: Path
) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    names = {one: one for (one,) in audit.ask(lambda c: c.execute("SELECT DISTINCT machine FROM records").fetchall())}
    newest = [one for one in audit.ask(lambda c: account_sections(c, 0, FOREVER, names)) if one.bar_rows]
    assert len(newest) == len(names) == 3
    machine = next(iter(names))
    own = audit.ask(lambda c: wear_sections(c, machine, machine, 0, FOREVER))
    assert {one.title.split(":")[0] for one in own} >= {"Wear of head 1, belt", "Wear of head 1, drum"}
    audit.close()
    page, printed = html_page("t", "s", [*newest, *own]), "\n".join(lines([*newest, *own]))
    for one in (*newest, *own):
        for row in one.bar_rows:
            assert row.said in page
            assert row.said in printed
    assert page.count('class="bar"') == sum(len(row.values) for one in (*newest, *own) for row in one.bar_rows)
    assert all("<script" not in drawn and "http" not in drawn for drawn in bars_svg(own[0].bar_rows))


def test_a_map_says_since_when_it_counts_also_where_the_period_begins_later(audit: ShopAudit) -> None:
    run(audit, "2026-09-03", [2.0], [9.0])
    run(audit, "2026-10-05", [5.0], None, off=[{"head": "1", "belt": "H-1", "why": "worn out"}])
    run(audit, "2026-10-06", [1.0], [15.0])
    audit.fill()
    begin = int(datetime(2026, 10, 1, tzinfo=UTC).timestamp())
    found = audit.ask(lambda c: surfaces(c, MACHINE, begin, FOREVER))
    since = {one.kind: [datetime.fromtimestamp(m.since, UTC).strftime("%m-%d") for m in one.moments] for one in found}
    assert since == {"belt": ["09-03", "10-06"], "drum": ["09-03"]}
    (now,) = audit.ask(lambda c: wear_sections(c, MACHINE, "Hall", begin, FOREVER, newest=True))
    assert [row.label for row in now.bar_rows] == ["belt H-1 since 2026-10-06", "drum 1 since 2026-09-03"]
    assert now.bar_rows[1].said == "mean/peak 1.00, lowest/peak 1.00, peak 15 m"


def test_what_does_not_fit_beside_its_bars_stands_whole_under_them() -> None:
    said = "mean/peak 0.85, lowest/peak 0.61, peak 30 m; worn out"
    text = ["".join(part for part, _ in line) for line in bar_lines([BarRow("a", (1.0, 2.0), said)], 50)]
    assert len(text) > 1
    assert " ".join(" ".join(text[1:]).split()) == said
    assert max(map(len, text)) <= 50
