"""Sealed keys on a terminal: private to their owner, and slower after every wrong try."""

from __future__ import annotations

import stat
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from checklist.people_samples import FOUNDED, FOUNDER, PASSPHRASE, PIN, PeopledShop

from preflight.checklist import key_folder as module
from preflight.checklist.key_folder import KeyFolder, TooSoonError, key_folder
from preflight.checklist.people import PersonError, WrongSecretError
from preflight.checklist.register import read_register
from preflight.checklist.secret import Secret
from preflight.checklist.signatory import signatory


@pytest.fixture
def peopled(tmp_path: Path) -> PeopledShop:
    return PeopledShop.founded(tmp_path / "shop", tmp_path / "keys")


def test_the_option_wins_over_the_variable_and_the_default_is_not_in_the_shop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert key_folder("here", {"PREFLIGHT_KEYS": "there"}) == Path("here")
    assert key_folder(None, {"PREFLIGHT_KEYS": "there"}) == Path("there")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    default = key_folder(None, {})
    assert default.name == "widebelt-preflight-keys"
    assert not default.exists()


def test_key_files_and_their_folder_are_their_owners_alone(peopled: PeopledShop) -> None:
    if sys.platform != "win32":
        assert stat.S_IMODE(peopled.keys.path.stat().st_mode) == 0o700
        assert [stat.S_IMODE(path.stat().st_mode) for path in peopled.keys.path.iterdir()] == [0o600]


def test_wrong_tries_have_to_wait_also_after_a_restart_and_a_right_one_clears_them(peopled: PeopledShop) -> None:
    key, now = peopled.signer(FOUNDER).key_id, FOUNDED
    for wait in ("Try again", "Try again", "Wait 2 s"):
        with pytest.raises(WrongSecretError, match=wait):
            peopled.keys.opened(key, FOUNDER, "not this one at all", now)
    again = KeyFolder(peopled.keys.path)
    with pytest.raises(TooSoonError, match="wait 1 s"):
        again.opened(key, FOUNDER, PASSPHRASE, now + timedelta(seconds=1))
    assert again.opened(key, FOUNDER, PASSPHRASE, now + timedelta(seconds=2)).key_id == key
    with pytest.raises(WrongSecretError, match="Try again"):
        again.opened(key, FOUNDER, "not this one at all", now + timedelta(seconds=3))


def test_a_key_that_is_not_on_this_terminal_is_said(peopled: PeopledShop) -> None:
    with pytest.raises(PersonError, match="not on this terminal"):
        peopled.keys.opened("k-" + "0" * 32, "D. Marrow", PIN, FOUNDED)


def test_a_secret_is_shown_by_no_print_of_it() -> None:
    assert PIN not in f"{Secret(PIN)} {Secret(PIN)!r} {[Secret(PIN)]}"


def test_a_crash_while_a_key_is_opened_leaves_no_secret_in_any_frame_of_its_report(
    peopled: PeopledShop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(person: object, secret: str) -> None:
        raise RuntimeError(f"a fault of a library, with {secret}")

    monkeypatch.setattr(module, "unlock", broken)
    with pytest.raises(PersonError) as caught:
        signatory(read_register(peopled.shop), peopled.keys, FOUNDER, Secret(PASSPHRASE), FOUNDED)
    error: BaseException | None = caught.value
    assert error is not None
    assert error.__cause__ is None
    assert error.__suppress_context__
    frame = error.__traceback__
    while frame is not None:
        if "tests" not in frame.tb_frame.f_code.co_filename:
            assert PASSPHRASE not in repr(frame.tb_frame.f_locals)
        frame = frame.tb_next
    assert PASSPHRASE not in str(error)


def test_a_retired_person_a_stranger_and_an_early_clock_are_refused_before_a_key_is_opened(
    peopled: PeopledShop,
) -> None:
    peopled.admit("D. Marrow", "operator", keep=True)
    register = read_register(peopled.shop)
    with pytest.raises(PersonError, match=r"Nobody of the name R\. Onslow"):
        signatory(register, peopled.keys, "R. Onslow", Secret(PIN), peopled.now)
    with pytest.raises(Exception, match="clock"):
        signatory(register, peopled.keys, "D. Marrow", Secret(PIN), FOUNDED)
    assert signatory(register, peopled.keys, "D. Marrow", Secret(PIN), peopled.now).role == "operator"
    peopled.change("retirement", "D. Marrow")
    with pytest.raises(PersonError, match="has retired"):
        signatory(read_register(peopled.shop), peopled.keys, "D. Marrow", Secret(PIN), peopled.now)


def test_a_key_under_anothers_name_is_not_opened(peopled: PeopledShop, tmp_path: Path) -> None:
    other = KeyFolder(tmp_path / "other")
    person = peopled.keys.person(peopled.signer(FOUNDER).key_id, FOUNDER)
    other.keep(replace(person, name="D. Marrow"))
    with pytest.raises(WrongSecretError):
        other.opened(person.key_id, "D. Marrow", PASSPHRASE, FOUNDED)
