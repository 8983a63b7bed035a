"""Records that count for nothing: shown as such, and no list, pattern or figure rests on them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from audit.audit_samples import MACHINE, NOW, add_record
from checklist.people_samples import FOUNDER, PeopledShop
from checklist.record_samples import lay, whole

from preflight.audit.queries import Filter, count, distinct, page, series_names, strangers
from preflight.audit.record_view import record_sections
from preflight.audit.rules import Rules
from preflight.audit.sections import period_sections, today_sections
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    from pathlib import Path

OPERATOR, LATER = "D. Marrow", "A. Brandt"
READING = {
    "check": "tension",
    "subject": "head 1",
    "verdict": "ok",
    "measured": {"value": 4.2e5, "unit": "Pa", "text": "4.2 bar"},
}


@pytest.fixture
def people(tmp_path: Path) -> PeopledShop:
    """One unsigned start-up, then a lead and an operator, and one that is signed."""
    (tmp_path / "shop").mkdir()
    add_record(tmp_path / "shop", 200)
    made = PeopledShop.founded(tmp_path / "shop", tmp_path / "keys", NOW - timedelta(days=5))
    made.admit(OPERATOR, "operator")
    add_record(made.shop, 50, by=made.signer(OPERATOR))
    return made


def put(people: PeopledShop, hours: int, name: str, *, signed: bool = False, **more: Any) -> int:
    """A record past the store, signed by that name's key or not at all."""
    at = (NOW - timedelta(hours=hours)).isoformat()
    heading = {"kind": "startup", "id": f"stranger-{hours:04d}", "name": name, "utc": at, "local": at}
    body = write_body(whole({"record": heading | more.pop("heading", {}), **more}))
    return lay(Chain(people.shop, MACHINE), body, people.signer(name) if signed else None)


def audit_of(people: PeopledShop, tmp_path: Path) -> ShopAudit:
    audit = ShopAudit(people.shop, tmp_path / "cache")
    audit.fill()
    return audit


def numbers(audit: ShopAudit, only: Filter) -> list[int]:
    return [one.sequence for one in audit.ask(lambda c: page(c, only))]


def test_they_are_listed_as_such_and_counted_nowhere(people: PeopledShop, tmp_path: Path) -> None:
    put(people, 40, OPERATOR, findings=[READING], heading={"verdict": "stop"})
    put(people, 30, LATER, signed=True, findings=[READING])
    audit = audit_of(people, tmp_path)
    everything = Filter(strangers=True)
    assert (numbers(audit, Filter()), numbers(audit, everything)) == ([2, 1], [4, 3, 2, 1])
    assert (audit.ask(count), audit.ask(lambda c: count(c, everything))) == (2, 4)
    assert audit.ask(lambda c: distinct(c, "person")) == [OPERATOR]
    assert audit.ask(lambda c: series_names(c, MACHINE)) == []
    assert [("Unsigned" in one.why, one.person) for one in audit.ask(strangers)] == [(False, LATER), (True, OPERATOR)]
    sections = audit.ask(lambda c: period_sections(c, people.shop, Rules(), 0, 2**40))
    (told,) = [one for one in sections if one.title == "Records that count for nothing"]
    assert [row[2] for row in told.rows] == ["4", "3"]
    assert all("counts for nothing" in row[-1] for row in told.rows)
    audit.close()


def test_pages_go_on_over_both(people: PeopledShop, tmp_path: Path) -> None:
    for hours in (40, 39, 38):
        put(people, hours, OPERATOR)
    audit = audit_of(people, tmp_path)
    everything = Filter(strangers=True)
    first = audit.ask(lambda c: page(c, everything, rows=2))
    then = audit.ask(lambda c: page(c, everything, after=first[-1].key, rows=2))
    back = audit.ask(lambda c: page(c, everything, before=then[0].key, rows=2))
    assert [[one.sequence for one in part] for part in (first, then, back)] == [[5, 4], [3, 2], [5, 4]]
    audit.close()


def test_what_a_stranger_says_of_a_record_is_marked_where_that_is_shown(people: PeopledShop, tmp_path: Path) -> None:
    about = {"machine": MACHINE, "sequence": 2, "sha256": "0" * 64}
    put(people, 40, FOUNDER, heading={"kind": "countersign"}, refers=about)
    audit = audit_of(people, tmp_path)
    shown = audit.ask(lambda c: record_sections(c, people.shop, MACHINE, 2))
    assert any("record 3" in text and "counts for nothing" in text for one in shown for text in one.sentences)
    stranger = audit.ask(lambda c: record_sections(c, people.shop, MACHINE, 3))
    assert "This record counts for nothing." in stranger[0].sentences
    audit.close()


def test_what_somebody_signed_counts_from_their_admission_on(people: PeopledShop, tmp_path: Path) -> None:
    number = put(people, 2, LATER, signed=True, heading={"role": "operator"})
    audit = audit_of(people, tmp_path)
    assert number not in numbers(audit, Filter())
    people.now = NOW - timedelta(hours=4)
    people.admit(LATER, "operator")
    audit.fill()
    assert number in numbers(audit, Filter())
    assert audit.ask(strangers) == []
    audit.close()


def test_what_was_signed_after_a_retirement_is_a_stranger_once_that_is_known(
    people: PeopledShop, tmp_path: Path
) -> None:
    number = put(people, 2, OPERATOR, signed=True)
    audit = audit_of(people, tmp_path)
    assert number in numbers(audit, Filter())
    people.now = NOW - timedelta(hours=4)
    people.change("retirement", OPERATOR)
    audit.fill()
    assert number not in numbers(audit, Filter())
    assert numbers(audit, Filter()) == [2, 1]
    audit.close()


def test_today_names_the_newest_of_them(people: PeopledShop, tmp_path: Path) -> None:
    shop = tmp_path / "real"
    make_shop(shop, empty=False)
    machine = shop_at(shop).load(Machine, "hall-two").value.id
    founded = PeopledShop.founded(shop, tmp_path / "others", NOW - timedelta(days=5))
    at = datetime(2026, 11, 25, 6, tzinfo=UTC).isoformat()
    heading = {"kind": "startup", "id": "stranger-1", "name": OPERATOR, "utc": at, "local": at}
    lay(Chain(shop, machine), write_body(whole({"record": heading})))
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    told = audit.ask(lambda c: today_sections(c, founded.shop, Rules(), NOW))
    lines = [text for one in told for text in one.sentences]
    assert any(text.startswith("Counts for nothing: record 1, startup by D. Marrow. Unsigned") for text in lines)
    assert not any("Checked today" in text for text in lines)
    audit.close()
