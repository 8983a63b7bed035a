"""The register: who may sign is decided by signed records alone, and old signatures stay valid for their time."""

from __future__ import annotations

import random
import shutil
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

import pytest
from checklist.people_samples import FOUNDED, FOUNDER, PeopledShop
from checklist.record_samples import MACHINE, save, start_up_body, start_up_document

from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain, relative_path
from preflight.checklist.heading import Signature, heading
from preflight.checklist.register import RegisterError, read_register
from preflight.checklist.register_record import person_table
from preflight.checklist.seal import read_seal, seal
from preflight.checklist.shop_check import heads_of, verify_folder
from preflight.checklist.store import commit
from preflight.checklist.verify import ShopResult, Status

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.signing import Ed25519Signer

OPERATOR, SECOND = "D. Marrow", "A. Brandt"


@pytest.fixture
def peopled(tmp_path: Path) -> PeopledShop:
    made = PeopledShop.founded(tmp_path / "shop", tmp_path / "keys")
    made.admit(OPERATOR, "operator")
    return made


def sign(
    peopled: PeopledShop, name: str, at: datetime, *, role: str = "operator", signer: Ed25519Signer | None = None
) -> int:
    """A start-up's record of that name and time, signed by the name's own key unless another is given."""
    record_id = peopled.token()
    body = start_up_body(record_id, Signature(name, role, "I made this check.", at))
    by = signer or peopled.signer(name)
    saved = commit(Chain(peopled.shop, MACHINE), lambda _: body, record_id=record_id, signer=by, token=peopled.token())
    return saved.head.sequence


def statements(found: ShopResult) -> list[str]:
    problems = [*found.problems, *(problem for chain in found.chains for problem in chain.problems)]
    return [problem.statement for problem in problems]


def test_a_shop_without_people_has_an_empty_register(tmp_path: Path) -> None:
    assert not read_register(tmp_path).founded


def test_the_chain_is_named_after_the_founders_key(peopled: PeopledShop) -> None:
    register = read_register(peopled.shop)
    assert register.chain == "shop-" + peopled.signer(FOUNDER).key_id.removeprefix("k-")
    assert [(one.name, one.role) for one in register.active] == [(FOUNDER, "lead"), (OPERATOR, "operator")]
    assert register.faults == ()


def test_a_shop_is_founded_once(peopled: PeopledShop) -> None:
    with pytest.raises(RegisterError, match="founded already"):
        peopled.book.found(peopled.person(SECOND, "lead"), peopled.signer(SECOND))


def test_a_record_of_an_admitted_person_is_intact_and_one_of_nobody_is_wrong(peopled: PeopledShop) -> None:
    sign(peopled, OPERATOR, peopled.now)
    assert verify_folder(peopled.shop).status is Status.INTACT
    sign(peopled, "R. Onslow", peopled.now)
    found = verify_folder(peopled.shop)
    assert found.status is Status.WRONG
    assert any("a person nobody admitted" in text for text in statements(found))


def test_a_copy_that_holds_only_the_chains_verifies_by_itself(peopled: PeopledShop, tmp_path: Path) -> None:
    sign(peopled, OPERATOR, peopled.now)
    shutil.copytree(peopled.shop / "checklists", tmp_path / "stick")
    assert verify_folder(tmp_path / "stick").status is Status.INTACT


def test_without_the_register_a_signature_cannot_be_checked_and_is_not_called_wrong(peopled: PeopledShop) -> None:
    sign(peopled, OPERATOR, peopled.now)
    shutil.rmtree(peopled.shop / "checklists" / read_register(peopled.shop).chain)
    assert verify_folder(peopled.shop).status is Status.CANNOT_CHECK


def test_after_retirement_old_signatures_stay_valid_and_new_ones_do_not(peopled: PeopledShop) -> None:
    sign(peopled, OPERATOR, peopled.now)
    peopled.change("retirement", OPERATOR)
    assert verify_folder(peopled.shop).status is Status.INTACT
    assert read_register(peopled.shop).members[OPERATOR].until == peopled.now
    sign(peopled, OPERATOR, peopled.now + timedelta(minutes=1))
    assert any("after the key of D. Marrow ended" in text for text in statements(verify_folder(peopled.shop)))


def test_after_renewal_the_new_key_counts_and_the_old_one_only_for_its_time(peopled: PeopledShop) -> None:
    sign(peopled, OPERATOR, peopled.now)
    peopled.change("renewal", OPERATOR, "operator", public=peopled.signer(OPERATOR, 2).public)
    sign(peopled, OPERATOR, peopled.now, signer=peopled.signer(OPERATOR, 2))
    assert verify_folder(peopled.shop).status is Status.INTACT
    sign(peopled, OPERATOR, peopled.now + timedelta(hours=1))
    assert verify_folder(peopled.shop).status is Status.WRONG


def test_somebody_who_retired_comes_back_with_a_new_key(peopled: PeopledShop) -> None:
    peopled.change("retirement", OPERATOR)
    peopled.change("renewal", OPERATOR, "operator", public=peopled.signer(OPERATOR, 2).public)
    assert [one.name for one in read_register(peopled.shop).active] == [FOUNDER, OPERATOR]


def test_a_role_counts_from_its_change_on_and_the_printed_one_has_to_be_that_of_its_time(peopled: PeopledShop) -> None:
    before = peopled.now
    peopled.change("role", OPERATOR, "trainer")
    sign(peopled, OPERATOR, before, role="operator")
    sign(peopled, OPERATOR, peopled.now, role="operator")  # in the very second both are true
    sign(peopled, OPERATOR, peopled.now + timedelta(seconds=1), role="trainer")
    assert verify_folder(peopled.shop).status is Status.INTACT
    sign(peopled, OPERATOR, peopled.now + timedelta(seconds=2), role="operator")
    assert any("who was trainer then" in text for text in statements(verify_folder(peopled.shop)))


def test_nobody_signs_under_another_persons_name(peopled: PeopledShop) -> None:
    sign(peopled, FOUNDER, peopled.now, role="lead", signer=peopled.signer(OPERATOR))
    found = verify_folder(peopled.shop)
    assert found.status is Status.WRONG
    assert any("It prints the name T. Varga" in text and "D. Marrow" in text for text in statements(found))


def test_nobody_is_signed_for_before_being_admitted(peopled: PeopledShop) -> None:
    sign(peopled, OPERATOR, FOUNDED)
    assert any("before D. Marrow was admitted" in text for text in statements(verify_folder(peopled.shop)))


def forged(peopled: PeopledShop, kind: str, tables: dict[str, object], by: str, at: datetime) -> int:
    """The next record of the register past the product's own checks, as somebody with a key and the layout can."""
    chain = Chain(peopled.shop, read_register(peopled.shop).chain)
    head, record_id = chain.head(), peopled.token()
    role = read_register(peopled.shop).members[by].role if by in read_register(peopled.shop).members else "lead"
    body = write_body({"record": heading(kind, record_id, Signature(by, role, "as always", at)), **tables})
    data = seal(
        body, machine=chain.machine, sequence=head.sequence + 1, previous=head.sha256, signer=peopled.signer(by)
    )
    chain.path(head.sequence + 1).write_bytes(data)
    return head.sequence + 1


@pytest.mark.parametrize(
    ("kind", "name", "role", "by", "hours", "why"),
    [
        ("enrolment", "R. Onslow", "operator", OPERATOR, 1, "only a lead"),
        ("role", OPERATOR, "lead", OPERATOR, 1, "only a lead"),
        ("enrolment", "R. Onslow", "operator", "an outsider", 1, "nobody admitted"),
        ("enrolment", OPERATOR, "operator", FOUNDER, 1, "never share a name"),
        ("enrolment", "R. Onslow", "owner", FOUNDER, 1, "no role"),
        ("enrolment", 'R. "Onslow"', "operator", FOUNDER, 1, "quotation mark"),
        ("retirement", "R. Onslow", "", FOUNDER, 1, "no R. Onslow"),
        ("enrolment", "R. Onslow", "operator", FOUNDER, -0.5, "dated before"),
        ("founding", "R. Onslow", "lead", FOUNDER, 1, "founded once"),
        ("startup", "R. Onslow", "operator", FOUNDER, 1, "no record of the kind 'startup'"),
    ],
)
def test_what_no_lead_of_its_time_signed_or_makes_no_sense_changes_nothing_and_is_named(
    peopled: PeopledShop, kind: str, name: str, role: str, by: str, hours: float, why: str
) -> None:
    tables = person_table(kind, name, role=role, public=peopled.signer("somebody").public)
    number = forged(peopled, kind, tables, by, peopled.now + timedelta(hours=hours))
    register = read_register(peopled.shop)
    assert [one.name for one in register.active] == [FOUNDER, OPERATOR]
    assert register.members[OPERATOR].role == "operator"
    assert [fault[0] for fault in register.faults] == [number]
    assert why in register.faults[0][1]
    found = verify_folder(peopled.shop)
    assert found.status is Status.WRONG
    named = [p for p in (*found.problems, *(q for c in found.chains for q in c.problems)) if p.status is Status.WRONG]
    assert [p.paths[0].name for p in named] == [relative_path(number).name]


def test_a_start_up_has_no_place_in_the_register(peopled: PeopledShop) -> None:
    document = start_up_document("start-up-1", Signature(FOUNDER, "lead", "I made this check.", peopled.now))
    number = forged(peopled, "startup", document, FOUNDER, peopled.now)
    ((faulty, why),) = read_register(peopled.shop).faults
    assert (faulty, "no place" in why) == (number, True)


def test_what_the_register_would_pass_over_is_refused_before_it_is_saved(peopled: PeopledShop) -> None:
    tables = person_table("enrolment", "R. Onslow", role="operator", public=peopled.signer(OPERATOR).public)
    with pytest.raises(RegisterError, match="was admitted before"):
        peopled.book.add("enrolment", tables, FOUNDER, peopled.signer(FOUNDER))
    with pytest.raises(RegisterError, match="who was operator then"):
        peopled.admit("R. Onslow", "operator", by=OPERATOR)
    with pytest.raises(RegisterError, match="nobody admitted"):
        peopled.admit("R. Onslow", "operator", by="an outsider")
    assert read_register(peopled.shop).head.sequence == 2
    assert verify_folder(peopled.shop).status is Status.INTACT


def test_a_register_that_another_terminal_changed_meanwhile_is_not_written_to(
    peopled: PeopledShop, monkeypatch: pytest.MonkeyPatch
) -> None:
    stale = read_register(peopled.shop)
    peopled.admit("R. Onslow", "operator")
    monkeypatch.setattr("preflight.checklist.register_record.read_register", lambda _: replace(stale))
    with pytest.raises(RegisterError, match="Another terminal"):
        peopled.admit("R. Onslow", "trainer")
    assert len(read_register(peopled.shop).members) == 3


def test_a_clock_behind_the_register_writes_nothing(peopled: PeopledShop) -> None:
    with pytest.raises(RegisterError, match="clock"):
        peopled.admit("R. Onslow", "operator", hours=-5)
    assert read_register(peopled.shop).head.sequence == 2


def test_another_founder_under_the_same_chain_is_refused(peopled: PeopledShop) -> None:
    chain = Chain(peopled.shop, read_register(peopled.shop).chain)
    at = Signature(SECOND, "lead", "mine", FOUNDED)
    tables = person_table("founding", SECOND, role="lead", public=peopled.signer(SECOND).public)
    body = write_body({"record": heading("founding", "another-founder", at), **tables})
    old = read_seal(chain.path(1).read_bytes())
    chain.path(1).write_bytes(
        seal(body, machine=chain.machine, sequence=1, previous=old.previous, signer=peopled.signer(SECOND))
    )
    register = read_register(peopled.shop)
    assert register.keys == {}
    assert "named after" in register.faults[0][1]
    assert verify_folder(peopled.shop).status is Status.WRONG


def test_two_registers_in_one_folder_are_told_apart_only_by_a_head_kept_elsewhere(
    peopled: PeopledShop, tmp_path: Path
) -> None:
    sign(peopled, OPERATOR, peopled.now)
    kept = heads_of(peopled.shop, peopled.now)
    rival = PeopledShop(tmp_path / "rival", peopled.keys)
    (tmp_path / "rival" / "checklists").mkdir(parents=True)
    rival.book.found(rival.person(SECOND, "lead"), rival.signer(SECOND))
    name = read_register(rival.shop).chain
    shutil.copytree(rival.shop / "checklists" / name, peopled.shop / "checklists" / name)
    alarm = read_register(peopled.shop).alarm
    assert alarm is not None
    assert "two founded registers" in alarm.statement
    assert not read_register(peopled.shop).keys
    assert verify_folder(peopled.shop).status is Status.FORK
    found = verify_folder(peopled.shop, kept)
    assert {chain.machine: chain.status for chain in found.chains} == {
        MACHINE: Status.INTACT,
        kept.register: Status.INTACT,
        name: Status.WRONG,
    }


def test_a_retirement_that_was_cut_off_is_found_by_the_head_kept_elsewhere(peopled: PeopledShop) -> None:
    saved = peopled.change("retirement", OPERATOR)
    kept = heads_of(peopled.shop, peopled.now)
    saved.path.unlink()
    assert verify_folder(peopled.shop).status is Status.INTACT
    found = verify_folder(peopled.shop, kept)
    assert found.status is Status.CUT_TAIL
    assert any("Cut off after number 2" in text for text in statements(found))


def test_a_founding_record_that_was_changed_admits_nobody(peopled: PeopledShop) -> None:
    sign(peopled, OPERATOR, peopled.now)
    founding = Chain(peopled.shop, read_register(peopled.shop).chain).path(1)
    data = founding.read_bytes()
    before = read_seal(data).body
    after = before.replace(b"answer for whom", b"answer to those")
    old, new = (sha256(body).hexdigest().encode() for body in (before, after))
    founding.write_bytes(after + data[len(before) :].replace(old, new))
    assert len(after) == len(before)
    assert after != before
    assert read_register(peopled.shop).keys == {}
    found = verify_folder(peopled.shop)
    assert found.status is Status.WRONG
    assert {chain.unchecked_signatures for chain in found.chains} == {1, 2}


def test_a_record_dated_back_is_noted(peopled: PeopledShop) -> None:
    sign(peopled, OPERATOR, peopled.now + timedelta(hours=2))
    sign(peopled, OPERATOR, peopled.now + timedelta(hours=1))
    (chain,) = (chain for chain in verify_folder(peopled.shop).chains if chain.machine == MACHINE)
    assert (chain.status, [path.name for path in chain.backward]) == (Status.INTACT, ["00000002.toml"])


def test_a_record_dated_a_day_ahead_of_the_clock_and_of_the_kept_head_is_noted(peopled: PeopledShop) -> None:
    now = peopled.now + timedelta(hours=2)
    sign(peopled, OPERATOR, now + timedelta(hours=24))
    ahead = Chain(peopled.shop, MACHINE).path(sign(peopled, OPERATOR, now + timedelta(hours=24, seconds=1)))
    kept = heads_of(peopled.shop, now + timedelta(hours=1))

    def noted(found: ShopResult) -> list[tuple[Path, ...]]:
        assert found.status is Status.INTACT
        return [chain.ahead for chain in found.chains if chain.ahead]

    assert noted(verify_folder(peopled.shop, now=now)) == [(ahead,)]
    assert noted(verify_folder(peopled.shop, kept, now=now)) == []
    assert noted(verify_folder(peopled.shop)) == []


def test_an_unsigned_record_after_signed_ones_is_noted_by_name(peopled: PeopledShop, tmp_path: Path) -> None:
    sign(peopled, OPERATOR, peopled.now)
    register = peopled.shop / "checklists" / read_register(peopled.shop).chain
    register.rename(tmp_path / "aside")  # beside it the product saves nothing unsigned
    save(Chain(peopled.shop, MACHINE), 2)
    (tmp_path / "aside").rename(register)
    (chain,) = (chain for chain in verify_folder(peopled.shop).chains if chain.machine == MACHINE)
    assert (chain.status, [path.name for path in chain.unsigned_later]) == (Status.UNSIGNED, ["00000002.toml"])


def test_an_approved_profile_is_told_from_a_changed_and_from_an_unknown_one(peopled: PeopledShop) -> None:
    peopled.approve("machines/hall-two", "ab" * 32)
    register = read_register(peopled.shop)
    assert register.standing("machines/hall-two", "ab" * 32) == ""
    assert "was changed since T. Varga approved it" in register.standing("machines/hall-two", "cd" * 32)
    assert register.standing("extraction/main", "ab" * 32) == "No lead has approved extraction/main."
    peopled.approve("machines/hall-two", "cd" * 32)
    assert "was changed" in read_register(peopled.shop).standing("machines/hall-two", "ab" * 32)


def test_without_the_signature_library_nothing_is_called_wrong(
    peopled: PeopledShop, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign(peopled, OPERATOR, peopled.now)
    monkeypatch.setitem(sys.modules, "cryptography", None)
    found = verify_folder(peopled.shop)
    assert found.status is Status.CANNOT_CHECK
    assert any("not installed" in text for text in statements(found))


def test_any_tampering_with_any_file_of_a_shop_with_people_is_found_and_nothing_else(
    peopled: PeopledShop, tmp_path: Path
) -> None:
    for minutes in range(4):
        sign(peopled, OPERATOR, peopled.now + timedelta(minutes=minutes))
    peopled.change("role", OPERATOR, "trainer")
    peopled.admit("R. Onslow", "operator")
    kept = heads_of(peopled.shop, peopled.now)
    root = peopled.shop / "checklists"
    files = {path: path.read_bytes() for path in sorted(root.glob("*/*/*.toml"))}
    rng = random.Random(20261125)
    for _ in range(300):
        assert verify_folder(root, kept).status is Status.INTACT
        path, other = rng.sample(sorted(files), 2)
        data = bytearray(files[path])
        at = rng.randrange(len(data))
        how = rng.choice(("flip", "drop", "cut", "copy", "insert"))
        if how == "drop":
            path.unlink()
        elif how == "copy":
            path.write_bytes(files[other])
        elif how == "flip":
            data[at] ^= 1 << rng.randrange(8)
            path.write_bytes(data)
        elif how == "cut":
            path.write_bytes(data[:at])
        else:
            path.write_bytes(data[:at] + b"x" + data[at:])
        found = verify_folder(root, kept)
        problems = [*found.problems, *(problem for chain in found.chains for problem in chain.problems)]
        assert found.status not in (Status.INTACT, Status.UNSIGNED), (how, path)
        assert any(path in problem.paths for problem in problems), (how, path, problems)
        path.write_bytes(files[path])
