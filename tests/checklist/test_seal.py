"""The exact bytes of a seal, and a reader that accepts no others."""

from __future__ import annotations

import base64
import hashlib
import tomllib

import pytest
from checklist.record_samples import MACHINE, record_body, signer

from preflight.checklist.seal import NO_PREVIOUS, SealError, is_machine_id, read_seal, seal

BODY = record_body("record-0001")


def sealed(body: bytes = BODY, *, signed: bool = True, sequence: int = 7, previous: str = "ab" * 32) -> bytes:
    by = signer("R. Onslow") if signed else None
    return seal(body, machine=MACHINE, sequence=sequence, previous=previous, signer=by)


def test_an_unsigned_record_has_exactly_these_bytes() -> None:
    expected = (
        BODY
        + (
            "\n[seal]\nlayout = 1\n"
            f'machine = "{MACHINE}"\nsequence = 7\nprevious = "{"ab" * 32}"\n'
            f'body_bytes = {len(BODY)}\nbody_sha256 = "{hashlib.sha256(BODY).hexdigest()}"\n'
            'key_id = ""\nsignature = ""\n'
        ).encode()
    )
    assert sealed(signed=False) == expected


def test_the_signature_covers_the_prefix_and_every_byte_before_its_own_line() -> None:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    data = sealed()
    before, line = data.rsplit(b"\nsignature = ", 1)
    Ed25519PublicKey.from_public_bytes(signer("R. Onslow").public).verify(
        base64.b64decode(line.strip(b'"\n'), validate=True), b"preflight/record/1\n" + before + b"\n"
    )
    assert read_seal(data).signed == b"preflight/record/1\n" + before + b"\n"


def test_a_record_reads_back_as_it_was_sealed_and_is_toml_as_a_whole() -> None:
    data = sealed()
    record = read_seal(data)
    assert (record.machine, record.sequence, record.previous) == (MACHINE, 7, "ab" * 32)
    assert record.body == BODY
    assert record.key_id == signer("R. Onslow").key_id
    assert record.sha256 == hashlib.sha256(data).hexdigest()
    assert tomllib.loads(data.decode())["seal"]["signature"] == base64.b64encode(record.signature).decode()


def test_the_largest_seal_fits_the_kilobyte_that_is_looked_at() -> None:
    machine = "m-" + "a" * 62
    data = seal(BODY, machine=machine, sequence=99_999_999, previous="f" * 64, signer=signer("X"))
    assert read_seal(data).machine == machine
    assert len(data) - len(BODY) < 600


def test_a_seal_in_the_text_of_a_body_is_not_taken_for_the_seal() -> None:
    fake = sealed(signed=False)[len(BODY) :].decode()
    body = record_body("record-0002", text=fake)
    assert read_seal(sealed(body)).body == body


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: b"", "empty"),
        (lambda data: data[:-1], "end of the file is missing"),
        (lambda data: data + b"\n", "added after the seal"),
        (lambda data: data + b"x = 1\n", "added after the seal"),
        (lambda data: data[: len(data) // 2], "missing"),
        (lambda data: data.replace(b"\n", b"\r\n"), "Line endings were changed (first at byte"),
        (lambda data: b"\xef\xbb\xbf" + data, "bytes were added or removed"),
        (lambda data: data.replace(b"even", b"uneven"), "bytes were added or removed"),
        (lambda data: data.replace(b"even", b"evem"), "was changed"),
        (lambda data: data.replace(b"layout = 1", b"layout = 2"), "seal at the end of the file was changed"),
        (lambda data: data.replace(b"sequence = 7", b"sequence = 07"), "was changed"),
        (lambda data: data.replace(b"sequence = 7", b"sequence = 0"), "was changed"),
        (lambda data: data.replace(b"sequence = 7", b"sequence = 1"), "link does not fit its number"),
        (lambda data: data.replace(b"sequence = 7", b"sequence  = 7"), "was changed"),
        (lambda data: data.replace(b"abab", b"ABab", 1), "was changed"),
        (lambda data: data.replace(MACHINE.encode(), b"../m-1"), "seal at the end of the file was changed"),
        (lambda data: data[: data.rindex(b'"k-')] + b'""' + data[data.rindex(b"\nsig") :], "without a key"),
    ],
)
def test_a_changed_record_is_refused_and_the_message_says_where(change: object, words: str) -> None:
    assert callable(change)
    with pytest.raises(SealError) as caught:
        read_seal(change(sealed()))
    assert words in caught.value.message
    assert caught.value.exit_status == 2


def test_only_one_spelling_of_a_signature_is_read() -> None:
    data = sealed()
    last = data[-5:-4]  # the digit before ==, of which base64 leaves four bits unused
    digits = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
    other = digits[digits.index(last) + 1 : digits.index(last) + 2]
    respelt = data[:-5] + other + data[-4:]
    assert base64.b64decode(respelt[-90:-2]) == base64.b64decode(data[-90:-2])  # same 64 bytes to a lax reader
    with pytest.raises(SealError):
        read_seal(respelt)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"\n",
        b"a = 1",
        b"a = 1\n\n",
        b"a = 1\r\n",
        b"\xef\xbb\xbfa = 1\n",
        b"a = '\xff'\n",
    ],
)
def test_a_body_out_of_layout_is_neither_sealed_nor_read(body: bytes) -> None:
    with pytest.raises(ValueError, match="body"):
        seal(body, machine=MACHINE, sequence=1, previous=NO_PREVIOUS, signer=None)
    good = seal(b"a = 1\n", machine=MACHINE, sequence=1, previous=NO_PREVIOUS, signer=None)
    forged = body + good[6:].replace(b"body_bytes = 6", b"body_bytes = %d" % len(body)).replace(
        hashlib.sha256(b"a = 1\n").hexdigest().encode(), hashlib.sha256(body).hexdigest().encode()
    )
    with pytest.raises(SealError):
        read_seal(forged)


def test_a_number_a_link_or_a_machine_that_does_not_fit_is_not_sealed() -> None:
    for machine, sequence, previous in [
        ("M-1", 2, "0" * 63 + "1"),
        ("m--1", 2, "ab" * 32),
        ("../m", 2, "ab" * 32),
        ("con", 2, "ab" * 32),
        (MACHINE, 0, NO_PREVIOUS),
        (MACHINE, 10**8, "ab" * 32),
        (MACHINE, 1, "ab" * 32),
        (MACHINE, 2, NO_PREVIOUS),
        (MACHINE, 2, "AB" * 32),
    ]:
        with pytest.raises(ValueError):
            seal(BODY, machine=machine, sequence=sequence, previous=previous, signer=None)


def test_a_signer_with_a_wrong_name_or_a_short_signature_is_refused() -> None:
    class Bad:
        def __init__(self, key_id: str, signature: bytes) -> None:
            self.key_id = key_id
            self.signature = signature

        def sign(self, message: bytes) -> bytes:
            return self.signature

    for bad in (Bad("somebody", bytes(64)), Bad("k-" + "0" * 32, bytes(63))):
        with pytest.raises(ValueError):
            seal(BODY, machine=MACHINE, sequence=2, previous="ab" * 32, signer=bad)


def test_a_machine_id_can_name_a_folder_on_any_system() -> None:
    assert is_machine_id(MACHINE)
    for bad in ("", "a" * 65, "-a", "a-", "a/b", "a.b", "A", "nul", "com1", "é", "a\n"):
        assert not is_machine_id(bad)


def test_a_huge_file_is_refused_before_it_is_looked_at() -> None:
    with pytest.raises(SealError, match="more than any record"):
        read_seal(bytes(4 * 2**20 + 1))
