"""No label, answer, choice or hint of any row of the bundled machines ends in an ellipsis at 80 columns."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from desk_samples import MORNING, tokens

from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.charset import UNICODE
from preflight.tui.demo_shop import YESTERDAY, add_history
from preflight.tui.desk import Desk, Terminal
from preflight.tui.widgets.entry_lines import choice_line, table_lines, value_width

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.tui.run import Run

WIDTH, HEIGHT = 60, 16
"""The body at 80 x 24."""
SEEN_BY: tuple[dict[str, str], ...] = (
    {},
    {"glue.state": "beads standing", "condition.inside": "not all sound", "test_board.light": "chatter"},
    {"condition.conveyor": "slips", "condition.cleaned": "dressed", "glue.state": "scraped"},
    {"extraction.static": "300", "extraction.bin": "95", "extraction.gate.two-1": "shut"},
    {"belts.1.card": "new belt", "belts.2.card": "new belt", "running.stop.1": "15"},
)
"""Answers that bring rows of their own."""


@pytest.fixture(params=shop_at(None).ids(Machine))
def run(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Run]:
    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    add_history(shop, lambda: MORNING, tokens("demo"))
    desk = Desk(shop_at(shop), shop, lambda: MORNING, tokens("desk"), Terminal("bench", 1), request.param)
    loaded = desk.load().run
    yield loaded.resumed({**YESTERDAY, **loaded.typed}, {}, {})
    desk.close()


def text_of(line: object) -> str:
    return "".join(text for text, _ in line)  # type: ignore[attr-defined]


def shown(run: Run, station_id: str) -> Iterator[tuple[str, str]]:
    """Every line of a station, each row current in turn, and each answer that can be chosen, standing and current."""
    for row in run.rows(station_id):
        answers = [choice.label for choice in row.choices] or [run.typed.get(row.key, "")]
        for answer in answers:
            chosen = replace(run, typed={**run.typed, row.key: answer})
            current = next((one for one in chosen.rows(station_id) if one.key == row.key), None)
            if current is None:
                continue
            if current.choices:
                room = value_width(current, WIDTH, current=True)
                yield row.key, text_of(choice_line(current, answer, room, UNICODE))
            for line in table_lines(chosen, station_id, row.key, WIDTH, HEIGHT, UNICODE, picture=True):
                yield row.key, text_of(line)
            for line in table_lines(chosen, station_id, "", WIDTH, HEIGHT, UNICODE, picture=False):
                yield row.key, text_of(line)


def test_nothing_on_any_row_of_any_station_is_cut_at_80_columns(run: Run) -> None:
    cut: set[str] = set()
    looked = 0
    for extra, station in itertools.product(SEEN_BY, run.stations):
        more = replace(run, typed={**run.typed, **extra}) if extra else run
        for key, line in shown(more.judged() if extra else more, station.id):
            looked += 1
            if UNICODE.ellipsis in line:
                cut.add(f"{key}: {line.strip()}")
    assert looked > 2000
    assert not cut, "\n".join(sorted(cut))


def test_the_hint_of_a_choice_stands_whole_beside_its_answers(run: Run) -> None:
    """What is looked at is said where it is answered: the other rows give way to it, never it to them."""
    looked = 0
    for station in run.stations:
        for row in run.rows(station.id):
            if not row.choices:
                continue
            lines = table_lines(run, station.id, row.key, WIDTH, HEIGHT, UNICODE, picture=True)
            text = " ".join(" ".join(map(text_of, lines)).split())
            assert len(lines) <= HEIGHT
            assert " ".join(row.hint.split()) in text, (row.key, lines)
            looked += 1
    assert looked >= 10
