"""Stations as data: short labels, unique keys, and how much a person has to enter."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from preflight.checks.finding import Verdict
from preflight.checks.route import ROUTE
from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.demo_shop import MACHINE, YESTERDAY, add_history
from preflight.tui.desk import Desk, Terminal
from preflight.tui.stations import TITLES
from preflight.tui.stations.all_stations import STATIONS

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.tui.run import Run

TODAY = datetime(2026, 11, 26, 6, 40, tzinfo=UTC)
MOST_ENTRIES = 25


def desk_at(shop: Path, machine: str = MACHINE) -> Desk:
    return Desk(shop_at(shop), shop, lambda: TODAY, lambda: secrets.token_hex(16), Terminal("test", 1), machine)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    return folder


@pytest.fixture
def with_yesterday(shop: Path) -> Path:
    add_history(shop, lambda: TODAY, lambda: secrets.token_hex(16))
    return shop


def fresh(shop: Path, machine: str = MACHINE) -> Run:
    desk = desk_at(shop, machine)
    try:
        return desk.load().run
    finally:
        desk.close()


def test_stations_are_the_checks_in_their_order() -> None:
    assert [key for key, _ in TITLES] == [name for name, _ in ROUTE] == [station.id for station in STATIONS]


@pytest.mark.parametrize("machine", shop_at(None).ids(Machine))
def test_labels_fit_their_column_and_keys_are_unique(shop: Path, machine: str) -> None:
    run = fresh(shop, machine)
    rows = [row for station in run.stations for row in station.rows(run)]
    assert len({row.key for row in rows}) == len(rows) > 20
    assert [row.label for row in rows if len(row.label) > 26] == []
    assert [row.hint for row in rows if len(row.hint) > 112] == []  # two lines of the body


@pytest.mark.parametrize("machine", shop_at(None).ids(Machine))
def test_purposes_and_cautions_fit_at_80_columns(shop: Path, machine: str) -> None:
    for station in fresh(shop, machine).stations:
        assert len(station.purpose) <= 58
        if station.caution:
            assert len(station.caution[1]) <= 67, station.caution  # one row of the why-panel


def test_with_yesterdays_belts_the_two_head_machine_asks_at_most_25_entries(with_yesterday: Path) -> None:
    run, entries = fresh(with_yesterday), 0
    for station in run.stations:
        for key in [row.key for row in station.rows(run)]:
            row = next(row for row in station.rows(run) if row.key == key)
            if row.asked and not row.optional and not run.typed.get(key):
                run, entries = run.typing(key, YESTERDAY[key]), entries + 1
    assert run.releasable, [
        f.statement for s in run.stations for f in run.findings(s.id) if f.verdict > Verdict.CAUTION
    ]
    assert entries + 1 <= MOST_ENTRIES  # and the name at sign-off
    print(f"entries with the name at sign-off: {entries + 1}")


def test_facts_of_yesterday_stand_and_readings_do_not(with_yesterday: Path) -> None:
    typed = fresh(with_yesterday).typed
    assert typed["belts.1.card"] == YESTERDAY["belts.1.card"]
    assert typed["extraction.gate.two-1"] == "open"
    assert not set(typed) & {"tension.1", "stock.thickest", "extraction.static", "test_board.left", "belts.1.look"}


def test_a_new_belt_half_measured_leaves_the_rest_judged_and_says_what_is_wanted(shop: Path) -> None:
    run = fresh(shop).typing("belts.1.card", "new belt").typing("belts.1.grit", "P80").typing("tension.1", "4.2")
    assert run.verdict("belts") is Verdict.OPEN
    assert any("backing" in message for message in run.unread.values())
    assert run.sheet is not None
    assert run.sheet.tension.gauge["1"].text == "4.2 bar"


def test_a_new_belt_measured_once_is_judged_from_what_was_typed(shop: Path) -> None:
    run = fresh(shop)
    for key, text in (
        ("card", "new belt"), ("id", "H-300"), ("grit", "P100"), ("backing", "cloth X"), ("joint", "lap"),
        ("length_left", "1930"), ("length_right", "1930"), ("width", "940"),
    ):  # fmt: skip
        run = run.typing(f"belts.1.{key}", text)
    assert any("1930 mm" in finding.statement and finding.verdict is Verdict.STOP for finding in run.findings("belts"))


def test_pictures_keep_inside_their_room(with_yesterday: Path) -> None:
    from preflight.tui.charset import ASCII, UNICODE
    from preflight.tui.painting import width_of

    run = fresh(with_yesterday)
    run = run.resumed({**run.typed, **YESTERDAY}, {}, {})
    for station in run.stations:
        for charset in (UNICODE, ASCII):
            for width, height in ((58, 8), (56, 20), (44, 5)):
                lines = station.picture(run, width, height, charset) if station.picture else []
                assert len(lines) <= height, station.id
                assert all(width_of(line) <= width for line in lines), station.id
