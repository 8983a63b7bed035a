"""A person's sealed key: opened by its PIN alone, bound to its person, private on disk."""

from __future__ import annotations

import dataclasses
import stat
import sys
import tomllib
from typing import TYPE_CHECKING, Any

import pytest

from preflight.checklist.key_folder import KeyFolder
from preflight.checklist.people import (
    Cost,
    Person,
    PersonError,
    WrongSecretError,
    derive,
    enrol,
    from_table,
    seconds_to_wait,
    secret_fault,
    to_table,
    unlock,
)
from preflight.checklist.signing import Ed25519Signer, key_id, signature_fits

if TYPE_CHECKING:
    from pathlib import Path

SEED = bytes(range(32))
SALT = bytes(range(16))
NONCE = bytes(range(12))
PIN = "48190375"
CHEAP = Cost(n=2**15)
"""The least that is allowed, to keep the tests short."""


@pytest.fixture(scope="module")
def person() -> Person:
    return enrol("R. Onslow", "operator", PIN, seed=SEED, salt=SALT, nonce=NONCE, cost=CHEAP)


def test_the_right_pin_gives_a_signer_of_the_public_key(person: Person) -> None:
    signer = unlock(person, PIN)
    assert signer.key_id == person.key_id == key_id(person.public)
    assert signature_fits(person.public, signer.sign(b"released"), b"released")
    assert not signature_fits(person.public, signer.sign(b"released"), b"release")


def test_a_wrong_pin_is_refused_without_saying_more(person: Person) -> None:
    with pytest.raises(WrongSecretError, match=r"does not open the key of R\. Onslow") as caught:
        unlock(person, "48190376")
    assert "4819" not in str(caught.value)


@pytest.mark.parametrize(
    "change",
    [
        {"name": "T. Varga"},
        {"public": Ed25519Signer(bytes(32)).public},
        {"cost": Cost(n=2**15, p=2)},
        {"salt": bytes(16)},
        {"nonce": bytes(12)},
        {"sealed": bytes(48)},
    ],
)
def test_a_key_is_bound_to_its_person_its_id_and_its_parameters(person: Person, change: dict[str, Any]) -> None:
    with pytest.raises(WrongSecretError):
        unlock(dataclasses.replace(person, **change), PIN)


def test_a_sealed_key_is_scrypt_and_chacha20_poly1305_of_the_raw_key(person: Person) -> None:
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
    from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

    key = Scrypt(SALT, 32, n=2**15, r=8, p=1).derive(PIN.encode())
    bound_to = f"preflight/key/1\nR. Onslow\n{person.key_id}\nscrypt n=32768 r=8 p=1\n".encode()
    assert ChaCha20Poly1305(key).decrypt(NONCE, person.sealed, bound_to) == SEED


def test_the_default_cost_is_the_recommended_one_and_can_be_derived() -> None:
    """OWASP password storage cheat sheet, 17 Aug 2026: N = 2^17, r = 8, p = 1."""
    cost = Cost()
    assert (cost.n, cost.r, cost.p) == (2**17, 8, 1)
    assert len(derive(b"48190375", SALT, n=cost.n, r=cost.r, p=cost.p)) == 32


@pytest.mark.parametrize(
    ("n", "r", "p"),
    [(2**14, 8, 1), (2**21, 8, 1), (2**17 + 1, 8, 1), (2**17, 7, 1), (2**17, 17, 1), (2**17, 8, 0), (2**17, 8, 9)],
)
def test_parameters_out_of_bounds_are_refused_in_code_and_in_a_file(person: Person, n: int, r: int, p: int) -> None:
    with pytest.raises(ValueError, match="out of bounds"):
        Cost(n, r, p)
    table = to_table(person)
    table["key"] |= {"n": n, "r": r, "p": p}
    with pytest.raises(PersonError, match="out of bounds"):
        from_table(table)


def test_a_person_reads_back_from_the_file_that_only_the_owner_can_read(person: Person, tmp_path: Path) -> None:
    keys = KeyFolder(tmp_path / "keys")
    path = keys.keep(person)
    assert from_table(tomllib.loads(path.read_text())) == person
    if sys.platform != "win32":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    before = path.read_bytes()
    with pytest.raises(PersonError, match="File exists"):
        keys.keep(person)
    assert path.read_bytes() == before


def test_neither_pin_nor_private_key_stands_in_a_file_or_in_a_print_of_the_objects(person: Person) -> None:
    shown = f"{person!r} {to_table(person)!r} {unlock(person, PIN)!r} {vars(unlock(person, PIN))!r}"
    assert PIN not in shown
    assert SEED.hex() not in shown
    assert repr(SEED)[2:-1] not in shown


@pytest.mark.parametrize(
    "change",
    [
        {"schema": 2},
        {"name": ""},
        {"name": "R. Onslow\nlead"},
        {"role": "owner"},
        {"public": "AAAA"},
        {"public": 7},
        {"extra": 1},
        {"key": {}},
        {"key.kdf": "pbkdf2"},
        {"key.cipher": "none"},
        {"key.n": "131072"},
        {"key.n": True},
        {"key.salt": "####"},
        {"key.nonce": "AAAA"},
        {"key.sealed": "é"},
    ],
)
def test_a_damaged_key_file_is_refused_in_words(person: Person, change: dict[str, Any]) -> None:
    table = to_table(person)
    for key, value in change.items():
        if key.startswith("key."):
            table["key"][key.removeprefix("key.")] = value
        else:
            table[key] = value
    with pytest.raises(PersonError):
        from_table(table)


@pytest.mark.parametrize(
    "pin", ["1234567", "4819037a", "12345678", "98765432", "00000000", "٤٨١٩٠٣٧٥", "4819 0375", ""]
)
def test_a_poor_pin_is_refused_and_told_why(pin: str) -> None:
    assert secret_fault("operator", pin)
    with pytest.raises(PersonError, match="PIN"):
        enrol("R. Onslow", "operator", pin, seed=SEED, salt=SALT, nonce=NONCE, cost=CHEAP)


def test_a_lead_has_a_passphrase_in_any_spelling_of_its_letters() -> None:
    assert secret_fault("lead", PIN)
    assert secret_fault("lead", "aaaaaaaaaaaaaaaa")
    lead = enrol("T. Varga", "lead", "café table ash oak", seed=SEED, salt=SALT, nonce=NONCE, cost=CHEAP)
    assert unlock(lead, "cafe\u0301 table ash oak").public == lead.public


def test_a_seed_salt_or_nonce_of_a_wrong_length_is_refused() -> None:
    for seed, salt, nonce in ((SEED[1:], SALT, NONCE), (SEED, b"", NONCE), (SEED, SALT, bytes(24))):
        with pytest.raises(ValueError, match="32 bytes"):
            enrol("R. Onslow", "operator", PIN, seed=seed, salt=salt, nonce=nonce, cost=CHEAP)


def test_wrong_tries_slow_down() -> None:
    waits = [seconds_to_wait(tries) for tries in range(15)]
    assert waits[:3] == [0, 0, 0]
    assert waits == sorted(waits)
    assert waits[-1] == 300
