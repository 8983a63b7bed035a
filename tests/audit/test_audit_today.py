"""Today: what the index says of a machine's state is what its files say, and who has it open now."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from audit.audit_samples import MACHINE, NOW, add_record

from preflight.audit.outlines import outlined
from preflight.audit.queries import Belt, belts_on
from preflight.audit.rules import Rules
from preflight.audit.sections import today_sections
from preflight.audit.shop_audit import ShopAudit
from preflight.audit.today import today
from preflight.checklist.draft import UNNAMED, Draft, Holder
from preflight.checklist.past import past
from preflight.checklist.register import Register
from preflight.checks.condition.due_items import items_due
from preflight.cli.init import make_shop
from preflight.sheet import SetupSheet
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.history import History

STOP = {
    "check": "running",
    "subject": "head 1 stop",
    "verdict": "stop",
    "statement": "Too slow.",
    "takes_override": False,
}
CLEARED = STOP | {"subject": "repair head 1 stop", "verdict": "ok", "statement": "Repaired."}
OTHER = STOP | {"subject": "limit bar", "statement": "The limit bar did not stop the feed."}


def indexed(shop: Path, cache: Path) -> History:
    audit = ShopAudit(shop, cache)
    audit.fill()
    found = audit.ask(lambda c: outlined(c, MACHINE)).history()
    audit.close()
    return found


def test_the_index_keeps_what_stops_that_stand_and_due_items_follow_from(tmp_path: Path) -> None:
    rows: list[dict[str, Any]] = [
        {"findings": [STOP, OTHER], "heading": {"kind": "held", "verdict": "stop"}},
        {"findings": [CLEARED], "condition": {"done": ["weekly clean-out"]}},
        {"heading": {"kind": "run"}, "run": {"hours": "3.5 h", "area": "120 m2"}},
        {
            "heading": {"kind": "repair"},
            "repair": {"check": "running", "subject": "limit bar", "what": "x", "who": "E. Q."},
        },
        {"findings": [{"check": "tension", "subject": "head 1", "verdict": "stop", "statement": "Low."}]},
        {"heading": {"kind": "run"}, "run": {"hours": "2 h"}},
        {"heading": {"kind": "countersign"}, "countersign": {"remark": "seen"}},
    ]
    for number, more in enumerate(rows):
        add_record(tmp_path, 200 - 20 * number, **more)
    by_file, by_index = past(tmp_path, MACHINE, Register()).history(), indexed(tmp_path, tmp_path / "cache")
    assert by_index.open_stops == by_file.open_stops
    assert [stop.subject for stop in by_index.open_stops] == ["limit bar"]
    assert (by_index.times, by_index.runs) == (by_file.times, by_file.runs)
    machine = shop_at(None).load(Machine, "hall-two").value
    sheet = SetupSheet.model_validate({"schema": 1, "machine": "hall-two", "at": NOW})
    assert items_due(sheet, machine, by_index) == items_due(sheet, machine, by_file)


def test_of_more_than_sixty_start_ups_the_index_looks_at_as_many_as_the_files_are(tmp_path: Path) -> None:
    for number in range(66, 0, -1):
        add_record(tmp_path, number, findings=[STOP] if number == 66 else [])
    assert past(tmp_path, MACHINE, Register()).history().open_stops == ()
    found = indexed(tmp_path, tmp_path / "cache")
    assert (len(found.times), found.open_stops) == (60, ())


def test_the_invented_shop_is_due_the_same_by_index_and_by_files(invented: Path, tmp_path: Path) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    for one in audit.ask(lambda c: today(c, invented, Rules(), NOW)):
        by_index = audit.ask(lambda c, one=one: outlined(c, one.machine)).history()  # type: ignore[misc]
        by_file = past(invented, one.machine, Register()).history()
        assert (by_index.times, by_index.runs, by_index.open_stops) == (by_file.times, by_file.runs, by_file.open_stops)
        assert one.due
        assert one.belts
    audit.close()


def test_today_says_who_has_a_machine_open_and_which_belts_are_on(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    machine = shop_at(shop).load(Machine, "hall-two").value.id
    limits = {"belts/H-204": {"backing": "cloth X", "grit": "P100"}}
    add_record(shop, 9, machine, belts=[{"head": "1", "card": "H-200"}, {"head": "2", "card": "H-211"}])
    add_record(shop, 3, machine, belts=[{"head": "1", "card": "H-204"}], limits=limits)
    add_record(shop, 2, machine, heading={"kind": "run"}, run={"hours": "1 h"})
    (shop / "drafts").mkdir(exist_ok=True)
    draft = Draft.open(shop / "drafts", machine, Holder(UNNAMED, "bay-two", 4711, "2026-11-25 06:40"))
    draft.change({"typed": {"tension.1": "4.1"}, "entered": {"tension.1": NOW.isoformat()}})
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    assert audit.ask(lambda c: belts_on(c, machine)) == [Belt("1", "H-204", "cloth X", "P100")]
    first, *others = audit.ask(lambda c: today_sections(c, shop, Rules(), NOW))
    newest = NOW.astimezone().strftime("%H:%M")
    assert f"Open now on bay-two since 2026-11-25 06:40: 1 answer, the newest at {newest}." in first.sentences
    assert "Belts on: head 1 H-204 (cloth X, P100)." in first.sentences
    assert all(one.sentences[0] == "NOT checked today; never started." for one in others)
    assert len(others) == 2
    draft.close()
    (shown,) = (one for one in audit.ask(lambda c: today(c, shop, Rules(), NOW)) if one.machine == machine)
    assert shown.draft is None
    audit.close()


def test_a_start_up_of_yesterday_is_not_one_of_today(invented: Path, tmp_path: Path) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    later = audit.ask(lambda c: today(c, invented, Rules(), NOW + timedelta(days=1)))
    assert not any(one.checked for one in later)
    whole = audit.ask(lambda c: today(c, invented, Rules(), NOW))
    quick = audit.ask(lambda c: today(c, invented, Rules(), NOW, whole=False))
    assert [replace(one, drifts=()) for one in whole] == quick
    audit.close()


def test_a_start_up_from_paper_counts_as_one_and_says_so(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    machine = shop_at(shop).load(Machine, "hall-two").value.id
    add_record(shop, 50, machine)
    late = {"why": "power was off", "happened": (NOW - timedelta(hours=5)).isoformat()}
    add_record(shop, 1, machine, heading={"kind": "late"}, late=late)
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    first, *_ = audit.ask(lambda c: today_sections(c, shop, Rules(), NOW))
    audit.close()
    assert first.sentences[0].startswith("Checked today; last start-up ")
    assert first.sentences[0].endswith("by D. Marrow, ok, from paper.")


def test_an_overdue_safety_item_that_the_check_stops_at_is_said_before_what_is_due(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    machine = shop_at(shop).load(Machine, "annex-one").value.id
    add_record(shop, 37 * 24, machine)
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    first, *_ = audit.ask(lambda c: today_sections(c, shop, Rules(), NOW))
    audit.close()
    assert first.sentences[1].startswith("STOP at the next start: stop time (used = 37 d")
    assert any(said.startswith("Due: weekly clean-out") for said in first.sentences)
    assert not any(said.startswith("Due: stop time") for said in first.sentences)
