"""Laws of saved records: what is written reads back, and no single byte changes unseen."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
import tomllib
from datetime import UTC, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from checklist.record_samples import record_body
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.checklist.body import write_body
from preflight.checklist.body_reader import BodyError, read_body
from preflight.checklist.chain import Chain
from preflight.checklist.draft import Draft, Holder
from preflight.checklist.seal import NO_PREVIOUS, SealError, read_seal, seal
from preflight.checklist.signing import AdmittedKey, Ed25519Signer
from preflight.checklist.verify import Status, verify_chain, verify_record

MACHINE = "m-7f3a91c2d04e"
PERSON = Ed25519Signer(hashlib.sha256(b"R. Onslow").digest())

texts = st.text(st.characters(exclude_categories=["Cs"]))
offsets = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
numbers = st.integers(-(2**63), 2**63 - 1) | st.floats(allow_nan=False, allow_infinity=False)
moments = st.datetimes(timezones=st.none() | offsets) | st.dates() | st.times()
scalars = texts | numbers | st.booleans() | moments
values = st.recursive(scalars, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4))
awkward = (
    st.none() | st.floats() | st.integers() | st.binary() | st.text() | st.times(timezones=st.just(UTC)) | st.decimals()
)
documents = st.dictionaries(texts.filter(lambda key: key != "seal"), values, min_size=1, max_size=5)


def kinds(item: Any) -> Any:
    """Types and values; `True == 1 == 1.0` would hide a difference."""
    if isinstance(item, dict):
        return {key: kinds(inner) for key, inner in item.items()}
    return [kinds(inner) for inner in item] if isinstance(item, list) else (type(item), item)


class Keys:
    def find(self, key_id: str) -> AdmittedKey | None:
        return AdmittedKey(PERSON.public, "R. Onslow") if key_id == PERSON.key_id else None


@given(documents)
def test_a_body_reads_back_as_it_was_written(document: dict[str, Any]) -> None:
    body = write_body(document)
    back = read_body(body)
    assert back == document
    assert write_body(back) == body
    assert b"\r" not in body
    assert body.endswith(b"\n")
    assert not body.endswith(b"\n\n")


@given(values | st.recursive(awkward, st.lists))
def test_a_value_is_written_or_refused_with_its_key_and_never_fails_otherwise(value: Any) -> None:
    try:
        body = write_body({"a": {"b": value}})
    except BodyError as error:
        body = b""
        message = error.message
    if body:
        assert read_body(body) == {"a": {"b": value}}
    else:
        assert "'a.b" in message


@given(documents)
def test_any_reader_of_toml_finds_the_same_values(document: dict[str, Any]) -> None:
    body = write_body(document)
    assert kinds(tomllib.loads(body.decode())) == kinds(read_body(body))


@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda text: f"{text}\n".encode()))
def test_any_bytes_are_a_body_that_reads_alike_or_are_refused(body: bytes) -> None:
    try:
        document = read_body(body)
    except BodyError:
        return
    assert kinds(tomllib.loads(body.decode())) == kinds(document)


@given(documents, st.integers(1, 99_999_999), st.binary(min_size=32, max_size=32), st.booleans())
def test_a_sealed_record_reads_back_as_it_was_sealed(
    document: dict[str, Any], sequence: int, digest: bytes, signed: bool
) -> None:
    body = write_body(document)
    previous = NO_PREVIOUS if sequence == 1 else (digest.hex() if any(digest) else "ab" * 32)
    data = seal(body, machine=MACHINE, sequence=sequence, previous=previous, signer=PERSON if signed else None)
    record = read_seal(data)
    assert (record.body, record.sequence, record.previous) == (body, sequence, previous)
    assert record.sha256 == hashlib.sha256(data).hexdigest()
    assert bool(record.key_id) == bool(record.signature) == signed
    assert seal(body, machine=MACHINE, sequence=sequence, previous=previous, signer=PERSON if signed else None) == data


@given(st.binary(max_size=2000))
def test_any_bytes_are_a_record_or_a_seal_error(data: bytes) -> None:
    with pytest.raises(SealError):
        read_seal(data)


@pytest.fixture(scope="module")
def signed_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    body = record_body("record-0001", "scraped \u2713")
    path = tmp_path_factory.mktemp("one") / "record.toml"
    path.write_bytes(seal(body, machine=MACHINE, sequence=2, previous="ab" * 32, signer=PERSON))
    assert verify_record(path, Keys()).status is Status.INTACT
    return path


def test_every_single_byte_changed_removed_or_inserted_in_a_signed_record_is_found(signed_file: Path) -> None:
    data = signed_file.read_bytes()
    changed = signed_file.with_name("changed.toml")

    def intact(altered: bytes) -> bool:
        changed.write_bytes(altered)
        return verify_record(changed, Keys()).status is not Status.WRONG

    for at in range(len(data) + 1):
        if at < len(data):
            for bits in (1 << at % 8, 0x20):  # 0x20 turns capitals into small letters and back
                assert not intact(data[:at] + bytes([data[at] ^ bits]) + data[at + 1 :]), (at, bits)
            assert not intact(data[:at] + data[at + 1 :]), at
        for extra in (b"\n", data[at : at + 1] or b'"'):
            assert not intact(data[:at] + extra + data[at:]), (at, extra)


def test_every_single_byte_changed_in_an_unsigned_chain_is_found_and_its_file_named() -> None:
    with tempfile.TemporaryDirectory() as name:
        chain = Chain(Path(name), MACHINE)
        previous = NO_PREVIOUS
        for sequence in (1, 2, 3):
            data = seal(
                record_body(f"record-000{sequence}"),
                machine=MACHINE,
                sequence=sequence,
                previous=previous,
                signer=None,
            )
            chain.path(sequence).parent.mkdir(parents=True, exist_ok=True)
            chain.path(sequence).write_bytes(data)
            previous = read_seal(data).sha256
        for sequence in (1, 2, 3):
            path = chain.path(sequence)
            data = path.read_bytes()
            for at in range(len(data)):
                for altered in (
                    data[:at] + bytes([data[at] ^ 1 + at % 255]) + data[at + 1 :],
                    data[:at] + data[at + 1 :],
                    data[:at] + b"7" + data[at:],
                ):
                    path.write_bytes(altered)
                    result = verify_chain(chain.folder, None)
                    assert result.status.exit_status == 2, (sequence, at)
                    assert any(path in problem.paths for problem in result.problems)
            path.write_bytes(data)
        assert verify_chain(chain.folder, None).problems == ()


plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
)


@settings(max_examples=50)
@given(st.lists(st.dictionaries(st.text(), plain, max_size=4), min_size=1, max_size=4))
def test_a_draft_reopens_with_its_last_change(contents: list[dict[str, Any]]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        draft = Draft.open(folder, MACHINE, Holder("R. Onslow", "bay-two", 1, "now"), sync_seconds=0)
        for content in contents:
            draft.change(content)
        draft.close()
        shutil.copytree(folder, folder / "copy")
        for missing in ("nothing", f"{MACHINE}.json", f".{MACHINE}.safe.json"):
            (folder / "copy" / missing).unlink(missing_ok=True)
            again = Draft.open(folder / "copy", MACHINE, Holder("T. Varga", "office", 2, "now"))
            assert again.content == contents[-1]
            again.close()
            shutil.copytree(folder, folder / "copy", dirs_exist_ok=True, ignore=lambda *_: ["copy"])


@given(values)
def test_every_value_keeps_its_type(value: Any) -> None:
    assert kinds(read_body(write_body({"a": value}))["a"]) == kinds(value)
