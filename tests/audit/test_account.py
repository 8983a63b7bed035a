"""Belts, glue and wood over the width, out of run records as they really are."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from audit.audit_samples import MACHINE, NOW, add_record
from builders import history, sheet, view

from preflight.audit.account import GlueMonth, belt_lives, glue_months, wear
from preflight.audit.account_sections import account_sections
from preflight.audit.rules import Prices, rules_of
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.run_record import RunDone, run_table
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

UNTIL = int(NOW.timestamp()) + 1
LIMITS = {"belts/B-0412": {"backing": "cloth X"}, "belts/B-0999": {"backing": "cloth X"}}


class Shop:
    """Records of one machine, a number of hours ago, and the audit over them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.audit = ShopAudit(folder, folder / "cache")

    def belt(self, ago: int, card: str) -> None:
        add_record(self.folder, ago, belts=[{"head": "1", "card": card}], limits=LIMITS)

    def run(self, ago: int, changes: Mapping[str, Any] | None = None, **more: Any) -> dict[str, Any]:
        done = RunDone.model_validate({"hours": "2 h", **more})
        table = run_table(sheet(changes), done, view(), history(), NOW - timedelta(hours=ago))
        add_record(self.folder, ago, heading={"kind": "run"}, run=table)
        return table

    def held(self, ago: int, check: str = "glue", **more: Any) -> None:
        found = [{"check": check, "subject": "glue", "verdict": "stop", "statement": "Beads are still standing."}]
        add_record(self.folder, ago, heading={"kind": "held", "verdict": "stop"}, findings=found, **more)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.audit.close()


def test_a_belt_lives_from_its_first_run_to_the_one_that_throws_it_away(shop: Shop) -> None:
    shop.belt(9, "B-0412")
    first = shop.run(8)
    shop.run(7, hours="3.5 h", off=[{"head": "1", "why": "glue line"}, {"head": "2", "why": "other grit"}])
    shop.audit.fill()
    one, two = shop.audit.ask(lambda c: belt_lives(c, 0, UNTIL))
    assert (one.head, one.backing, one.belts, one.median_hours) == ("1", "cloth X", 1, 5.5)
    assert one.median_area == pytest.approx(2 * float(first["area"].split()[0]))
    assert one.reasons == (("glue line", 1),)
    assert (two.head, two.belts, two.median_hours, two.reasons) == ("2", 0, None, (("other grit", 1),))


def test_hours_before_the_period_count_and_belts_that_came_off_before_it_do_not(shop: Shop) -> None:
    shop.run(30)
    shop.run(29, off=[{"head": "2", "why": "torn"}])
    shop.run(8, off=[{"head": "1", "why": "worn out"}])
    shop.audit.fill()
    (life,) = shop.audit.ask(lambda c: belt_lives(c, int((NOW - timedelta(hours=20)).timestamp()), UNTIL))
    assert (life.head, life.median_hours) == ("1", 6.0)


def test_a_belt_that_is_gone_without_a_word_ends_unless_it_comes_back(shop: Shop) -> None:
    shop.belt(9, "B-0412")
    shop.run(8)
    shop.belt(7, "B-0999")
    shop.audit.fill()
    (life,) = shop.audit.ask(lambda c: belt_lives(c, 0, UNTIL))
    assert (life.belts, life.median_hours, life.reasons) == (1, 2.0, (("not stated", 1),))
    shop.belt(6, "B-0412")
    shop.audit.fill()
    assert shop.audit.ask(lambda c: [one for one in belt_lives(c, 0, UNTIL) if one.median_hours]) == []


def test_glue_is_counted_from_runs_and_from_held_start_ups(shop: Shop) -> None:
    shop.run(9, glue={"lots": 1, "belts": 2, "minutes": 30})
    shop.run(8, off=[{"head": "1", "why": "glue line"}], glue={"belts": 1, "minutes": 5})  # the same belt
    shop.run(7, off=[{"head": "1", "why": "full of glue"}])
    shop.held(6)
    shop.held(5, refers={"machine": MACHINE, "sequence": 4, "sha256": "0" * 64})  # the same lot, still held
    shop.held(4, check="tension")
    shop.audit.fill()
    (month,) = shop.audit.ask(lambda c: glue_months(c, 0, UNTIL))
    assert month == GlueMonth("2026-11", lots=1, held=1, belts=4, minutes=35)


def test_cost_is_the_shops_prices_and_none_without_them() -> None:
    month = GlueMonth("2026-11", lots=2, held=1, belts=4, minutes=35)
    assert month.cost(Prices()) is None
    assert month.cost(Prices(belt=38.5)) == 154.0
    assert month.cost(Prices(belt=38.5, minute=1.2, lot=0)) == pytest.approx(154.0 + 42.0)


def test_the_glue_account_says_what_has_no_price(shop: Shop) -> None:
    shop.run(9, glue={"lots": 1, "belts": 2, "minutes": 30})
    shop.audit.fill()

    def said(prices: Prices) -> tuple[str, str, str]:
        made = shop.audit.ask(lambda c: account_sections(c, 0, UNTIL, {}, prices=prices))
        glue = next(one for one in made if one.title == "Glue account")
        return glue.names[-1], glue.rows[0][-1], " ".join(glue.sentences)

    assert said(Prices())[:2] == ("cost", "no price")
    assert "audit.toml has no [prices]" in said(Prices())[2]
    name, cost, sentences = said(Prices(currency="EUR", belt=38.5, minute=1.2))
    assert (name, cost) == ("cost, EUR", "113.00")
    assert "for want of a price in audit.toml: lot." in sentences


def test_prices_stand_in_the_shop_file(tmp_path: Path) -> None:
    (tmp_path / "audit.toml").write_text('[prices]\ncurrency = "EUR"\nbelt = 38\nminute = 1.2\n')
    assert rules_of(tmp_path).prices == Prices(currency="EUR", belt=38.0, minute=1.2)
    (tmp_path / "audit.toml").write_text("[prices]\nbelt = -1\n")
    with pytest.raises(PreflightError, match="belt"):
        rules_of(tmp_path)


def test_wood_over_the_width_is_what_the_boards_covered(shop: Shop) -> None:
    fed = {"feed.fed": [{"part": 1, "left_edge": "100 mm", "count": 7}]}
    shop.run(9, fed)
    shop.run(8)
    shop.audit.fill()
    strips = shop.audit.ask(lambda c: wear(c, MACHINE, 0, UNTIL, 925))  # 1 mm each, to the end of the maps
    assert sum(strips) / 1000 == pytest.approx((7 + 120) * 0.18 * 0.9 * 2, rel=1e-9)
    only_first = shop.audit.ask(lambda c: wear(c, MACHINE, 0, UNTIL - 8 * 3600 - 1, 925))
    assert next(n for n, metres in enumerate(only_first) if metres) == 100
    assert max(only_first) == pytest.approx(7 * 0.9 * 2)
    assert sum(metres > 0 for metres in only_first) == 180
