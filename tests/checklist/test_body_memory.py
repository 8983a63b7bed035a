"""What bodies say is remembered by their digest, outside the shop, and never believed where it is odd."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from checklist.record_samples import DAWN, MACHINE, PERSON, lay, signer, start_up_document, whole

from preflight.checklist import body_memory
from preflight.checklist.body import write_body
from preflight.checklist.body_memory import BodyMemory, memory_for
from preflight.checklist.chain import Chain
from preflight.checklist.heading import Heading, Signature, heading
from preflight.checklist.past import past
from preflight.checklist.record import Content
from preflight.checklist.register import Register
from preflight.checklist.seal import NO_PREVIOUS, Sealed, read_seal, seal

if TYPE_CHECKING:
    from pathlib import Path

AT = Signature(PERSON, "operator", "I made this check.", DAWN)
STOP = {"check": "running", "subject": "head 1 stop", "verdict": "stop", "statement": "14 s", "takes_override": False}
FINE = {**STOP, "verdict": "ok"}
BODY = write_body(
    {
        **start_up_document("record-0001", AT),
        "entries": [{"key": "tension.1", "text": "4.2", "at": DAWN, "earlier": [{"at": DAWN, "text": "42"}]}],
        "findings": [STOP, FINE, {**FINE, "subject": "repair head 1 stop"}],
        "limits": {"machine": {"name": "Bay two"}},
    }
)


def sealed(body: bytes = BODY, *, signed: bool = False) -> Sealed:
    by = signer(PERSON) if signed else None
    return read_seal(seal(body, machine=MACHINE, sequence=1, previous=NO_PREVIOUS, signer=by))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "cache" / "bodies.sqlite3"


def unread(monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on no body can be read."""

    def refuse(_body: bytes) -> Content:
        raise AssertionError("a body was read again")

    monkeypatch.setattr(body_memory, "read_content", refuse)


def content(memory: BodyMemory, record: Sealed) -> dict[str, Any]:
    found = memory.content(record)
    assert isinstance(found, Content)
    return dict(found.document)


def test_a_body_is_read_once_whoever_asks(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with BodyMemory(path) as memory:
        first = content(memory, sealed())
    unread(monkeypatch)
    with BodyMemory(path) as memory:
        assert memory.heading(sealed()) == Heading("startup", "record-0001", PERSON, "operator", DAWN)
        assert content(memory, sealed()) == first


def test_a_refusal_is_remembered_too(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    odd = sealed(b'["record"]\nkind = "startup"\n')
    with BodyMemory(path) as memory:
        why = memory.heading(odd)
    unread(monkeypatch)
    with BodyMemory(path) as memory:
        assert isinstance(why, str)
        assert (memory.heading(odd), memory.content(odd)) == (why, why)


def test_what_is_kept_of_a_record_is_short_and_of_the_same_types(path: Path) -> None:
    for _ in range(2):  # from the body, then from the file
        with BodyMemory(path) as memory:
            short = content(memory, sealed())
        assert short["entries"] == [{"key": "tension.1", "text": "4.2", "at": DAWN}]
        assert [found["subject"] for found in short["findings"]] == ["head 1 stop", "repair head 1 stop"]
        assert "limits" not in short
        assert short["at"] == DAWN


def test_history_is_the_same_with_and_without_a_memory(tmp_path: Path, path: Path) -> None:
    chain = Chain(tmp_path, MACHINE)
    for number, kind in enumerate(("startup", "run", "repair", "held", "startup")):
        at = Signature(PERSON, "operator", "As it says.", datetime(2026, 11, 25, 6, number, tzinfo=UTC))
        more = {"findings": [STOP, FINE]} if kind in ("startup", "held") else {}
        lay(chain, write_body(whole({"record": heading(kind, f"record-{number:04d}", at), **more})))
    plain = past(tmp_path, MACHINE, Register())
    for _ in range(2):
        with BodyMemory(path) as memory:
            remembered = past(tmp_path, MACHINE, Register(), memory)
        assert remembered.history() == plain.history()
        assert (remembered.facts(), remembered.references) == (plain.facts(), plain.references)


def test_another_signature_under_the_same_body_is_another_record(path: Path) -> None:
    with BodyMemory(path) as memory:
        memory.content(sealed())
        assert memory.content(sealed(signed=True)) == memory.content(sealed())
    assert sealed().sha256 != sealed(signed=True).sha256


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE bodies SET heading = replace(heading, 'operator', 'lead')",
        "UPDATE bodies SET short = replace(short, 'stop', 'ok')",
        "UPDATE bodies SET heading = '[1, 2]', mark = ''",
        "UPDATE bodies SET heading = NULL",
        "UPDATE bodies SET heading = x'00ff', short = 7",
        "DROP TABLE bodies",
        "DROP TABLE bodies; CREATE TABLE bodies (sha256 TEXT PRIMARY KEY)",
        "PRAGMA user_version = 99",
    ],
)
def test_what_was_changed_in_it_is_read_again(path: Path, change: str) -> None:
    with BodyMemory(path) as memory:
        first = content(memory, sealed())
    connection = sqlite3.connect(path)
    connection.executescript(change)
    connection.commit()
    connection.close()
    with BodyMemory(path) as memory:
        assert memory.heading(sealed()) == Heading("startup", "record-0001", PERSON, "operator", DAWN)
        assert content(memory, sealed()) == first


def test_bytes_that_are_no_database_are_begun_anew(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path.parent.mkdir(mode=0o700)
    path.write_bytes(b"no database at all" * 1000)
    path.chmod(0o600)
    with BodyMemory(path) as memory:
        content(memory, sealed())
    unread(monkeypatch)
    with BodyMemory(path) as memory:
        content(memory, sealed())


def test_where_others_can_write_nothing_is_believed_or_kept(path: Path, tmp_path: Path) -> None:
    with BodyMemory(path) as memory:
        content(memory, sealed())
    before = path.read_bytes()
    for spoil, mend in ((path, 0o644), (path.parent, 0o700)):
        spoil.chmod(0o777)
        with BodyMemory(path) as memory:
            other = write_body(start_up_document("record-0002", AT))
            assert memory.heading(sealed(other)) == Heading("startup", "record-0002", PERSON, "operator", DAWN)
        assert path.read_bytes() == before
        spoil.chmod(mend)
    elsewhere = tmp_path / "elsewhere.sqlite3"
    path.rename(elsewhere)
    path.symlink_to(elsewhere)
    with BodyMemory(path) as memory:
        content(memory, sealed(write_body(start_up_document("record-0003", AT))))
    assert elsewhere.read_bytes() == before


def test_it_never_lies_in_the_shop(tmp_path: Path) -> None:
    with memory_for(tmp_path, tmp_path / "cache") as memory:
        content(memory, sealed())
    assert not (tmp_path / "cache").exists()
    with memory_for(tmp_path / "shop", tmp_path / "cache") as memory:
        content(memory, sealed())
    assert (tmp_path / "cache").is_dir()


def test_a_signature_is_checked_once_for_a_key_and_only_what_fits_is_noted(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record, key, other = sealed(signed=True), signer(PERSON).public, signer("somebody else").public
    with BodyMemory(path) as memory:
        assert (memory.fits(record, key), memory.fits(record, other)) == (True, False)

    def refuse(_sealed: Sealed, _public: bytes) -> bool:
        raise AssertionError("a signature was checked again")

    monkeypatch.setattr(body_memory, "signature_of", refuse)
    with BodyMemory(path) as memory:
        assert memory.fits(record, key)
        for public in (other, b"", key[:-1]):
            with pytest.raises(AssertionError, match="again"):
                memory.fits(record, public)
    connection = sqlite3.connect(path)
    connection.execute("UPDATE signed SET sha256 = ?", (sealed().sha256,))
    connection.commit()
    connection.close()
    with BodyMemory(path) as memory, pytest.raises(AssertionError, match="again"):
        memory.fits(sealed(), key)
