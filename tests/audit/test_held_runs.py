"""Runs on a held start-up: what stands, what covers it, how it is counted, listed and flagged."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from audit.audit_samples import MACHINE, NOW, add_record

from preflight.audit.attendance import Case, ShiftCount
from preflight.audit.held_runs import HELD, flags
from preflight.audit.patterns import patterns
from preflight.audit.rules import Rules
from preflight.audit.sections import flag_section, shift_sections
from preflight.audit.shop_audit import ShopAudit
from preflight.audit.time_sections import MOST_CASES, case_rows

if TYPE_CHECKING:
    from pathlib import Path

FOREVER = 2**40
STOP = {"check": "glue", "subject": "glue", "verdict": "stop", "statement": "Beads stand.", "takes_override": True}
OTHER = "m-00000000000a"


class Shop:
    """Records some hours ago: a number of the chain for each."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def add(self, ago: int, kind: str, machine: str = MACHINE, **more: Any) -> None:
        add_record(self.folder, ago, machine, heading={"kind": kind}, **more)

    def run(self, ago: int, machine: str = MACHINE) -> None:
        began = (NOW - timedelta(hours=ago)).isoformat()
        add_record(self.folder, ago - 1, machine, heading={"kind": "run", "name": "T. Wold"}, run={"began": began})

    def override(self, ago: int, check: str = "glue", number: int = 1) -> None:
        refers = {"machine": MACHINE, "sequence": number, "sha256": "0" * 64}
        given = {"check": check, "subject": "glue", "reason": "The lot was scraped by hand"}
        self.add(ago, "override", refers=refers, override=given)

    def counts(self, machine: str = "") -> list[ShiftCount]:
        audit = ShopAudit(self.folder, self.folder / "cache")
        audit.fill()
        _, counts = audit.ask(lambda c: patterns(c, Rules(), 0, FOREVER, machine))
        audit.close()
        return counts

    def held(self) -> list[tuple[int, int]]:
        return [(one.sequence, one.held) for count in self.counts() for one in count.cases if one.what == HELD]


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def test_a_run_after_a_held_start_up_is_counted_and_names_who_ran_it(shop: Shop) -> None:
    shop.add(6, "held", findings=[STOP])
    shop.run(5)
    assert shop.held() == [(2, 1)]
    (case,) = [one for count in shop.counts() for one in count.cases]
    assert (case.person, case.machine, case.what) == ("T. Wold", MACHINE, HELD)
    assert [count.held for count in shop.counts()] == [1, 0, 0]  # 07:00: the early shift


@pytest.mark.parametrize("kind", ["startup", "late"])
def test_a_released_start_up_or_one_from_paper_between_puts_it_right(shop: Shop, kind: str) -> None:
    shop.add(6, "held", findings=[STOP])
    shop.add(5, kind)
    shop.run(4)
    assert shop.held() == []


def test_a_start_up_released_after_the_run_began_does_not(shop: Shop) -> None:
    shop.add(6, "held", findings=[STOP])
    shop.add(4, "startup")
    shop.run(5)
    assert shop.held() == [(3, 1)]


def test_a_held_one_of_the_day_before_yesterday_or_of_another_machine_is_not_what_it_ran_on(shop: Shop) -> None:
    shop.add(22, "held", findings=[STOP])
    shop.add(6, "held", OTHER, findings=[STOP])
    shop.run(5)
    assert shop.held() == []


def test_an_override_covers_it_only_when_every_stop_has_one_and_in_time(shop: Shop) -> None:
    tension = {**STOP, "check": "tension"}
    shop.add(9, "held", findings=[STOP, tension])
    shop.override(8)
    shop.run(7)
    shop.override(6, "tension")
    shop.run(5)
    assert shop.held() == [(3, 1)]


def test_a_start_up_from_paper_is_no_missed_one(shop: Shop) -> None:
    shop.add(6, "late")
    shop.run(5)
    assert [count.missed for count in shop.counts()] == [0, 0, 0]


def test_the_counts_of_one_machine_are_of_that_machine_only(shop: Shop) -> None:
    shop.add(6, "startup", OTHER)
    shop.run(5, OTHER)
    shop.run(5)
    early, *_ = shop.counts()
    assert (early.worked, early.missed) == (2, 1)
    early, *_ = shop.counts(OTHER)
    assert (early.worked, early.missed) == (1, 0)
    (only,) = shop.counts(MACHINE)[0].cases
    assert (only.machine, only.what) == (MACHINE, "missed")


def case(number: int, what: str = HELD, person: str = "T. Wold") -> Case:
    return Case(f"2026-11-{number % 28 + 1:02d}", "early", MACHINE, person, number, what, minutes=17)


def test_once_is_no_flag_and_twice_is_one_without_a_chance() -> None:
    assert list(flags([case(1), case(2, "late")])) == []
    (flag,) = flags([case(1), case(2), case(3, person="P. Hask")])
    assert flag.chance is None
    assert "3 runs" in flag.statement
    assert "T. Wold 2, P. Hask 1" in flag.statement
    assert flag.records == ((MACHINE, 1), (MACHINE, 2), (MACHINE, 3))
    row = flag_section([flag], {MACHINE: "Hall"}, {MACHINE: "hall-two"}).rows[0]
    assert row[6] == "none: a fact"
    assert "Honest data" not in row[4]
    assert row[7] == "hall-two/1; hall-two/2; hall-two/3"


def test_a_flag_says_how_many_more_records_there_are() -> None:
    (flag,) = flags([case(number) for number in range(1, 9)])
    assert flag_section([flag], {}).rows[0][7].endswith(f"{MACHINE}/8; and 3 more")


def test_the_list_names_the_newest_and_how_many_there_are() -> None:
    cases = tuple(case(number, "late") for number in range(1, MOST_CASES + 5))
    counts = [ShiftCount("early", 60, 0, len(cases), 0, cases)]
    table, listed = shift_sections(counts, {MACHINE: "Hall"})
    assert table.rows == (("early", "60", "0", "44", "0"),)
    assert f"The newest {MOST_CASES} of {len(cases)}" in listed.sentences[0]
    assert len(listed.rows) == MOST_CASES
    days = [row[0] for row in case_rows(counts, {})]
    assert days == sorted(days, reverse=True)
    assert listed.rows[0][1:4] == ("early", "Hall", "T. Wold")
    assert listed.rows[0][5] == "late by 17 min"
