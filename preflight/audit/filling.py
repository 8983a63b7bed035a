"""Bringing the index up to date with the files: a few records in this process, many with every core.

The newest records come first and each portion is committed by itself, so that lists are usable at once, a cancelled
or killed filling loses nothing that was done, and memory holds a few portions whatever the number of records.
"""

from __future__ import annotations

import contextlib
import functools
import itertools
import multiprocessing
import os
import sys
import threading
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from multiprocessing import resource_tracker
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.audit.filling_lock import only_one
from preflight.audit.record_rows import RecordRows, add_record
from preflight.checklist.chain import FOLDER, ChainError, newest, numbers_in, thousands
from preflight.checklist.machine_records import MachineRecords
from preflight.checklist.practice_chain import is_practice
from preflight.checklist.record import Status
from preflight.checklist.register import chain_names, read_register
from preflight.checklist.seal import is_machine_id

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from preflight.audit.index import Index
    from preflight.checklist.register import Register

PORTION = 64
"""Records committed together."""
FEW = 150
"""Up to this many are read in this process: starting others takes longer."""

Portion = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Filled:
    """What a filling did."""

    added: int
    """Records that were read."""
    left: int = 0
    """Records still to be read: it was cancelled, or another program is at it."""
    gone: int = 0
    """Records taken out because their files are gone."""
    elsewhere: bool = False
    """Another program is filling this index now."""
    out_of_reach: tuple[str, ...] = ()
    """Why files could not be opened, one each; they are tried again the next time."""

    @property
    def notice(self) -> str:
        """What a person should know; empty when there is nothing."""
        said = []
        if self.gone:
            said.append(f"{self.gone} records are no longer in the shop folder: look with preflight verify.")
        if self.out_of_reach:
            many = f"{len(self.out_of_reach)} files" if len(self.out_of_reach) > 1 else "One file"
            said.append(f"{many} could not be opened ({self.out_of_reach[0]}): tried again the next time.")
        if self.elsewhere:
            said.append(f"Another program is reading the records: {self.left} are still to come.")
        elif self.left:
            said.append(f"Cancelled: {self.left} records are not listed yet; they are read the next time.")
        return " ".join(said)


def fill(
    shop: Path,
    index: Index,
    *,
    progress: Callable[[int, int], None] = lambda _done, _all: None,
    cancelled: Callable[[], bool] = lambda: False,
    processes: int | None = None,
) -> Filled:
    """Read every record that the index does not know. `progress` gets records done and in all, after each portion."""
    with only_one(index.path) as mine:
        register = read_register(shop)
        if mine:
            index.judge_by(register)
        missing, gone = _difference(shop, index)
        if not mine:
            return Filled(0, len(missing), elsewhere=bool(missing))
        index.remove(gone)
        portions = [tuple(missing[at : at + PORTION]) for at in range(0, len(missing), PORTION)]
        progress(0, len(missing))
        done = 0
        out_of_reach: list[str] = []
        for count, rows in _read_all(str(shop), register, portions, len(missing), processes):
            index.add(rows)
            out_of_reach += rows.out_of_reach
            done += count
            progress(done, len(missing))
            if cancelled():
                break
        read = done - len(out_of_reach)
        return Filled(read, len(missing) - done, len(gone), out_of_reach=tuple(out_of_reach))


def read_portion(shop: str, register: Register, portion: Portion) -> RecordRows:
    """The rows of some records; runs in another process too."""
    rows = RecordRows()
    for machine in dict.fromkeys(machine for machine, _ in portion):
        with MachineRecords(Path(shop), machine, register) as chain:
            for sequence in (sequence for one, sequence in portion if one == machine):
                kept = chain.read(sequence)
                if kept is not None:
                    add_record(rows, kept)
                elif chain.status(sequence) is Status.CANNOT_CHECK:
                    rows.out_of_reach.append(f"{machine}, record {sequence}: {chain.strangers[-1][1]}")
                else:
                    rows.unread.append((machine, sequence, chain.strangers[-1][1]))
    return rows


def _difference(shop: Path, index: Index) -> tuple[list[tuple[str, int]], list[tuple[str, int]]]:
    """Records to read, newest numbers of all machines first, and records to take out."""
    root = shop / FOLDER
    counts = index.counts()
    folders = {name: root / name for name in chain_names(shop) if is_machines(name)}
    numbers: set[tuple[str, int]] = set()
    changed = set(counts) - set(folders)
    for machine, folder in folders.items():
        try:
            top = newest(folder)
            if counts.get(machine, (0, 0)) == (top, top):  # whole from 1 to the newest, and all of it known
                continue
            changed.add(machine)
            numbers.update((machine, n) for t in thousands(folder) for n in numbers_in(folder / f"{t:05d}", t))
        except ChainError:
            changed.discard(machine)  # not reachable now; what is known stays
    if not changed:
        return [], []
    known = {record for record in index.known() if record[0] in changed}
    missing = sorted(numbers - known, key=lambda record: (-record[1], record[0]))
    return missing, sorted(known - numbers)


def _read_all(
    shop: str, register: Register, portions: list[Portion], total: int, processes: int | None
) -> Iterator[tuple[int, RecordRows]]:
    workers = processes or os.cpu_count() or 1
    if total <= FEW or workers == 1:
        for portion in portions:
            yield len(portion), read_portion(shop, register, portion)
        return
    left = dict.fromkeys(portions)
    try:
        for portion, rows in _with_processes(shop, register, portions, workers):
            del left[portion]
            yield len(portion), rows
    except (OSError, BrokenExecutor):  # no more processes are given, or one was killed: go on without them
        for portion in left:
            yield len(portion), read_portion(shop, register, portion)


def _with_processes(
    shop: str, register: Register, portions: list[Portion], workers: int
) -> Iterator[tuple[Portion, RecordRows]]:
    if os.name == "posix":
        # The screens put a stream without a descriptor in place of stderr, which the tracker's start does not survive.
        with contextlib.redirect_stderr(sys.__stderr__):
            resource_tracker.ensure_running()
    # "spawn": a fork of a process with threads, as the app is one, can stand still for ever.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_end_with_parent) as pool:
        try:
            yield from _in_turn(pool, functools.partial(read_portion, shop, register), portions, 2 * workers)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _in_turn(
    pool: ProcessPoolExecutor, read: Callable[[Portion], RecordRows], portions: Iterable[Portion], ahead: int
) -> Iterator[tuple[Portion, RecordRows]]:
    """Never more than `ahead` portions on their way: that bounds the memory."""
    waiting: dict[Future[RecordRows], Portion] = {}
    source = iter(portions)
    while True:
        for portion in itertools.islice(source, ahead - len(waiting)):
            waiting[pool.submit(read, portion)] = portion
        if not waiting:
            return
        for ready in wait(waiting, return_when=FIRST_COMPLETED).done:
            yield waiting.pop(ready), ready.result()


def _end_with_parent() -> None:
    """A worker whose parent was killed ends too, instead of waiting for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:

        def watch() -> None:
            parent.join()
            os._exit(1)

        threading.Thread(target=watch, daemon=True).start()


def is_machines(chain: str) -> bool:
    """Whether a chain of that name is a machine's: not practice, not the register of people."""
    return is_machine_id(chain) and not is_practice(chain) and not chain.startswith("shop-")
