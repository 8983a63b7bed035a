"""A stop that nobody may pass and that is called mistyped: two people or a lead, and it stands where the lead looks."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import TYPE_CHECKING, cast

import pytest
from checklist.people_samples import FOUNDER, PASSPHRASE, PIN, PeopledShop
from desk_samples import MORNING, Clock, filled, tokens

from preflight.audit.rules import Rules
from preflight.audit.sections import today_sections
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.addition import countersign, save_addition
from preflight.checklist.heading import Signature
from preflight.checklist.machine_records import record, records
from preflight.checklist.people import PersonError, WrongSecretError
from preflight.checklist.register import Register, read_register
from preflight.checklist.secret import Secret
from preflight.checklist.signatory import Signatory
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.app import PreflightApp
from preflight.tui.demo_shop import MACHINE
from preflight.tui.desk_door import DeskDoor
from preflight.tui.dialogues.form import Form
from preflight.tui.wiring import Signing

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from desk_samples import OpenDesk
    from secrets_left import NoSecretLeft
    from textual.pilot import Pilot

    from preflight.checklist.machine_records import Kept
    from preflight.tui.modes.run import RunScreen
    from preflight.tui.run import Run

OPERATOR, TRAINER = "D. Marrow", "N. Fell"
MEANING = "I made this check at the machine and read these figures myself."
SLIP = "65 s was a typing slip, by D. Marrow; 6.5 s read again"


@pytest.fixture
def people(shop: Path, tmp_path: Path) -> PeopledShop:
    """The shop founded this morning with an operator and a trainer, profiles approved; all keys on this terminal."""
    made = PeopledShop.founded(shop, tmp_path / "keys", MORNING - timedelta(hours=6))
    made.admit(OPERATOR, "operator", keep=True)
    made.admit(TRAINER, "trainer", keep=True)
    for folder, profile in (("machines", MACHINE), ("extraction", "hall-duct")):
        path = shop / folder / f"{profile}.toml"
        made.approve(f"{folder}/{path.stem}", hashlib.sha256(path.read_bytes()).hexdigest())
    return made


def slipped(run: Run) -> Run:
    """The complete sheet, in which a stop of 65 s was called mistyped and 6.5 s read again."""
    run = filled(run)
    run = run.typing("running.stop.1", "65", MORNING).accepting("running.stop.1")
    run = run.typing("running.stop.1", "6.5", MORNING).accepting("running.stop.1")
    return run.typing("repair.head 1 stop.how", "mistyped", MORNING).typing("repair.head 1 stop.who", OPERATOR, MORNING)


def machine_of(shop: Path) -> str:
    return shop_at(shop).load(Machine, MACHINE).value.id


def newest(people: PeopledShop) -> list[Kept]:
    return list(records(people.shop, machine_of(people.shop), read_register(people.shop)))


def by(name: str, secret: str, second: str = "", second_secret: str = "") -> Signing:
    return Signing(name, MEANING, Secret(secret), second, Secret(second_secret))


def test_an_operator_alone_does_not_sign_it(people: PeopledShop, desks: OpenDesk) -> None:
    desk = desks(people.shop, keys=people.keys)
    run = slipped(desk.load().run)
    assert run.releasable
    before = len(newest(people))
    for second, secret, error in (
        ("", "", PersonError),
        (OPERATOR, PIN, PersonError),
        (TRAINER, "20481937", WrongSecretError),
        ("R. Onslow", PIN, PersonError),
    ):
        with pytest.raises(error):
            desk.sign(run, by(OPERATOR, PIN, second, secret))
    assert len(newest(people)) == before


def test_a_second_person_signs_beside_and_both_records_verify(people: PeopledShop, desks: OpenDesk) -> None:
    desk = desks(people.shop, keys=people.keys)
    run = slipped(desk.load().run)
    needed = desk.second(run, OPERATOR)
    assert SLIP in needed.why
    assert set(needed.names) == {FOUNDER, TRAINER}
    said = desk.sign(run, by(OPERATOR, PIN, TRAINER, PIN))
    assert "N. Fell signed beside: record 3." in said
    second, start_up, *_ = newest(people)
    assert [one.statement for one in (second, start_up)] == ["Signed by N. Fell.", "Signed by D. Marrow."]
    assert second.refers == start_up.reference
    assert SLIP in second.document["countersign"]["remark"]
    (note,) = start_up.document["record"]["notes"]
    assert note.startswith("Called mistyped: ")
    assert SLIP in note
    signed = desk.load().run.signed
    assert signed is not None
    assert signed.number == 2


def test_a_lead_signs_it_alone_and_a_run_without_such_a_stop_needs_nobody_else(
    people: PeopledShop, desks: OpenDesk
) -> None:
    desk = desks(people.shop, keys=people.keys)
    run = slipped(desk.load().run)
    assert desk.second(run, FOUNDER).why == ""
    assert desk.second(filled(desk.load().run), OPERATOR).why == ""
    desk.sign(run, by(FOUNDER, PASSPHRASE))
    assert newest(people)[0].heading.role == "lead"


def test_in_a_shop_without_people_it_stands_in_the_record(shop: Path, desks: OpenDesk) -> None:
    desk = desks(shop)
    run = slipped(desk.load().run)
    assert desk.second(run, OPERATOR).why == ""
    desk.sign(run, Signing(OPERATOR, MEANING))
    start_up = record(shop, machine_of(shop), 2, Register())
    assert SLIP in start_up.document["record"]["notes"][0]


def today_of(shop: Path) -> str:
    audit = ShopAudit(shop, shop.parent / "cache")
    try:
        audit.fill()
        sections = audit.ask(lambda c: today_sections(c, shop, Rules(), MORNING))
    finally:
        audit.close()
    return " ".join(sentence for one in sections for sentence in one.sentences)


def test_it_stands_on_the_leads_page_until_a_lead_has_read_it(people: PeopledShop, desks: OpenDesk) -> None:
    desk = desks(people.shop, keys=people.keys)
    desk.sign(slipped(desk.load().run), by(OPERATOR, PIN, TRAINER, PIN))
    desk.close()
    said = today_of(people.shop)
    assert "Called mistyped" in said
    assert SLIP in said
    assert "record 2 by D. Marrow, N. Fell signed beside" in said
    register, machine = read_register(people.shop), machine_of(people.shop)
    about = record(people.shop, machine, 2, register)
    lead = Signatory(FOUNDER, "lead", people.signer(FOUNDER))
    body = countersign(about, "token-of-the-lead", Signature(FOUNDER, "lead", "I have read this.", MORNING), "seen")
    save_addition(people.shop, machine, body, "token-of-the-lead", lead, "token-of-the-lead-2")
    assert "Called mistyped" not in today_of(people.shop)


def test_on_the_leads_page_of_a_shop_without_people_too(shop: Path, desks: OpenDesk) -> None:
    desk = desks(shop)
    desk.sign(slipped(desk.load().run), Signing(OPERATOR, MEANING))
    desk.close()
    assert "Called mistyped" in today_of(shop)


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))


async def until(pilot: Pilot[None], held: Callable[[], object]) -> None:
    for _ in range(6000):
        if held():
            return
        await pilot.pause(0.01)
    raise AssertionError("it never came to that")


@pytest.mark.parametrize("size", [(60, 20), (80, 24)], ids=lambda size: f"{size[0]}x{size[1]}")
async def test_both_sign_in_the_form_and_a_pin_of_either_stays_in_its_field(
    people: PeopledShop, monkeypatch: pytest.MonkeyPatch, no_secret_left: NoSecretLeft, size: tuple[int, int]
) -> None:
    monkeypatch.setenv("PREFLIGHT_KEYS", str(people.keys.path))
    door = DeskDoor(people.shop, MACHINE, Clock(), tokens("door"), "bench", 7)
    app = PreflightApp(door.wiring())
    app.animation_level = "none"
    try:
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await app.workers.wait_for_complete()
            screen = cast("RunScreen", app.screen)
            screen.run = slipped(screen.run)
            await pilot.press("f8", "s")
            await until(pilot, lambda: app.screen is not screen and "Who signs" in shown(pilot))
            await pilot.press("2")
            await until(pilot, lambda: isinstance(app.screen, Form) and app.screen.focused is not None)
            form = app.screen
            assert isinstance(form, Form)
            await pilot.press(*PIN, "enter")
            assert form.focused is not None
            assert form.focused.id == "second"
            await pilot.press("down", "enter", *PIN, "f8")
            await until(pilot, lambda: "go on: feed" in shown(pilot))
            text = shown(pilot)
    finally:
        door.close()
    assert [one.heading.name for one in newest(people)[:2]] == [TRAINER, OPERATOR]
    no_secret_left([PIN], people.shop, [text])
