"""The draft: on disk at every change, held by one terminal, never thrown away unread."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import time
from typing import TYPE_CHECKING, Any

import pytest
from checklist.record_samples import MACHINE

from preflight.checklist.draft import Draft, DraftError, DraftHeldError, Holder
from preflight.disk import Folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

ME = Holder(who="R. Onslow", host="bay-two", pid=4711, since="25 Nov 06:52")


@pytest.fixture(autouse=True)
def close_all(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Draft]]:
    """Close what a test leaves open: its lock and its thread."""
    opened: list[Draft] = []
    real = Draft._read

    def remember(self: Draft, files: Folder) -> None:
        opened.append(self)
        real(self, files)

    monkeypatch.setattr(Draft, "_read", remember)
    yield opened
    for draft in opened:
        draft.close()


def reopen(folder: Path) -> Draft:
    draft = Draft.open(folder, MACHINE, ME, sync_seconds=0.01)
    draft.close()
    return draft


def kill(draft: Draft) -> None:
    """What is left of a terminal after a kill: its lock is gone, nothing else was done."""
    assert draft._lock is not None
    draft._lock.close()


def safe_copy(folder: Path) -> Path:
    return folder / f".{MACHINE}.safe.json"


def wait_for(path: Path, text: bytes) -> None:
    deadline = time.monotonic() + 5
    while not (path.exists() and text in path.read_bytes()):
        assert time.monotonic() < deadline, f"{path} never held {text!r}"
        time.sleep(0.005)


def test_there_is_no_draft_before_the_first_change(tmp_path: Path) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME)
    assert draft.content is None
    assert not draft.path.exists()


def test_a_change_is_on_disk_when_it_returns(tmp_path: Path) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=60)
    content = {"tension": {"1": "4.", "2": None}, "glue": [True, 1, 0.1, "é\n\x00\ud800"], "at": "2026-11-25"}
    draft.change(content)
    draft.change(content | {"tension": {"1": "4.3 bar"}})
    kill(draft)
    assert reopen(tmp_path).content == content | {"tension": {"1": "4.3 bar"}}


def test_a_draft_is_resumed_after_closing(tmp_path: Path) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME)
    draft.change({"a": "1"})
    draft.close()
    again = Draft.open(tmp_path, MACHINE, ME)
    assert (again.content, again.notices) == ({"a": "1"}, ())
    again.change({"a": "12"})
    again.close()
    assert reopen(tmp_path).content == {"a": "12"}


def test_two_machines_have_two_drafts(tmp_path: Path) -> None:
    one, two = Draft.open(tmp_path, MACHINE, ME), Draft.open(tmp_path, "m-other", ME)
    one.change({"a": 1})
    two.change({"a": 2})
    assert json.loads(one.path.read_bytes())["content"] == {"a": 1}


def test_a_discarded_draft_is_gone_and_so_is_its_copy(tmp_path: Path) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=0.01)
    draft.change({"a": "1"})
    wait_for(safe_copy(tmp_path), b'"1"')
    draft.change({"a": "12"})
    draft.discard()
    assert sorted(path.name for path in tmp_path.iterdir()) == [f".{MACHINE}.lock"]
    assert reopen(tmp_path).content is None


def test_a_second_terminal_is_told_who_has_the_draft(tmp_path: Path) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME)
    with pytest.raises(DraftHeldError, match=r"R\. Onslow on bay-two since 25 Nov 06:52 \(process 4711\)") as caught:
        Draft.open(tmp_path, MACHINE, Holder("T. Varga", "office", 1, "25 Nov 06:53"))
    assert caught.value.holder == ME
    draft.close()
    Draft.open(tmp_path, MACHINE, Holder("T. Varga", "office", 1, "25 Nov 06:53"))


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"who": 1, "x": 2}'])
def test_a_holder_that_cannot_be_read_still_holds(tmp_path: Path, content: bytes) -> None:
    Draft.open(tmp_path, MACHINE, ME)
    (tmp_path / f".{MACHINE}.lock").write_bytes(content)
    with pytest.raises(DraftHeldError, match="another terminal") as caught:
        Draft.open(tmp_path, MACHINE, ME)
    assert caught.value.holder is None


def test_a_folder_without_locks_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import fcntl

    def refuse(file: object, how: int) -> None:
        raise OSError(errno.ENOLCK, "no locks")

    monkeypatch.setattr(fcntl, "flock", refuse)
    assert "on one terminal only" in Draft.open(tmp_path, MACHINE, ME).notices[0]


@pytest.mark.parametrize(
    "torn",
    [
        b"",
        bytes(300),
        b'{"layout": 1, "mach',
        b"\xff\xfe",
        b"[" * 100_000,
        b"[]",
        b'{"layout": 2, "machine": "m-7f3a91c2d04e", "changes": 1, "content": {}}',
        b'{"layout": 1, "machine": "m-someone-else", "changes": 1, "content": {}}',
        b'{"layout": 1, "machine": "m-7f3a91c2d04e", "changes": true, "content": {}}',
        b'{"layout": 1, "machine": "m-7f3a91c2d04e", "changes": 1, "content": []}',
    ],
)
def test_a_torn_draft_is_set_aside_and_said_and_never_deleted(tmp_path: Path, torn: bytes) -> None:
    path = tmp_path / f"{MACHINE}.json"
    for number in (1, 2):
        path.write_bytes(torn)
        draft = reopen(tmp_path)
        assert draft.content is None
        assert draft.notices == (f"A draft could not be read. It was kept as {path.name}.unreadable-{number}.",)
        assert path.with_name(f"{path.name}.unreadable-{number}").read_bytes() == torn
    assert not path.exists()


def test_the_copy_of_a_moment_before_stands_in_for_a_torn_draft(tmp_path: Path) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=0.01)
    draft.change({"a": "1"})
    draft.close()
    draft.path.write_bytes(b"")
    again = Draft.open(tmp_path, MACHINE, ME)
    assert again.content == {"a": "1"}
    assert "check the last entries" in again.notices[-1]
    again.change({"a": "12"})
    kill(again)
    assert reopen(tmp_path).content == {"a": "12"}


def test_the_newer_of_draft_and_copy_is_taken(tmp_path: Path) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=0.01)
    draft.change({"a": "old"})
    old = draft.path.read_bytes()
    draft.change({"a": "new"})
    draft.close()
    new = draft.path.read_bytes()
    for main, copy in ((old, new), (new, old)):  # a power cut may bring back an older name
        draft.path.write_bytes(main)
        safe_copy(tmp_path).write_bytes(copy)
        assert reopen(tmp_path).content == {"a": "new"}


def test_the_copy_waits_for_the_disk_at_most_once_in_the_interval_and_gets_the_last_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[bytes] = []
    real = Folder.replace

    def record(self: Folder, name: str, data: bytes, *, durable: bool = True) -> None:
        if durable:
            synced.append(data)
        real(self, name, data, durable=durable)

    monkeypatch.setattr(Folder, "replace", record)
    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=0.2)
    start = time.monotonic()
    for number in range(100):
        draft.change({"n": number})
        time.sleep(0.005)
    draft.close()
    assert 2 <= len(synced) <= (time.monotonic() - start) / 0.2 + 2
    assert json.loads(safe_copy(tmp_path).read_bytes())["content"] == {"n": 99}


def test_a_change_does_not_wait_for_the_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    callers: list[str] = []

    def record(handle: int) -> None:
        import threading

        callers.append(threading.current_thread().name)

    monkeypatch.setattr(os, "fsync", record)
    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=0.01)
    for number in range(20):
        draft.change({"n": number})
    draft.close()
    assert set(callers) == {"draft-safe-copy"}


def test_trouble_with_the_copy_is_said_and_goes_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=0.01)
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        draft.change({"a": "1"})
        deadline = time.monotonic() + 5
        while not draft.trouble:
            assert time.monotonic() < deadline
            time.sleep(0.005)
        assert "No space left" in draft.trouble
    draft.change({"a": "12"})
    wait_for(safe_copy(tmp_path), b'"12"')
    draft.close()
    assert draft.trouble == ""


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.ENOENT])
def test_a_change_that_cannot_be_written_is_said_and_the_one_before_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME, sync_seconds=60)
    draft.change({"a": "1"})

    def fail(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", fail)
        with pytest.raises(DraftError, match=os.strerror(code)):
            draft.change({"a": "12"})
    assert list(tmp_path.glob(f".{MACHINE}.json.*.tmp")) == []
    kill(draft)
    assert reopen(tmp_path).content == {"a": "1"}


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(DraftError, match="No such file"):
        Draft.open(tmp_path / "gone", MACHINE, ME)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), {1: 2}, (1, 2), b"x", {"a": [object()]}])
def test_a_value_that_would_not_read_back_is_refused(tmp_path: Path, value: Any) -> None:
    draft = Draft.open(tmp_path, MACHINE, ME)
    with pytest.raises(DraftError) as caught:
        draft.change({"a": value})
    assert caught.value.exit_status == 4
    assert not draft.path.exists()


def test_a_bad_machine_id_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="not a machine id"):
        Draft.open(tmp_path, "../x", ME)


def test_another_process_is_refused_while_we_hold_the_draft(tmp_path: Path) -> None:
    program = (
        "import sys, pathlib\n"
        "from preflight.checklist.draft import Draft, DraftHeldError, Holder\n"
        "try:\n"
        "    Draft.open(pathlib.Path(sys.argv[1]), sys.argv[2], Holder('T. Varga', 'office', 1, 'now')).close()\n"
        "except DraftHeldError as error:\n"
        "    print(error.holder.who)\n"
    )
    draft = Draft.open(tmp_path, MACHINE, ME)
    answers = []
    for _ in range(2):
        run = subprocess.run(
            [sys.executable, "-c", program, str(tmp_path), MACHINE], capture_output=True, text=True, check=True
        )
        answers.append(run.stdout)
        draft.close()
    assert answers == ["R. Onslow\n", ""]
