"""The index: made from files alone, kept up to date, thrown away when damaged, never in the way of another program."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import TYPE_CHECKING

import pytest
from audit.audit_samples import MACHINE, NOW, add_record, copied
from checklist.record_samples import lay, whole

from preflight import disk
from preflight.audit import filling, schema
from preflight.audit.filling import fill
from preflight.audit.index import index_path, open_index
from preflight.audit.queries import Filter, Listed, count, distinct, listed, page, unread
from preflight.audit.record_rows import RecordRows
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.lock import Lock, try_lock

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.checklist.register import Register


def dump(path: Path) -> list[object]:
    """Every row of every table."""
    connection = sqlite3.connect(path)
    try:
        return [sorted(connection.execute(f"SELECT * FROM {table}"), key=repr) for table in schema.TABLES]
    finally:
        connection.close()


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A shop of nine small records on one machine."""
    for number in range(9, 0, -1):
        add_record(tmp_path, number)
    return tmp_path


def test_looking_the_index_up_makes_nothing(tmp_path: Path) -> None:
    assert not index_path(tmp_path / "shop", tmp_path / "cache").exists()
    assert not (tmp_path / "cache").exists()


def test_two_shops_have_two_indexes(tmp_path: Path) -> None:
    assert index_path(tmp_path / "a", tmp_path) != index_path(tmp_path / "b", tmp_path)


def test_a_rebuild_from_the_files_gives_the_same_index_as_record_by_record(tmp_path: Path) -> None:
    grown = ShopAudit(tmp_path, tmp_path / "grown")
    for number in range(5, 0, -1):
        add_record(tmp_path, number)
        assert grown.fill().added == 1
    whole = ShopAudit(tmp_path, tmp_path / "whole")
    assert whole.fill().added == 5
    for audit in (grown, whole):
        audit.close()
    assert dump(grown.index.path) == dump(whole.index.path)


def test_two_processes_read_the_same_as_one(invented: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one, two = ShopAudit(invented, tmp_path / "one"), ShopAudit(invented, tmp_path / "two")
    seen: list[tuple[int, int]] = []
    one.fill(processes=1)
    monkeypatch.setattr(filling, "FEW", 10)
    two.fill(lambda done, total: seen.append((done, total)), processes=2)
    one.close()
    two.close()
    assert seen[-1][0] == seen[-1][1] > 60
    assert dump(one.index.path) == dump(two.index.path)


def test_a_cancelled_filling_keeps_what_it_read_and_the_newest_come_first(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    audit = ShopAudit(small, tmp_path / "cache")
    monkeypatch.setattr(filling, "PORTION", 4)
    done = audit.fill(cancelled=lambda: True)
    monkeypatch.undo()
    assert (done.added, done.left) == (4, 5)
    assert [one.sequence for one in audit.ask(page)] == [9, 8, 7, 6]
    assert "5 records are not listed yet" in " ".join(audit.notices)
    assert audit.fill().added == 5
    assert audit.ask(count) == 9
    audit.close()


def test_records_that_arrive_while_somebody_reads_are_seen_by_the_next_page(small: Path, tmp_path: Path) -> None:
    reader, writer = ShopAudit(small, tmp_path / "cache"), ShopAudit(small, tmp_path / "cache")
    writer.fill()
    cursor = reader.index.connection.execute("SELECT sequence FROM records ORDER BY at DESC")
    first = cursor.fetchone()
    add_record(small, 0)
    assert writer.fill().added == 1
    rest = cursor.fetchall()
    assert len([first, *rest]) == 9  # the open list is of one moment
    cursor.close()
    assert reader.ask(count) == 10
    for audit in (reader, writer):
        audit.close()


@pytest.mark.parametrize("spoiled", ["text", "middle", "empty table"])
def test_a_damaged_index_is_made_anew_and_says_so(small: Path, tmp_path: Path, spoiled: str) -> None:
    audit = ShopAudit(small, tmp_path / "cache")
    audit.fill()
    audit.close()
    path = audit.index.path
    if spoiled == "text":
        path.write_bytes(b"no database at all" * 500)
    elif spoiled == "middle":
        data = bytearray(path.read_bytes())
        data[4096:] = os.urandom(len(data) - 4096)
        path.write_bytes(bytes(data))
    else:
        connection = sqlite3.connect(path)
        connection.execute("DROP TABLE answers")
        connection.close()
    again = ShopAudit(small, tmp_path / "cache")
    again.fill()
    assert again.ask(count) == 9
    if spoiled != "empty table":
        assert "damaged and is made anew" in " ".join(again.notices)
    else:
        assert again.notices
    again.close()


def test_damage_that_shows_only_later_is_mended_in_the_middle_of_a_question(small: Path, tmp_path: Path) -> None:
    audit = ShopAudit(small, tmp_path / "cache")
    audit.fill()
    asked: list[int] = []

    def question(connection: sqlite3.Connection) -> int:
        asked.append(1)
        if len(asked) == 1:
            raise sqlite3.DatabaseError("database disk image is malformed")
        return count(connection)

    assert audit.ask(question) == 9
    assert "damaged" in " ".join(audit.notices)
    audit.close()


def test_an_index_that_another_program_locks_is_replaced_by_a_private_one_for_now(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = ShopAudit(small, tmp_path / "cache")
    first.fill()
    first.close()
    monkeypatch.setattr("preflight.audit.index.WAIT", 0.05)
    holder = sqlite3.connect(first.index.path, isolation_level=None)
    holder.execute("PRAGMA locking_mode = EXCLUSIVE")
    holder.execute("BEGIN EXCLUSIVE")
    second = ShopAudit(small, tmp_path / "cache")
    second.fill()
    assert second.ask(count) == 9
    assert "locked" in second.notices[0]
    private = second.index.path
    second.close()
    holder.execute("COMMIT")
    holder.close()
    assert not private.exists()
    third = ShopAudit(small, tmp_path / "cache")
    assert third.notices == []
    third.close()


def test_a_second_filling_at_the_same_time_leaves_the_work_to_the_first(small: Path, tmp_path: Path) -> None:
    audit = ShopAudit(small, tmp_path / "cache")
    with audit.index.path.with_suffix(".lock").open("ab") as file:
        assert try_lock(file) is Lock.HELD
        done = fill(small, audit.index)
    assert (done.added, done.left, done.elsewhere) == (0, 9, True)
    assert "Another program" in done.notice
    audit.close()


KILLED = """
import sys, time
from pathlib import Path
from preflight.audit import filling
from preflight.audit.shop_audit import ShopAudit
filling.FEW, filling.PORTION = 4, 4
audit = ShopAudit(Path(sys.argv[1]), Path(sys.argv[2]))
def progress(done, total):
    print(done, flush=True)
    time.sleep(0.2)
if __name__ == "__main__":
    audit.fill(progress, processes=2)
"""


def test_a_kill_during_indexing_loses_nothing_and_leaves_no_process_behind(invented: Path, tmp_path: Path) -> None:
    script = tmp_path / "killed.py"
    script.write_text(KILLED)
    process = subprocess.Popen(
        [sys.executable, str(script), str(invented), str(tmp_path / "cache")], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    while int(process.stdout.readline()) < 8:
        pass
    children = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(process.pid)], capture_output=True, text=True, check=False
    ).stdout.split()
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()
    audit = ShopAudit(invented, tmp_path / "cache")
    known = audit.ask(count)
    done = audit.fill(processes=1)
    assert known >= 8
    assert done.left == 0
    fresh = ShopAudit(invented, tmp_path / "fresh")
    fresh.fill(processes=1)
    for one in (audit, fresh):
        one.close()
    assert dump(audit.index.path) == dump(fresh.index.path)
    end = time.monotonic() + 10
    while any(alive(pid) for pid in children) and time.monotonic() < end:
        time.sleep(0.05)
    assert not any(alive(pid) for pid in children)


def alive(pid: str) -> bool:
    """Whether that process still runs."""
    state = subprocess.run(["ps", "-o", "stat=", "-p", pid], capture_output=True, text=True, check=False).stdout
    return bool(state.strip()) and not state.strip().startswith("Z")


def test_a_file_that_is_no_record_is_named_and_everything_else_is_listed(invented: Path, tmp_path: Path) -> None:
    shop = copied(invented, tmp_path)
    machine = min((shop / "checklists").glob("m-*")).name
    path = Chain(shop, machine).path(3)
    path.write_bytes(path.read_bytes()[:-40])
    audit = ShopAudit(shop, tmp_path / "cache")
    audit.fill()
    assert [(of, number) for of, number, _ in audit.ask(unread)] == [(machine, 3)]
    assert audit.ask(lambda c: listed(c, machine, 3)) is None
    assert audit.ask(lambda c: listed(c, machine, 4)) is not None
    audit.close()


def test_records_whose_files_are_gone_leave_the_index_and_that_is_said(small: Path, tmp_path: Path) -> None:
    audit = ShopAudit(small, tmp_path / "cache")
    audit.fill()
    Chain(small, MACHINE).path(9).unlink()
    assert audit.fill().gone == 1
    assert "no longer in the shop folder" in " ".join(audit.notices)
    assert audit.ask(count) == 8
    audit.close()


def test_a_shop_folder_that_is_not_reachable_now_empties_no_list(small: Path, tmp_path: Path) -> None:
    audit = ShopAudit(small, tmp_path / "cache")
    audit.fill()
    folder = small / "checklists" / MACHINE
    folder.rename(small / "away")
    folder.mkdir()
    (folder / "00000").write_text("not a folder")
    audit.fill()
    folder.joinpath("00000").unlink()
    folder.rmdir()
    (small / "away").rename(folder)
    audit.fill()
    assert audit.ask(count) == 9
    audit.close()


def test_migrations_are_done_once_and_an_index_of_a_newer_program_is_begun_again(tmp_path: Path) -> None:
    path = tmp_path / "index.sqlite3"
    open_index(path).close()
    connection = sqlite3.connect(path)
    names = [name for (name,) in connection.execute("SELECT name FROM steps ORDER BY name")]
    assert names == [name for name, _ in schema.STEPS]
    connection.execute("INSERT INTO steps VALUES ('9999 of next year')")
    connection.commit()
    connection.close()
    index = open_index(path)
    assert "made anew" in index.notices[0]
    index.close()


def test_two_threads_that_open_a_new_index_at_the_same_moment_open_the_same_one(tmp_path: Path) -> None:
    path, together = tmp_path / "index.sqlite3", threading.Barrier(4)

    def opened() -> tuple[Path, list[str]]:
        together.wait()
        index = open_index(path)
        try:
            return index.path, index.notices
        finally:
            index.close()

    with ThreadPoolExecutor(4) as pool:
        found = [one.result() for one in [pool.submit(opened) for _ in range(4)]]
    assert found == [(path, [])] * 4


def test_an_index_that_lacks_a_newer_table_is_read_again_from_the_files(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as before:
        before.setattr(schema, "STEPS", schema.STEPS[:2])
        before.setattr("preflight.audit.index.TABLES", schema.TABLES[:6])
        before.setattr("preflight.audit.filling.read_portion", lambda _root, _portion: RecordRows())
        audit = ShopAudit(small, tmp_path / "cache")
        audit.index.connection.execute("INSERT INTO unread VALUES (?, 1, 'as it was')", (MACHINE,))
        audit.close()
    again = ShopAudit(small, tmp_path / "cache")
    assert again.fill().added == 9
    assert again.notices == []
    again.close()


def test_a_record_saved_just_now_is_listed_while_another_filling_is_under_way(small: Path, tmp_path: Path) -> None:
    audit = ShopAudit(small, tmp_path / "cache")
    audit.fill()
    saved = add_record(small, 0)
    with audit.index.path.with_suffix(".lock").open("ab") as file:
        assert try_lock(file) is Lock.HELD
        audit.note(MACHINE, saved.head.sequence)
    assert audit.ask(lambda c: listed(c, MACHINE, saved.head.sequence)) is not None
    assert audit.notices == []
    audit.close()


def test_pages_by_key_give_every_record_once_forwards_and_backwards(invented: Path, tmp_path: Path) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    connection = audit.index.connection
    total = count(connection)
    forwards, after = [], None
    while rows := page(connection, after=after, rows=17):
        forwards += rows
        after = rows[-1].key
    assert len(forwards) == total == len({(one.machine, one.sequence) for one in forwards})
    assert forwards == sorted(forwards, key=lambda one: one.key, reverse=True)
    backwards: list[Listed] = []
    before = forwards[-1].key
    while rows := page(connection, before=before, rows=17):
        backwards = rows + backwards
        before = rows[0].key
    assert backwards == forwards[:-1]
    audit.close()


def test_filters_leave_exactly_what_they_name(invented: Path, tmp_path: Path) -> None:
    audit = ShopAudit(invented, tmp_path / "cache")
    audit.fill()
    connection = audit.index.connection
    everything = page(connection, rows=10_000)
    person, machine = distinct(connection, "person")[0], distinct(connection, "machine")[1]
    middle = everything[len(everything) // 2].at
    only = Filter(machine=machine, person=everything[0].person, kind="startup", verdict="ok", since=middle)
    wanted = [
        one
        for one in everything
        if (one.machine, one.person, one.kind, one.verdict) == (machine, everything[0].person, "startup", "ok")
        and one.at >= middle
    ]
    assert page(connection, only, rows=10_000) == wanted
    assert count(connection, Filter(person=person)) == sum(one.person == person for one in everything)
    assert {one.kind for one in everything} == set(distinct(connection, "kind"))
    audit.close()


SCREENS = """
import sys
from pathlib import Path
from preflight.audit import filling
from preflight.audit.shop_audit import ShopAudit
class WithoutDescriptor:
    def fileno(self):
        return -1
    def write(self, text):
        return len(text)
    def flush(self):
        pass
if __name__ == "__main__":
    sys.stderr = WithoutDescriptor()
    filling.FEW = 10
    audit = ShopAudit(Path(sys.argv[1]), Path(sys.argv[2]))
    print(audit.fill(processes=2).added)
"""


def test_processes_start_under_the_screens_whose_stderr_has_no_descriptor(invented: Path, tmp_path: Path) -> None:
    script = tmp_path / "screens.py"
    script.write_text(SCREENS)
    done = subprocess.run(
        [sys.executable, str(script), str(invented), str(tmp_path / "cache")],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert int(done.stdout) > 60


def test_a_worker_that_is_killed_costs_no_record(
    invented: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("preflight.audit.filling.FEW", 10)

    def broken(
        shop: str, register: Register, portions: list[filling.Portion], _workers: int
    ) -> Iterator[tuple[filling.Portion, RecordRows]]:
        yield portions[0], filling.read_portion(shop, register, portions[0])
        raise BrokenProcessPool("a process was killed")

    monkeypatch.setattr("preflight.audit.filling._with_processes", broken)
    audit = ShopAudit(invented, tmp_path / "cache")
    assert audit.fill(processes=2).left == 0
    assert audit.ask(count) > 60
    audit.close()


@pytest.mark.parametrize(
    ("measured", "low"),
    [("nan", "{ value = 4.0 }"), ("4.1", "{ value = [1] }"), ("4.1", '"3 bar"'), ("4.1", f"{{ value = {10**23} }}")],
)
def test_an_odd_record_hides_no_other_one(small: Path, tmp_path: Path, measured: str, low: str) -> None:
    heading = (
        'kind = "startup"\nid = "record-odd"\nname = "D. Marrow"\nverdict = "ok"\nutc = "2026-11-25T12:00:00+00:00"'
    )
    finding = f'measured = {{ value = {measured}, unit = "bar" }}\nlow = {low}\nverdict = "ok"'
    body = f'[record]\n{heading}\n\n[[findings]]\ncheck = "tension"\nsubject = "head 1"\n{finding}\n'.encode()
    lay(Chain(small, MACHINE), body)
    audit = ShopAudit(small, tmp_path / "cache")
    audit.fill()
    assert not [notice for notice in audit.notices if "Another program" in notice]
    listed = audit.ask(lambda c: count(c, Filter()))
    assert listed >= 9
    assert listed + len(audit.ask(unread)) == 10
    audit.close()


def test_answers_of_another_shape_are_named_as_unread(small: Path, tmp_path: Path) -> None:
    heading = {
        "kind": "startup",
        "id": "record-odd",
        "name": "D. Marrow",
        "utc": NOW.isoformat(),
        "local": NOW.isoformat(),
    }
    entries = [{"key": "tension.1", "at": NOW, "text": "4", "earlier": ["x"]}]
    lay(Chain(small, MACHINE), write_body(whole({"record": heading, "entries": entries})))
    audit = ShopAudit(small, tmp_path / "cache")
    audit.fill()
    assert audit.ask(lambda c: count(c, Filter())) == 9
    ((_, number, why),) = audit.ask(unread)
    assert number == 10
    assert "no record of the kind 'startup': entries.0.earlier" in why
    audit.close()


def test_a_file_that_cannot_be_opened_for_a_moment_is_read_the_next_time(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = disk.Folder.read

    def not_now(folder: disk.Folder, name: str, most: int) -> bytes:
        if name == "00000004.toml":
            raise PermissionError(13, "Permission denied")
        return read(folder, name, most)

    monkeypatch.setattr(disk.Folder, "read", not_now)
    audit = ShopAudit(small, tmp_path / "cache")
    assert audit.fill().added == 8
    assert "could not be opened" in audit.notices[-1]
    monkeypatch.undo()
    assert audit.fill().added == 1
    assert audit.ask(lambda c: count(c, Filter())) == 9
    audit.close()


def test_two_openers_that_meet_the_same_damage_end_at_the_same_index(small: Path, tmp_path: Path) -> None:
    path = index_path(small, tmp_path / "cache")
    one, other = ShopAudit(small, tmp_path / "cache"), ShopAudit(small, tmp_path / "cache")
    one.fill()
    one._renew()
    one.fill()
    other._renew()  # it finds the damage later than the first one, and takes what that one made
    assert other.ask(lambda c: count(c, Filter())) == 9
    assert other.index.path == path
    one.close()
    other.close()
