"""Saving a record: whole under its number, or not there at all and said why."""

from __future__ import annotations

import ctypes
import errno
import os
import resource
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from checklist.record_samples import MACHINE, TOKEN, chain_of, record_body, save, signer

from preflight.checklist import lock
from preflight.checklist.chain import Chain, ChainError, relative_path
from preflight.checklist.seal import NO_PREVIOUS, read_seal
from preflight.checklist.store import GIT_RULE, StoreError, commit, prepare_shop, sweep
from preflight.checklist.verify import Status, verify_chain
from preflight.disk import Folder
from preflight.publishing import rename_on_windows

if TYPE_CHECKING:
    from preflight.checklist.chain import Head


def files(chain: Chain) -> list[str]:
    return sorted(str(p.relative_to(chain.folder)) for p in chain.folder.rglob("*") if p.is_file())


def again(chain: Chain, number: int, since: int | None) -> Any:
    """Save the record of `save(chain, number)` once more, as after a restart."""
    name = f"record-{number:08d}-even"
    return commit(chain, lambda _head: record_body(name), record_id=name, signer=None, token=TOKEN, since=since)


def test_the_path_is_a_function_of_the_number_alone() -> None:
    chain = Chain(Path("/shop"), MACHINE)
    for number, path in {
        1: "00000/00000001.toml",
        999: "00000/00000999.toml",
        1000: "00001/00001000.toml",
        12_345_678: "12345/12345678.toml",
        99_999_999: "99999/99999999.toml",
    }.items():
        assert chain.path(number) == Path("/shop/checklists", MACHINE, path)
        assert relative_path(number) == Path(path)


def test_records_are_numbered_from_one_and_each_names_the_file_before(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 3)
    assert files(chain) == [".lock"] + [f"00000/0000000{n}.toml" for n in (1, 2, 3)]
    previous = NO_PREVIOUS
    for number in (1, 2, 3):
        record = read_seal(chain.path(number).read_bytes())
        assert (record.sequence, record.previous) == (number, previous)
        previous = record.sha256
    assert (chain.head().sequence, chain.head().sha256) == (3, previous)


def test_looking_at_a_chain_creates_nothing(tmp_path: Path) -> None:
    chain = Chain(tmp_path, MACHINE)
    assert chain.head().sequence == 0
    assert list(tmp_path.iterdir()) == []


def test_the_head_is_found_over_an_empty_folder_and_over_files_that_are_none_of_ours(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2)
    (chain.folder / "00001").mkdir()
    (chain.folder / "00000" / ".half.tmp").write_bytes(b"x")
    (chain.folder / "00000" / "00000003 (copy).toml").write_bytes(b"x")
    (chain.folder / "00000" / "00001003.toml").write_bytes(b"x")
    (chain.folder / "notes").mkdir()
    assert chain.head().sequence == 2


def test_the_thousandth_record_opens_the_next_folder(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 1)
    here, there = chain.path(1), chain.path(999)
    from preflight.checklist.seal import seal

    here.unlink()
    there.write_bytes(seal(record_body("r-00000999"), machine=MACHINE, sequence=999, previous="ab" * 32, signer=None))
    assert save(chain, 1000).path == chain.folder / "00001" / "00001000.toml"
    assert save(chain, 1001).head.sequence == 1001


def test_the_shop_keeps_version_control_from_touching_line_endings(tmp_path: Path) -> None:
    attributes = tmp_path / ".gitattributes"
    prepare_shop(tmp_path)
    assert attributes.read_text() == "checklists/** -text\n"
    attributes.write_text("*.png binary")
    prepare_shop(tmp_path)
    prepare_shop(tmp_path)
    assert attributes.read_text() == f"*.png binary\n{GIT_RULE}\n"


def test_a_shop_folder_that_is_not_there_is_not_begun_anew(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="holds no folder") as caught:
        save(Chain(tmp_path / "unmounted", MACHINE), 1)
    assert "draft is kept" in caught.value.hint
    assert list(tmp_path.iterdir()) == []


def test_when_another_terminal_was_faster_the_record_is_built_and_signed_anew(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 1)
    heads: list[int] = []

    def body(head: Head) -> bytes:
        heads.append(head.sequence)
        if len(heads) < 4:  # somebody without our lock takes the number we are about to use
            _save_without_lock(chain, 100 + len(heads))
        return record_body("record-late")

    by = signer("R. Onslow")
    saved = commit(chain, body, record_id="record-late", signer=by, token=TOKEN)
    assert heads == [1, 2, 3, 4]
    assert saved.head.sequence == 5
    assert read_seal(saved.path.read_bytes()).key_id == by.key_id
    assert [p.status for p in verify_chain(chain.folder, None).problems] == [Status.CANNOT_CHECK]
    assert not list(chain.folder.rglob("*.tmp"))


def _save_without_lock(chain: Chain, number: int) -> None:
    from preflight.checklist.seal import seal

    head = chain.head()
    data = seal(
        record_body(f"record-{number:08d}"),
        machine=MACHINE,
        sequence=head.sequence + 1,
        previous=head.sha256,
        signer=None,
    )
    chain.path(head.sequence + 1).write_bytes(data)


def test_an_existing_record_is_never_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chain = chain_of(tmp_path, 2)
    before = chain.path(2).read_bytes()
    old = chain.head()
    calls = iter([Chain(tmp_path, MACHINE).read_head(1)])
    monkeypatch.setattr(Chain, "head", lambda self, accept_damaged=False: next(calls, old))  # a stale listing
    assert save(chain, 3).head.sequence == 3
    assert chain.path(2).read_bytes() == before


@pytest.mark.parametrize("since", [0, 1, 2])
def test_a_save_whose_answer_was_lost_is_recognised_by_its_id(tmp_path: Path, since: int) -> None:
    chain = chain_of(tmp_path, 5)
    before = files(chain)
    saved = again(chain, 3, since)
    assert saved.was_there
    assert (saved.head.sequence, saved.path) == (3, chain.path(3))
    assert files(chain) == before


def test_a_save_that_had_not_happened_is_made_after_the_restart(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2)
    saved = again(chain, 9, 2)
    assert not saved.was_there
    assert saved.head.sequence == 3


def test_records_seen_before_that_are_gone_stop_the_save(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2)
    with pytest.raises(StoreError, match="number 4 was there before"):
        again(chain, 9, 4)


def test_a_link_whose_answer_was_lost_counts_as_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chain = chain_of(tmp_path, 1)
    real = os.link

    def lossy(source: str, target: str, **where: Any) -> None:
        real(source, target, **where)
        raise OSError(errno.EIO, "answer lost")

    monkeypatch.setattr(os, "link", lossy)
    assert save(chain, 2).head.sequence == 2
    monkeypatch.undo()
    assert save(chain, 3).head.sequence == 3
    assert verify_chain(chain.folder, None).unsigned == 3


def test_a_save_that_got_through_before_the_folder_went_is_recognised_when_it_is_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop, elsewhere = tmp_path / "shop", tmp_path / "elsewhere"
    shop.mkdir()
    chain = chain_of(shop, 1)
    real = os.link

    def vanish(source: str, target: str, **where: Any) -> None:
        real(source, target, **where)
        shutil.move(shop, elsewhere)
        raise OSError(errno.ETIMEDOUT, "timed out")

    monkeypatch.setattr(os, "link", vanish)
    with pytest.raises(StoreError, match="not known whether"):
        save(chain, 2)
    monkeypatch.undo()
    shutil.move(elsewhere, shop)
    assert again(chain, 2, 1).was_there
    assert verify_chain(chain.folder, None).unsigned == 2


def without_links(monkeypatch: pytest.MonkeyPatch, code: int = errno.EPERM) -> None:
    def refuse(source: str, target: str, **where: Any) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, "link", refuse)


def test_without_hard_links_the_rename_that_never_replaces_is_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chain = chain_of(tmp_path, 1)
    without_links(monkeypatch)
    heads: list[int] = []

    def body(head: Head) -> bytes:
        heads.append(head.sequence)
        if len(heads) == 1:
            _save_without_lock(chain, 100)
        return record_body("record-late")

    saved = commit(chain, body, record_id="record-late", signer=None, token=TOKEN)
    assert (heads, saved.head.sequence) == ([1, 2], 3)
    assert verify_chain(chain.folder, None).status is Status.UNSIGNED
    assert not list(chain.folder.rglob("*.tmp"))


def test_a_folder_that_offers_no_safe_way_is_refused_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chain = chain_of(tmp_path, 1)
    without_links(monkeypatch)
    monkeypatch.setattr(ctypes, "CDLL", lambda *args, **options: object())
    with pytest.raises(StoreError, match="cannot publish a file without the risk of replacing") as caught:
        save(chain, 2)
    assert "hard links" in caught.value.hint
    assert files(chain) == [".lock", "00000/00000001.toml"]


def test_on_windows_a_rename_that_finds_the_name_taken_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def rename(source: str, target: str) -> None:  # as Windows does it
        if Path(target).exists():
            raise FileExistsError(errno.EEXIST, "exists")
        Path(source).replace(target)

    monkeypatch.setattr(os, "rename", rename)
    new, taken = tmp_path / "new", tmp_path / "taken"
    taken.write_bytes(b"old")
    for target, answer in ((taken, False), (tmp_path / "free", True)):
        new.write_bytes(b"new")
        assert rename_on_windows(str(new), str(target)) is answer
    assert taken.read_bytes() == b"old"


def test_a_file_larger_than_the_disk_has_room_for_leaves_nothing_and_says_so(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 1)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (300, hard))  # a write is cut short, as on a full disk
    try:
        with pytest.raises(StoreError, match="Not saved: the disk is full") as caught:
            save(chain, 2)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert "draft is kept" in caught.value.hint
    assert isinstance(caught.value.__cause__, OSError)
    assert files(chain) == [".lock", "00000/00000001.toml"]
    assert save(chain, 2).head.sequence == 2


@pytest.mark.parametrize(
    ("where", "code", "words"),
    [
        ("fsync", errno.ENOSPC, "disk is full"),
        ("fsync", errno.EIO, "Input/output error"),
        ("fsync", errno.ESTALE, "has gone"),
        ("link", errno.ENOSPC, "disk is full"),
        ("link", errno.EROFS, "cannot be written to"),
        ("link", errno.EACCES, "cannot be written to"),
        ("link", errno.ENOENT, "has gone"),
        ("link", errno.EIO, "Input/output error"),
    ],
)
def test_a_failure_of_the_disk_is_said_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str, code: int, words: str
) -> None:
    chain = chain_of(tmp_path, 1)

    def fail(*args: object, **where: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, where, fail)
    with pytest.raises(StoreError, match=words) as caught:
        save(chain, 2)
    assert "Nothing was saved and the draft is kept" in caught.value.hint
    monkeypatch.undo()
    assert files(chain) == [".lock", "00000/00000001.toml"]
    assert save(chain, 2).head.sequence == 2


def test_a_folder_that_cannot_be_written_to_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    chain = chain_of(tmp_path, 1)
    real = os.open

    def refuse(name: str, flags: int, mode: int = 0o777, *, dir_fd: int | None = None) -> int:
        if flags & os.O_CREAT:
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(name, flags, mode, dir_fd=dir_fd)

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(StoreError, match="cannot be written to"):
        save(chain, 2)
    assert chain.head().sequence == 1


@pytest.mark.parametrize("gone", ["shop", "checklists", "machine", "thousand"])
def test_a_folder_that_vanishes_between_writing_and_publishing_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, gone: str
) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    chain = chain_of(shop, 1)
    folder = {
        "shop": shop,
        "checklists": shop / "checklists",
        "machine": chain.folder,
        "thousand": chain.path(1).parent,
    }[gone]
    real = os.link

    def vanish(source: str, target: str, **where: Any) -> None:
        shutil.move(folder, tmp_path / "elsewhere")
        real(source, target, **where)

    monkeypatch.setattr(os, "link", vanish)
    with pytest.raises(StoreError, match="has gone while saving: it is not known") as caught:
        save(chain, 2)
    assert "draft is kept" in caught.value.hint
    monkeypatch.undo()
    shutil.move(tmp_path / "elsewhere", folder)
    assert again(chain, 2, 1).head.sequence == 2
    assert save(chain, 3).head.sequence == 3


def test_a_record_that_the_disk_may_not_have_yet_is_saved_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chain = chain_of(tmp_path, 1)

    def fail(folder: Folder) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(Folder, "sync", fail)
    saved = save(chain, 2)
    assert (saved.head.sequence, saved.durable) == (2, False)


def test_a_damaged_newest_record_stops_the_save_until_a_lead_goes_on_behind_it(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2)
    chain.path(2).write_bytes(chain.path(2).read_bytes().replace(b"even", b"evem"))
    with pytest.raises(ChainError, match=r"00000002\.toml, is not a whole record"):
        save(chain, 3)
    saved = commit(
        chain,
        lambda _head: record_body("record-0003"),
        record_id="record-0003",
        signer=None,
        token=TOKEN,
        accept_damaged=True,
    )
    assert saved.head.sequence == 3
    result = verify_chain(chain.folder, None)
    assert [(p.status, p.paths) for p in result.problems] == [(Status.WRONG, (chain.path(2),))]


def test_a_system_without_locks_saves_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import fcntl

    def refuse(file: object, how: int) -> None:
        raise OSError(errno.ENOLCK, "no locks")

    monkeypatch.setattr(fcntl, "flock", refuse)
    with (tmp_path / "any").open("wb") as file:
        assert lock.try_lock(file) is lock.Lock.NOT_OFFERED
    assert chain_of(tmp_path, 2).head().sequence == 2


def test_a_terminal_that_hangs_with_the_lock_does_not_stop_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("preflight.checklist.store._LOCK_POLLS", 3)
    chain = chain_of(tmp_path, 1)
    with (chain.folder / ".lock").open("ab") as held:
        assert lock.try_lock(held) is lock.Lock.HELD
        assert save(chain, 2).head.sequence == 2


def test_leftovers_of_a_kill_are_swept_after_a_day_and_nothing_else_is(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 2)
    now = datetime(2026, 11, 25, 6, tzinfo=UTC)
    old, young = (chain.folder / "00000" / name for name in (".old-0001.token.tmp", ".young-01.token.tmp"))
    for path, age in ((old, 25), (young, 23), (chain.path(1), 1000), (chain.path(2), 1000)):
        path.touch()
        moment = (now - timedelta(hours=age)).timestamp()
        os.utime(path, (moment, moment))
    assert sweep(chain, now) == 1
    assert files(chain) == [".lock", "00000/.young-01.token.tmp", "00000/00000001.toml", "00000/00000002.toml"]


def test_a_name_left_over_from_a_kill_after_publishing_is_only_a_second_name(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 1)
    left = chain.path(1).with_name(".record-00000001-even.token.tmp")
    os.link(chain.path(1), left)
    assert verify_chain(chain.folder, None).status is Status.UNSIGNED
    os.utime(left, (0, 0))
    assert sweep(chain, datetime(2026, 11, 25, tzinfo=UTC)) == 1
    assert verify_chain(chain.folder, None).unsigned == 1


def test_a_body_without_the_record_id_is_refused(tmp_path: Path) -> None:
    chain = chain_of(tmp_path, 1)
    with pytest.raises(ValueError, match="does not hold the record id"):
        commit(chain, lambda _: record_body("record-0002"), record_id="record-0009", signer=None, token=TOKEN)
    with pytest.raises(ValueError, match="8 to 64"):
        commit(chain, lambda _: record_body("../x"), record_id="../x", signer=None, token=TOKEN)
    assert files(chain) == [".lock", "00000/00000001.toml"]


def test_the_last_number_is_the_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("preflight.checklist.store.LAST_SEQUENCE", 2)
    chain = chain_of(tmp_path, 2)
    with pytest.raises(StoreError, match="no number after"):
        save(chain, 3)


def odd(path: Path, what: str) -> None:
    """Something under the name that is no file."""
    if what == "link":
        path.symlink_to(path.parent / "elsewhere")
    elif what == "pipe":
        os.mkfifo(path)
    else:
        path.mkdir()


@pytest.mark.parametrize("what", ["link", "pipe", "folder"])
def test_what_is_no_file_where_the_next_record_belongs_stops_the_save_by_name(tmp_path: Path, what: str) -> None:
    chain = chain_of(tmp_path, 2)
    odd(chain.path(3), what)
    with pytest.raises(ChainError, match=r"00000003\.toml, cannot be read: is not a file but a "):
        save(chain, 3)
    assert verify_chain(chain.folder, None).status is Status.WRONG
    chain.path(3).rmdir() if what == "folder" else chain.path(3).unlink()
    assert save(chain, 3).head.sequence == 3


@pytest.mark.parametrize("what", ["link", "pipe"])
@pytest.mark.parametrize("where", ["checklists", "machine", "thousand"])
def test_nothing_is_saved_behind_a_folder_that_is_none(tmp_path: Path, where: str, what: str) -> None:
    chain = chain_of(tmp_path, 1)
    folder = {"checklists": tmp_path / "checklists", "machine": chain.folder, "thousand": chain.path(1).parent}[where]
    folder.rename(tmp_path / "kept")
    if what == "link":
        folder.symlink_to(tmp_path / "kept", target_is_directory=True)
    else:
        os.mkfifo(folder)
    with pytest.raises((StoreError, ChainError), match="is not a folder but a "):
        save(chain, 2)
    assert not list((tmp_path / "kept").rglob("00000002.toml"))


@pytest.mark.parametrize("what", ["link", "pipe", "folder"])
def test_a_lock_that_is_none_does_not_stop_a_save(tmp_path: Path, what: str) -> None:
    chain = chain_of(tmp_path, 1)
    (chain.folder / ".lock").unlink()
    odd(chain.folder / ".lock", what)
    assert save(chain, 2).head.sequence == 2
    assert not (chain.folder / "elsewhere").exists()


@pytest.mark.parametrize("what", ["link", "pipe", "folder"])
def test_a_rule_for_version_control_that_cannot_be_written_is_said_and_stops_nothing(tmp_path: Path, what: str) -> None:
    odd(tmp_path / ".gitattributes", what)
    assert ".gitattributes is not a file but a " in prepare_shop(tmp_path)
    assert (tmp_path / "checklists").is_dir()
    assert not (tmp_path / "elsewhere").exists()


def test_a_rule_for_version_control_is_added_behind_bytes_that_are_no_text(tmp_path: Path) -> None:
    (tmp_path / ".gitattributes").write_bytes(b"\xff\xfe")
    assert prepare_shop(tmp_path) == ""
    assert (tmp_path / ".gitattributes").read_bytes() == b"\xff\xfe\n" + GIT_RULE.encode() + b"\n"


@pytest.mark.parametrize("since", [-(10**9), -1])
def test_a_number_before_the_first_is_looked_for_no_further_than_the_first(tmp_path: Path, since: int) -> None:
    chain = chain_of(tmp_path, 2)
    assert again(chain, 2, since).was_there
