"""A malformed record costs itself, never a verdict, a list, a report or a start."""

from __future__ import annotations

import random
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from checklist.malformed import MACHINE_KINDS, full, spoilt
from checklist.people_samples import FOUNDED, FOUNDER, PeopledShop
from checklist.record_samples import lay, whole

from preflight.__main__ import main
from preflight.audit import queries
from preflight.audit.period import LOOK_BACK
from preflight.audit.report import html_page
from preflight.audit.rules import Rules
from preflight.audit.sections import list_section, period_sections, today_sections
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.body import write_body
from preflight.checklist.body_reader import BodyError
from preflight.checklist.chain import Chain
from preflight.checklist.heading import Signature, heading
from preflight.checklist.override import permits
from preflight.checklist.past import past
from preflight.checklist.register import read_register
from preflight.checklist.shop_check import verify_folder
from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def laid(shop: Path, kind: str, people: PeopledShop | None, count: int) -> str:
    """A machine's chain of so many malformed records of a kind, in a shop with people signed by the lead."""
    machine = shop_at(shop).load(Machine, "hall-two").value.id
    rng, chain = random.Random(kind), Chain(shop, machine)
    by = people.signer(FOUNDER) if people else None
    written = 0
    while written < count:
        signature = Signature(FOUNDER, "lead", "As it says.", NOW)
        document = whole(full(kind, heading(kind, f"record-{written:06d}", signature), NOW))
        try:
            body = write_body(spoilt(document, rng))
        except BodyError:  # no body can hold that
            continue
        lay(chain, body, by)
        written += 1
    return machine


@pytest.mark.parametrize("kind", MACHINE_KINDS)
@pytest.mark.parametrize("peopled", [False, True])
def test_forty_eight_malformed_records_of_a_kind_cost_themselves(
    tmp_path: Path, kind: str, peopled: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    people = PeopledShop.founded(shop, tmp_path / "keys", FOUNDED) if peopled else None
    machine = laid(shop, kind, people, 48)
    register = read_register(shop)
    found = verify_folder(shop, now=NOW)
    (chain,) = [one for one in found.chains if one.machine == machine]
    assert chain.intact + chain.unsigned + len(chain.problems) == 48
    assert chain.problems
    past(shop, machine, register).history()
    permits(shop, machine, register, NOW)
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    audit.ask(lambda c: today_sections(c, shop, Rules(), NOW))
    until = int(NOW.timestamp())
    made = audit.ask(lambda c: period_sections(c, shop, Rules(), until - LOOK_BACK, until + 1))
    html_page("x", "y", made)
    rows = audit.ask(lambda c: queries.page(c, queries.Filter(strangers=True)))
    list_section(rows, len(rows), {})
    audit.close()
    for number in range(1, 49, 4):
        assert main(["record", "show", "hall-two", str(number), "--shop", str(shop)]) in (0, 3)
        assert main(["audit", "show", f"hall-two/{number}", "--shop", str(shop)]) in (0, 3)
    assert main(["assess", "ok-two-heads", "--shop", str(shop)]) in (0, 1, 2)
    capsys.readouterr()
