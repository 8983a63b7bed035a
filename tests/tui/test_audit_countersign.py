"""Countersigning a record on the screen: signed with a secret, or unsigned in a shop without people; refusals."""

from __future__ import annotations

import itertools
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, cast

import pytest
from audit.audit_samples import MACHINE, NOW, add_record
from checklist.people_samples import FOUNDER, PASSPHRASE, PIN, PeopledShop
from fake_stations import Bench
from textual.widgets import Input

from preflight.checklist.chain import Chain
from preflight.checklist.key_folder import KeyFolder
from preflight.checklist.machine_records import record
from preflight.checklist.register import read_register
from preflight.tui.app import PreflightApp
from preflight.tui.audit_desk import AuditDesk
from preflight.tui.modes.audit import AuditScreen

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable
    from pathlib import Path

    from textual.pilot import Pilot

    from preflight.checklist.machine_records import Kept
    from preflight.tui.dialogues.form import Form

OPERATOR, TRAINER = "D. Marrow", "N. Fell"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Two start-ups of the operator, unsigned: from before the shop had people."""
    folder = tmp_path / "shop"
    folder.mkdir()
    for number in (202, 201):
        add_record(folder, number)
    return folder


@pytest.fixture
def people(shop: Path, tmp_path: Path) -> PeopledShop:
    """A lead, a trainer and the operator, their keys on this terminal."""
    made = PeopledShop.founded(shop, tmp_path / "keys")
    made.admit(TRAINER, "trainer", keep=True)
    made.admit(OPERATOR, "operator", keep=True)
    return made


@asynccontextmanager
async def opened(shop: Path, tmp_path: Path) -> AsyncIterator[tuple[AuditScreen, Pilot[None]]]:
    """The audit with the newest record open."""
    app = PreflightApp(Bench().wiring())
    app.animation_level = "none"
    count = itertools.count()
    keys = KeyFolder(tmp_path / "keys")
    async with app.run_test(size=(80, 24)) as pilot:
        desk = AuditDesk(shop, lambda: NOW, tmp_path / "cache", keys, lambda: f"token-{next(count):08d}")
        await app.push_screen(AuditScreen(desk, app.charset))
        screen = cast("AuditScreen", app.screen)
        await until(pilot, lambda: desk.looked)
        await pilot.press("f3")
        await until(pilot, lambda: bool(screen.page.rows))
        await pilot.press("enter")
        await until(pilot, lambda: screen.view == "record")
        yield screen, pilot


async def until(pilot: Pilot[None], so: Callable[[], bool]) -> None:
    """Wait until it is so; a view's answer comes from a thread."""
    for _ in range(500):
        if so():
            return
        await pilot.pause(0.01)
    raise AssertionError("it never came so")


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    text = "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))
    return " ".join(text.replace("│", " ").split())


async def begun(pilot: Pilot[None], screen: AuditScreen, who: str) -> None:
    """The box, with that name in it."""
    await pilot.press("f8")
    await until(pilot, lambda: pilot.app.screen is not screen)
    await pilot.press(who)
    await until(pilot, lambda: bool(pilot.app.screen.query("#remark")))


async def given(pilot: Pilot[None], **texts: str) -> None:
    """Type, and press the key that saves; then until it is saved or refused."""
    box = cast("Form", pilot.app.screen)
    await until(pilot, lambda: box.focused is not None)
    for key, text in texts.items():
        box.query_one(f"#{key}", Input).value = text
    await pilot.press("f8")
    await until(pilot, lambda: pilot.app.screen is not box or not box.saving)


def newest(shop: Path, number: int) -> Kept:
    return record(shop, MACHINE, number, read_register(shop))


async def test_a_lead_signs_beneath_a_record_and_it_is_shown_there(people: PeopledShop, tmp_path: Path) -> None:
    async with opened(people.shop, tmp_path) as (screen, pilot):
        assert "F8 countersign" in shown(pilot)
        await begun(pilot, screen, "1")
        assert pilot.app.screen.query_one("#secret", Input).password
        await given(pilot, remark="tension read again with him", secret=PASSPHRASE + " no")
        await until(pilot, lambda: "does not open the key" in shown(pilot) and pilot.app.screen is not screen)
        assert pilot.app.screen.query_one("#remark", Input).value == "tension read again with him"
        assert not Chain(people.shop, MACHINE).path(3).exists()
        await given(pilot, secret=PASSPHRASE)
        await until(pilot, lambda: f"Record 3 saved, signed by {FOUNDER}" in shown(pilot))
        await until(pilot, lambda: "tension read again with him" in shown(pilot))
        assert f"record 3, countersign by {FOUNDER}, lead: tension" in shown(pilot)
    made = newest(people.shop, 3)
    assert made.signed
    assert made.document["refers"]["sequence"] == 2
    assert made.document["countersign"]["remark"] == "tension read again with him"
    assert made.statement == f"Signed by {FOUNDER}."


@pytest.mark.parametrize(
    ("name", "secret", "why"),
    [
        (OPERATOR, PIN, "A lead or a trainer countersigns; D. Marrow is operator."),
        ("A. Nobody", PIN, "Nobody of the name A. Nobody was admitted to sign here."),
    ],
)
async def test_who_may_not_countersign_is_told_so_in_the_box_and_nothing_is_saved(
    people: PeopledShop, tmp_path: Path, name: str, secret: str, why: str
) -> None:
    async with opened(people.shop, tmp_path) as (screen, pilot):
        await begun(pilot, screen, "3")  # another name
        await given(pilot, name=name, secret=secret, remark="seen")
        await until(pilot, lambda: why in shown(pilot) and pilot.app.screen is not screen)
        assert pilot.app.screen.query_one("#remark", Input).value == "seen"
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is screen)
    assert not Chain(people.shop, MACHINE).path(3).exists()


async def test_nobody_countersigns_a_record_of_their_own(people: PeopledShop, tmp_path: Path) -> None:
    add_record(people.shop, 0, heading={"name": FOUNDER, "role": "lead"}, by=people.signer(FOUNDER))
    async with opened(people.shop, tmp_path) as (screen, pilot):
        await pilot.press("f8")
        await until(pilot, lambda: pilot.app.screen is not screen)
        assert f"1 {TRAINER}" in shown(pilot)  # the lead is not offered
        await pilot.press("2")
        await until(pilot, lambda: bool(pilot.app.screen.query("#remark")))
        await given(pilot, name=FOUNDER, secret=PASSPHRASE)
        await until(pilot, lambda: "Nobody countersigns a record of their own." in shown(pilot))


async def test_a_shop_without_people_saves_it_unsigned_and_says_so(shop: Path, tmp_path: Path) -> None:
    async with opened(shop, tmp_path) as (screen, pilot):
        await pilot.press("f8")
        await until(pilot, lambda: bool(pilot.app.screen.query("#remark")))
        assert "saved unsigned" in shown(pilot)
        assert pilot.app.screen.query_one("#frame").region.x > 0  # no other box was open before: the frame is its own
        assert not pilot.app.screen.query("#secret")
        await given(pilot, name="R. Onslow", remark="seen with him")
        await until(pilot, lambda: "Record 3 saved, unsigned" in shown(pilot))
        await until(pilot, lambda: "record 3, countersign by R. Onslow, lead, unsigned" in shown(pilot))
        assert screen.view == "record"
    made = newest(shop, 3)
    assert not made.signed
    assert made.document["record"]["role"] == "lead"


async def test_signed_records_without_their_register_take_no_unsigned_one(people: PeopledShop, tmp_path: Path) -> None:
    async with opened(people.shop, tmp_path) as (screen, pilot):
        await begun(pilot, screen, "1")
        await given(pilot, secret=PASSPHRASE)
        await until(pilot, lambda: "Record 3 saved" in shown(pilot))
        (register,) = (people.shop / "checklists").glob("shop-*")
        register.rename(tmp_path / "away")
        await pilot.press("f8")
        await until(pilot, lambda: "register of people is gone" in shown(pilot))
        assert pilot.app.screen is screen
