"""A register taken away, emptied, shortened, exchanged or doubled is an alarm, and nothing is signed under it."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from checklist.people_samples import FOUNDER, PeopledShop
from checklist.record_samples import MACHINE, constant, save, start_up_body

from preflight.checklist.chain import Chain
from preflight.checklist.founders import APP, Founders
from preflight.checklist.heading import Signature
from preflight.checklist.key_folder import KeyFolder
from preflight.checklist.people import PersonError
from preflight.checklist.register import RegisterAlarmError, read_register
from preflight.checklist.register_alarm import accept_register, known_founders, remember
from preflight.checklist.secret import Secret
from preflight.checklist.shop_check import heads_of, verify_folder
from preflight.checklist.signatory import signatory, unsigned
from preflight.checklist.store import StoreError, commit
from preflight.checklist.verify import Status

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

OPERATOR, SECOND = "D. Marrow", "A. Brandt"


@pytest.fixture
def peopled(tmp_path: Path) -> PeopledShop:
    """A shop of two people with one signed start-up, as this terminal saw it."""
    made = PeopledShop.founded(tmp_path / "shop", tmp_path / "keys")
    made.admit(OPERATOR, "operator", keep=True)
    at = Signature(OPERATOR, "operator", "I made this check.", made.now)
    body = start_up_body("start-up-1", at)
    chain = Chain(made.shop, MACHINE)
    commit(chain, lambda _: body, record_id="start-up-1", signer=made.signer(OPERATOR), token=made.token())
    assert remember(read_register(made.shop), made.now) == ""
    return made


def rival_of(peopled: PeopledShop, tmp_path: Path) -> Path:
    """The register that somebody else founded in a shop of their own."""
    rival = PeopledShop(tmp_path / "rival", peopled.keys)
    (tmp_path / "rival" / "checklists").mkdir(parents=True)
    rival.book.found(rival.person(SECOND, "lead"), rival.signer(SECOND))
    return rival.shop / "checklists" / read_register(rival.shop).chain


def register_folder(shop: Path) -> Path:
    return next((shop / "checklists").glob("shop-*"))


def deleted(peopled: PeopledShop, _: Path) -> None:
    shutil.rmtree(register_folder(peopled.shop))


def emptied(peopled: PeopledShop, _: Path) -> None:
    for path in register_folder(peopled.shop).glob("*/*.toml"):
        path.unlink()


def founding_taken(peopled: PeopledShop, _: Path) -> None:
    min(register_folder(peopled.shop).glob("*/*.toml")).unlink()


def shortened(peopled: PeopledShop, _: Path) -> None:
    max(register_folder(peopled.shop).glob("*/*.toml")).unlink()


def swapped(peopled: PeopledShop, tmp_path: Path) -> None:
    theirs = rival_of(peopled, tmp_path)
    shutil.rmtree(register_folder(peopled.shop))
    shutil.copytree(theirs, peopled.shop / "checklists" / theirs.name)


def second(peopled: PeopledShop, tmp_path: Path) -> None:
    theirs = rival_of(peopled, tmp_path)
    shutil.copytree(theirs, peopled.shop / "checklists" / theirs.name)


def all_records_deleted(peopled: PeopledShop, _: Path) -> None:
    shutil.rmtree(peopled.shop / "checklists")
    (peopled.shop / "checklists").mkdir()


ATTACKS: list[tuple[Callable[[PeopledShop, Path], None], str, Status]] = [
    (deleted, "founded this shop, and the register of people is gone", Status.WRONG),
    (emptied, "founded this shop, and the register of people is gone", Status.WRONG),
    (founding_taken, "emptied", Status.WRONG),
    (shortened, "has lost records: it had 2", Status.CUT_TAIL),
    (swapped, "the register of people in it is another one", Status.WRONG),
    (second, "two founded registers", Status.FORK),
    (all_records_deleted, "Here lay the shop that T. Varga", Status.WRONG),
]


@pytest.mark.parametrize(("attack", "words", "status"), ATTACKS, ids=[one[0].__name__ for one in ATTACKS])
def test_every_attack_on_the_register_is_an_alarm_under_which_nobody_signs_or_founds(
    peopled: PeopledShop, tmp_path: Path, attack: Callable[[PeopledShop, Path], None], words: str, status: Status
) -> None:
    attack(peopled, tmp_path)
    register = read_register(peopled.shop)
    assert register.alarm is not None
    assert words in register.alarm.statement
    assert register.founded
    for signing in (
        lambda: unsigned(register, OPERATOR, "operator"),
        lambda: signatory(register, peopled.keys, OPERATOR, Secret(""), peopled.now),
        lambda: peopled.book.found(peopled.person(SECOND, "lead"), peopled.signer(SECOND)),
        lambda: peopled.admit("R. Onslow", "operator"),
        lambda: heads_of(peopled.shop, peopled.now),
    ):
        with pytest.raises(RegisterAlarmError, match="Nothing is founded or signed here"):
            signing()
    found = verify_folder(peopled.shop)
    assert [problem.statement for problem in found.problems if problem.status is register.alarm.status]
    assert register.alarm.status is status
    assert found.status.exit_status == 2
    remember(register, peopled.now)
    assert read_register(peopled.shop).alarm == register.alarm, "an alarm is not remembered as the new state"


def test_a_terminal_that_never_saw_the_shop_goes_by_the_signatures_in_its_records(
    peopled: PeopledShop, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another terminal"))
    assert read_register(peopled.shop).alarm is None
    deleted(peopled, tmp_path)
    alarm = read_register(peopled.shop).alarm
    assert alarm is not None
    assert "The records here are signed, and the register of people is gone" in alarm.statement
    assert verify_folder(peopled.shop).status is Status.CANNOT_CHECK
    with pytest.raises(RegisterAlarmError):
        unsigned(read_register(peopled.shop), OPERATOR, "operator")


def test_unsigned_records_heaped_on_signed_ones_do_not_let_anybody_found_the_shop_anew(
    peopled: PeopledShop, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another terminal"))
    deleted(peopled, tmp_path)
    for number in range(2, 30):
        save(Chain(peopled.shop, MACHINE), number)
    assert read_register(peopled.shop).alarm is None, "of a long chain only some records are looked at"
    with pytest.raises(RegisterAlarmError, match="the register of people is gone"):
        peopled.book.found(peopled.person(SECOND, "lead"), peopled.signer(SECOND))


def test_a_few_signed_records_below_many_unsigned_ones_are_found(
    peopled: PeopledShop, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    chain = Chain(peopled.shop, MACHINE)
    for number in range(2, 42):
        at = Signature(OPERATOR, "operator", "I made this check.", peopled.now)
        name, signer = f"start-up-{number:08d}", peopled.signer(OPERATOR)
        commit(chain, constant(start_up_body(name, at)), record_id=name, signer=signer, token="token-00")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another terminal"))
    deleted(peopled, tmp_path)
    for number in range(42, 77):
        save(chain, number)
    assert read_register(peopled.shop).alarm is not None


def test_a_register_in_place_of_the_shops_own_is_an_alarm_at_first_sight_too(
    peopled: PeopledShop, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another terminal"))
    swapped(peopled, tmp_path)
    alarm = read_register(peopled.shop).alarm
    assert alarm is not None
    assert "signed with keys that this register does not know" in alarm.statement
    accept_register(peopled.shop, peopled.now)  # somebody compared the founder's key
    assert read_register(peopled.shop).alarm is None


def test_a_founding_that_was_killed_halfway_leaves_no_register(tmp_path: Path) -> None:
    peopled = PeopledShop(tmp_path / "shop", KeyFolder(tmp_path / "keys"))
    (tmp_path / "shop" / "checklists" / f"shop-{'ab' * 16}").mkdir(parents=True)
    assert not read_register(peopled.shop).founded
    peopled.book.found(peopled.person(FOUNDER, "lead"), peopled.signer(FOUNDER))
    register = read_register(peopled.shop)
    assert register.alarm is None
    assert [one.name for one in register.active] == [FOUNDER]


def test_what_somebody_put_behind_the_register_can_be_taken_away_again(peopled: PeopledShop) -> None:
    path = register_folder(peopled.shop) / "00000" / "00000003.toml"
    path.write_bytes((register_folder(peopled.shop) / "00000" / "00000002.toml").read_bytes())
    register = read_register(peopled.shop)
    assert [number for number, _ in register.faults] == [3]
    assert remember(register, peopled.now) == ""
    path.unlink()
    assert read_register(peopled.shop).alarm is None
    (known,) = known_founders(peopled.shop)
    assert known.sequence == 2


def test_chains_heaped_up_in_the_folder_push_none_out_of_the_memory(peopled: PeopledShop, tmp_path: Path) -> None:
    for number in range(700):
        (peopled.shop / "checklists" / f"a-{number}").mkdir()
    assert remember(read_register(peopled.shop), peopled.now) == ""
    moved = tmp_path / "moved"
    shutil.copytree(peopled.shop / "checklists" / MACHINE, moved / "checklists" / MACHINE)
    alarm = read_register(moved).alarm
    assert alarm is not None
    assert "founded this shop" in alarm.statement


def test_a_shop_that_was_moved_or_copied_is_the_same_shop(peopled: PeopledShop, tmp_path: Path) -> None:
    moved = tmp_path / "elsewhere" / "shop"
    shutil.copytree(peopled.shop, moved)
    assert read_register(moved).alarm is None
    assert remember(read_register(moved), peopled.now) == ""
    shutil.rmtree(peopled.shop)
    assert read_register(moved).alarm is None
    (known,) = known_founders(moved)
    assert known.folders == (str(peopled.shop.resolve()), str(moved.resolve()))
    shutil.rmtree(register_folder(moved))
    assert read_register(moved).alarm is not None


def test_a_copy_of_some_chains_alone_is_not_called_wrong(peopled: PeopledShop, tmp_path: Path) -> None:
    shutil.copytree(peopled.shop / "checklists" / MACHINE, tmp_path / "stick" / MACHINE)
    found = verify_folder(tmp_path / "stick")
    assert found.status is Status.CANNOT_CHECK
    assert "the register of people is gone" in found.problems[0].statement


def test_another_shop_beside_it_and_one_without_people_raise_no_alarm(peopled: PeopledShop, tmp_path: Path) -> None:
    theirs = rival_of(peopled, tmp_path).parents[1]
    assert read_register(theirs).alarm is None
    assert remember(read_register(theirs), peopled.now) == ""
    (tmp_path / "empty" / "checklists").mkdir(parents=True)
    save(Chain(tmp_path / "empty", "m-other"), 1)
    assert read_register(tmp_path / "empty").alarm is None
    assert unsigned(read_register(tmp_path / "empty"), OPERATOR, "operator").signer is None


def test_nothing_is_saved_unsigned_beside_a_register(peopled: PeopledShop) -> None:
    with pytest.raises(StoreError, match="nothing is saved unsigned"):
        save(Chain(peopled.shop, MACHINE), 2)
    with pytest.raises(PersonError, match="signs with a key"):
        unsigned(read_register(peopled.shop), OPERATOR, "operator")


def test_the_memory_lies_outside_the_shop_and_is_written_only_when_something_is_new(
    peopled: PeopledShop, home: Path
) -> None:
    (file,) = Founders().path.iterdir()
    assert file.is_relative_to(home)
    assert not file.is_relative_to(peopled.shop)
    assert Founders().path.name == APP
    assert file.stat().st_mode & 0o077 == 0
    before = file.stat().st_mtime_ns
    assert remember(read_register(peopled.shop), peopled.now) == ""
    assert file.stat().st_mtime_ns == before
    peopled.admit("R. Onslow", "operator")
    assert remember(read_register(peopled.shop), peopled.now) == ""
    ((known,), unread) = Founders().all()
    assert (known.name, known.sequence, unread) == (FOUNDER, 3, [])


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", '{"schema": 1}', '{"schema": 2, "name": 3}', "[" * 100_000, "\x00\xff"]
)
def test_a_memory_that_cannot_be_read_is_said_and_stops_nothing_else(peopled: PeopledShop, text: str) -> None:
    (file,) = Founders().path.iterdir()
    file.write_text(text, encoding="utf-8")
    register = read_register(peopled.shop)
    assert register.alarm is None
    assert file.name in register.notice


def test_a_memory_that_cannot_be_written_is_said(peopled: PeopledShop, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    said = remember(read_register(peopled.shop), peopled.now, Founders(tmp_path / "file" / "below"))
    assert "cannot note who founded the shop" in said
