"""The desk of a shop with people: signatures, overrides, approved profiles, held records, lost answers."""

from __future__ import annotations

import base64
import hashlib
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from checklist.people_samples import FOUNDER, PASSPHRASE, PIN, PeopledShop, seed
from desk_samples import MORNING, Clock, filled

from preflight.checklist.body_reader import read_body
from preflight.checklist.chain import Chain
from preflight.checklist.draft import Draft
from preflight.checklist.heading import Signature
from preflight.checklist.machine_records import record
from preflight.checklist.override import override
from preflight.checklist.people import PersonError, WrongSecretError
from preflight.checklist.record import read_content
from preflight.checklist.register import read_register
from preflight.checklist.seal import read_seal
from preflight.checklist.secret import Secret
from preflight.checklist.shop_check import verify_folder
from preflight.checklist.store import commit
from preflight.checks.finding import Verdict
from preflight.errors import PreflightError
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.demo_shop import MACHINE, YESTERDAY
from preflight.tui.desk import Desk
from preflight.tui.readiness import released_for, why_not_signed
from preflight.tui.signoff import save
from preflight.tui.wiring import Holding, Signing

if TYPE_CHECKING:
    from pathlib import Path

    from desk_samples import OpenDesk

OPERATOR = "D. Marrow"
MEANING = "I made this check at the machine and read these figures myself."
Open = Callable[[], Desk]


@pytest.fixture
def peopled(shop: Path, tmp_path: Path) -> PeopledShop:
    """The shop founded this morning, an operator admitted, both profiles approved."""
    made = PeopledShop.founded(shop, tmp_path / "keys", MORNING - timedelta(hours=6))
    made.admit(OPERATOR, "operator", keep=True)
    for folder, profile in (("machines", MACHINE), ("extraction", "hall-duct")):
        path = shop / folder / f"{profile}.toml"
        made.approve(f"{folder}/{path.stem}", hashlib.sha256(path.read_bytes()).hexdigest())
    return made


@pytest.fixture
def opened(peopled: PeopledShop, desks: OpenDesk) -> Open:
    """The desk of the one terminal, opened anew each time."""
    held: list[Desk] = []

    def opening() -> Desk:
        for one in held:
            one.close()
        held.append(desks(peopled.shop, pid=1, keys=peopled.keys))
        return held[-1]

    return opening


def by(name: str, secret: str) -> Signing:
    return Signing(name, MEANING, Secret(secret))


def newest_record(shop: Path) -> dict[str, Any]:
    return read_body(read_seal(max(shop.glob("checklists/m-*/*/*.toml")).read_bytes()).body)


STOPPED = Holding("regulator sticks", "A. Brandt", "tapped it", OPERATOR, Secret(PIN))


def test_with_people_a_record_is_signed_and_verifies_by_the_files_alone(
    peopled: PeopledShop, opened: Open, clock: Clock
) -> None:
    desk = opened()
    run = filled(desk.load().run)
    assert desk.people() == [FOUNDER, OPERATOR]
    assert (desk.secret_word(FOUNDER), desk.secret_word(OPERATOR)) == ("passphrase", "PIN")
    said = desk.sign(run, by(OPERATOR, PIN))
    assert "signed by D. Marrow" in said
    (chain,) = (one for one in verify_folder(peopled.shop).chains if one.machine.startswith("m-"))
    assert (chain.intact, chain.unsigned) == (1, 1)  # the demo's yesterday was before the shop had people
    signed = opened().load().run.signed
    assert signed is not None
    assert signed.keyed
    assert "verdict ok, signed by D. Marrow." in signed.sentence


def test_a_wrong_pin_saves_nothing_and_the_draft_stays(peopled: PeopledShop, opened: Open, clock: Clock) -> None:
    desk = opened()
    run = filled(desk.load().run)
    desk.keep(run.typed, run.entered, {})
    with pytest.raises(WrongSecretError):
        desk.sign(run, by(OPERATOR, "11112223"))
    with pytest.raises(PersonError, match="Nobody of the name"):
        desk.sign(run, by("R. Onslow", PIN))
    assert len(list(peopled.shop.glob("checklists/m-*/*/*.toml"))) == 1
    assert opened().load().run.typed == run.typed


def test_no_secret_stands_in_any_file_of_shop_or_keys(peopled: PeopledShop, opened: Open, clock: Clock) -> None:
    desk = opened()
    run = filled(desk.load().run)
    desk.keep(run.typed, run.entered, {})
    signing = by(OPERATOR, PIN)
    assert PIN not in repr(signing)
    drafts = b"".join(path.read_bytes() for path in (peopled.shop / "drafts").iterdir() if path.is_file())
    desk.sign(run, signing)
    files = [path for folder in (peopled.shop, peopled.keys.path) for path in folder.rglob("*") if path.is_file()]
    everything = drafts + b"".join(path.read_bytes() for path in files)
    assert len(files) > 10
    for secret in (PIN.encode(), PASSPHRASE.encode(), seed(OPERATOR), seed(FOUNDER)):
        assert secret not in everything
        assert base64.b64encode(secret) not in everything
        assert secret.hex().encode() not in everything


def test_a_changed_profile_is_said_on_every_station_noted_and_released_by_a_lead_alone(
    peopled: PeopledShop, opened: Open, clock: Clock
) -> None:
    path = peopled.shop / "machines" / f"{MACHINE}.toml"
    path.write_text(path.read_text("utf-8") + "\n# raised\n", encoding="utf-8")
    desk = opened()
    loaded = desk.load()
    assert loaded.machine.endswith("profile not approved")
    assert "was changed since T. Varga approved it" in loaded.notice
    run = filled(loaded.run)
    with pytest.raises(PreflightError, match="Only a lead"):
        desk.sign(run, by(OPERATOR, PIN))
    desk.sign(run, by(FOUNDER, PASSPHRASE))
    record = newest_record(peopled.shop)
    assert any("was changed since" in note for note in record["record"]["notes"])
    assert record["record"]["role"] == "lead"


def test_a_held_record_is_handed_over_with_its_readings_of_this_shift(
    peopled: PeopledShop, opened: Open, clock: Clock
) -> None:
    desk = opened()
    desk.hold(filled(desk.load().run, tension__1="5.9"), STOPPED)
    clock.now += timedelta(hours=1)
    desk = opened()
    loaded = desk.load()
    assert "Held 2026-11-26 06:40 by D. Marrow: regulator sticks. Told: A. Brandt. Tried: tapped it." in loaded.notice
    assert loaded.run.typed["tension.1"] == "5.9"
    assert loaded.run.typed["test_board.left"] == YESTERDAY["test_board.left"]
    run = loaded.run.typing("tension.1", "4.2", clock.now)
    desk.sign(run, by(OPERATOR, PIN))
    assert newest_record(peopled.shop)["refers"]["sequence"] == 2


def test_a_held_record_of_an_earlier_shift_gives_facts_alone(peopled: PeopledShop, opened: Open, clock: Clock) -> None:
    desk = opened()
    desk.hold(filled(desk.load().run, tension__1="5.9"), STOPPED)
    clock.now += timedelta(hours=20)
    loaded = opened().load()
    assert "readings are taken again" in loaded.notice
    assert "tension.1" not in loaded.run.typed
    assert loaded.run.typed["belts.1.card"] == YESTERDAY["belts.1.card"]


def overridden(
    peopled: PeopledShop, opened: Open, clock: Clock, until: datetime, *, name: str = FOUNDER, role: str = "lead"
) -> None:
    """A held record with a tension stop, and an override of it, signed past the command line's own checks."""
    desk = opened()
    desk.hold(filled(desk.load().run, tension__1="5.0"), STOPPED)
    machine = shop_at(peopled.shop).load(Machine, MACHINE).value.id
    held = record(peopled.shop, machine, 2, read_register(peopled.shop))
    (stop,) = (one for one in held.document["findings"] if one["verdict"] == "stop")
    signature = Signature(name, "lead", "I permit it.", clock.now)
    body = override(held, "tension", stop["subject"], "regulator is on order", until, peopled.token(), signature)
    body = body.replace(b'role = "lead"', f'role = "{role}"'.encode(), 1)
    record_id = read_content(body).heading.id
    commit(
        Chain(peopled.shop, machine),
        lambda _: body,
        record_id=record_id,
        signer=peopled.signer(name),
        token=peopled.token(),
    )


def test_an_override_in_force_lets_a_lead_release_until_its_end_and_nobody_else(
    peopled: PeopledShop, opened: Open, clock: Clock
) -> None:
    overridden(peopled, opened, clock, clock.now + timedelta(hours=3))
    clock.now += timedelta(hours=1)
    desk = opened()
    loaded = desk.load()
    assert "Override in force until" in loaded.notice
    assert loaded.run.verdict("tension") is Verdict.STOP
    assert loaded.run.releasable
    assert "stopped" not in why_not_signed(loaded.run)
    assert released_for(loaded.run).startswith("released until 2026-11-26")
    with pytest.raises(PreflightError, match=r"rests on an override\. Only a lead"):
        desk.sign(loaded.run, by(OPERATOR, PIN))
    assert "1 stopped" in why_not_signed(filled(loaded.run, tension__1="5.9"))
    worse = loaded.run.typing("tension.1", "5.9", clock.now)
    assert not worse.releasable
    with pytest.raises(PreflightError, match="open or stopped"):
        desk.sign(worse, by(FOUNDER, PASSPHRASE))
    said = desk.sign(loaded.run, by(FOUNDER, PASSPHRASE))
    assert said.startswith("Released until 2026-11-26 09:40 under override")
    released = newest_record(peopled.shop)["released"]
    assert (released["until"], released["overrides"][0]["record"]) == ("2026-11-26T09:40:00+00:00", 3)
    assert "Released until 2026-11-26 09:40" in opened().load().notice
    clock.now += timedelta(hours=3)
    assert "an override that has ended" in opened().load().notice


def test_an_override_that_is_over_permits_nothing(peopled: PeopledShop, opened: Open, clock: Clock) -> None:
    overridden(peopled, opened, clock, clock.now + timedelta(hours=1))
    clock.now += timedelta(hours=2)
    desk = opened()
    run = desk.load().run
    assert not run.releasable
    with pytest.raises(PreflightError, match="open or stopped"):
        desk.sign(run, by(FOUNDER, PASSPHRASE))


@pytest.mark.parametrize("role", ["operator", "lead"])
def test_an_override_that_an_operator_signed_permits_nothing_whatever_it_prints(
    peopled: PeopledShop, opened: Open, clock: Clock, role: str
) -> None:
    overridden(peopled, opened, clock, clock.now + timedelta(hours=3), name=OPERATOR, role=role)
    desk = opened()
    assert not desk.load().run.releasable


def test_a_record_that_was_saved_before_the_program_ended_is_not_signed_again(
    peopled: PeopledShop, opened: Open, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = opened()
    run = filled(desk.load().run)
    desk.keep(run.typed, run.entered, {})

    def killed(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Draft, "discard", killed)
    with pytest.raises(KeyboardInterrupt):
        desk.sign(run, by(OPERATOR, PIN))
    monkeypatch.undo()
    again = opened()
    loaded = again.load()
    assert "Record 2 was saved before the program ended" in loaded.notice
    assert len(list(peopled.shop.glob("checklists/m-*/*/*.toml"))) == 2


def test_a_save_whose_answer_was_lost_is_recognised_at_the_next_try(
    peopled: PeopledShop, opened: Open, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = opened()
    run = filled(desk.load().run)

    def lost(*_: object, **__: object) -> None:
        save(*_, **__)  # type: ignore[arg-type]
        raise PreflightError("The folder has gone while saving.")

    monkeypatch.setattr("preflight.tui.desk.save", lost)
    with pytest.raises(PreflightError, match="has gone"):
        desk.sign(run, by(OPERATOR, PIN))
    monkeypatch.undo()
    assert "It had been saved at an earlier try" in desk.sign(run, by(OPERATOR, PIN))
    assert len(list(peopled.shop.glob("checklists/m-*/*/*.toml"))) == 2


@pytest.mark.parametrize("before_opening", [True, False])
def test_when_the_register_is_gone_nothing_is_saved_unsigned(
    peopled: PeopledShop, opened: Open, before_opening: bool
) -> None:
    desk = opened()
    desk.sign(filled(desk.load().run), by(OPERATOR, PIN))
    register = peopled.shop / "checklists" / read_register(peopled.shop).chain
    if before_opening:
        shutil.rmtree(register)
    desk = opened()
    loaded = desk.load()
    assert ("the register of people is gone" in loaded.notice) is before_opening
    assert loaded.machine.endswith("register alarm") is before_opening
    if not before_opening:
        shutil.rmtree(register)
    with pytest.raises(PreflightError, match="the register of people is gone"):
        desk.sign(filled(loaded.run), by(OPERATOR, ""))
    assert len(list(peopled.shop.glob("checklists/m-*/*/*.toml"))) == 2
