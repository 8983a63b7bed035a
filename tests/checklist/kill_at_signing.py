"""A desk that is killed while it signs with a sealed key, at one operation of the system or at a moment, and looked at.

Every process is forked from one in which nothing is open, so that it starts at once and takes no thread or lock along:
`python -m checklist.kill_at_signing FOLDER OPERATION...` prints what was found after a kill before and after each of
these operations of one signature ("link", "unlink"), by its first number.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from checklist.people_samples import PIN
from keys.shops import OPERATOR, MonkeyShop, Templates, desk_of

from preflight.checklist.chain import Chain
from preflight.checklist.register import read_register
from preflight.checklist.secret import Secret
from preflight.checklist.verify import Status, verify_shop
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.demo_shop import MACHINE, MEANING, YESTERDAY
from preflight.tui.wiring import Signing

if TYPE_CHECKING:
    from collections.abc import Callable

NOW = datetime(2026, 11, 26, 6, 40).astimezone()
READINGS = ("tension.1", "running.stop.1", "test_board.left")
"""Answers that no start-up takes over from an earlier one."""
OPERATIONS = ("open", "link", "unlink", "replace", "rename", "mkdir", "fsync")
"""What changes something on the disk; of `open` only what makes a file."""
SIGNING = Signing(OPERATOR, MEANING, Secret(PIN))
KILLED = -signal.SIGKILL


class Point(NamedTuple):
    """Before or after the operation of that number, counted from the moment the key is asked for."""

    number: int
    after: bool


@dataclass(frozen=True, slots=True)
class Signer:
    """Shops to sign in, each a copy of one with people and a draft in which everything is answered."""

    folder: Path
    templates: Templates

    def shop(self, name: str) -> MonkeyShop:
        return self.templates.shop(self.folder / name, "complete", random.Random(1), NOW, peopled=True)

    def operations(self) -> list[str]:
        """What one signature does to the disk, in order."""
        shop, into = self.shop("counted"), self.folder / "operations"
        names: list[str] = []

        def note(name: str, real: Callable[[], Any]) -> Any:
            names.append(name)
            return real()

        def work() -> None:
            _sign(shop, note)
            into.write_text("\n".join(names), "utf-8")

        assert _forked(work) == 0
        shutil.rmtree(shop.root.parent)
        return into.read_text("utf-8").split()

    def killed_at(self, point: Point) -> str:
        """Sign, and be killed there. What was found after it, in words."""
        shop, count = self.shop(f"point-{point.number}-{point.after:d}"), iter(range(10**6))

        def kill(_name: str, real: Callable[[], Any]) -> Any:
            here = next(count) == point.number
            if here and not point.after:
                os.kill(os.getpid(), signal.SIGKILL)
            try:
                return real()
            finally:
                if here:
                    os.kill(os.getpid(), signal.SIGKILL)

        assert _forked(lambda: _sign(shop, kill)) == KILLED
        return _looked_at(shop)

    def killed_after(self, seconds: float, name: str) -> str:
        """Sign, and be killed so long after the key is asked for. What was found after it, in words."""
        shop = self.shop(name)
        began, told = os.pipe()

        def work() -> None:
            _sign(shop, None, lambda: os.write(told, b"x"))

        process = _fork(work)
        os.close(told)
        os.read(began, 1)
        os.close(began)
        time.sleep(seconds)
        with suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)
        _ended(process)
        return _looked_at(shop)


def signer_in(folder: Path) -> Signer:
    """Shops in that folder."""
    return Signer(folder, Templates(folder / "templates"))


def _sign(shop: MonkeyShop, watch: Callable[[str, Callable[[], Any]], Any] | None, begun: Any = None) -> None:
    """Open the desk on the draft and sign it."""
    desk = desk_of(shop, "sign")
    run = desk.load().run
    if watch is not None:
        _watched(watch)
    if begun is not None:
        begun()
    desk.sign(run, SIGNING)
    os._exit(0) if watch is None else None


def _watched(watch: Callable[[str, Callable[[], Any]], Any]) -> None:
    """Every operation that changes the disk goes by way of `watch`, but for those of the thread of the safe copy."""
    main = threading.get_ident()

    def wrapped(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def operation(*arguments: Any, **options: Any) -> Any:
            reads = name == "open" and not arguments[1] & os.O_CREAT
            if reads or threading.get_ident() != main:
                return real(*arguments, **options)
            return watch(name, lambda: real(*arguments, **options))

        return operation

    for name in OPERATIONS:
        setattr(os, name, wrapped(name, getattr(os, name)))


def _looked_at(shop: MonkeyShop) -> str:
    """Open the shop again as after a restart: whole, each number once, and the draft offered only if it became nothing.

    A draft that is still there is signed then, as the operator would.
    """
    found: list[str] = []
    into = shop.root.parent / "found"

    def work() -> None:
        found.append(_reopened(shop))
        into.write_text(found[0], "utf-8")

    assert _forked(work) == 0
    what = into.read_text("utf-8")
    shutil.rmtree(shop.root.parent)
    return what


def _reopened(shop: MonkeyShop) -> str:
    machine = shop_at(shop.root).load(Machine, MACHINE).value.id
    before = len([name for name in shop.records_before if machine in name])
    saved = _numbers(shop, machine)
    assert saved == list(range(1, before + 1 + (len(saved) > before))), saved
    draft_left = (shop.root / "drafts" / f"{machine}.json").exists()
    desk = desk_of(shop, "again")
    loaded = desk.load()
    answered = [key for key in READINGS if loaded.run.typed.get(key) == YESTERDAY[key]]
    if len(saved) > before:
        assert loaded.run.signed is not None or not answered, f"offered again: {answered}, {loaded.notice}"
        if draft_left:
            assert f"Record {saved[-1]} was saved before the program ended; its draft is cleared." in loaded.notice
        desk.close()
        what = "published, draft still there" if draft_left else "published, draft gone"
    else:
        assert answered == list(READINGS), f"lost: {loaded.run.typed}"
        desk.sign(loaded.run, SIGNING)
        desk.close()
        what = "draft kept, signed again"
    _require_whole(shop, machine, before + 1)
    return what


def _numbers(shop: MonkeyShop, machine: str) -> list[int]:
    return sorted(int(path.stem) for path in Chain(shop.root, machine).folder.glob("*/*.toml"))


def _require_whole(shop: MonkeyShop, machine: str, count: int) -> None:
    """Every number once, every record whole, the new one signed, none twice."""
    assert _numbers(shop, machine) == list(range(1, count + 1))
    result = verify_shop(shop.root, read_register(shop.root).keyring)
    assert result.problems == ()
    mine = next(chain for chain in result.chains if chain.machine == machine)
    assert (mine.problems, mine.intact, mine.status) == ((), 1, Status.UNSIGNED)  # those before the founding are not
    bodies = [path.read_bytes() for path in Chain(shop.root, machine).folder.glob("*/*.toml")]
    ids = [next(line for line in body.splitlines() if line.startswith(b"id = ")) for body in bodies]
    assert len(set(ids)) == count


def _fork(work: Callable[[], None]) -> int:
    process = os.fork()
    if process:
        return process
    status = 1
    try:
        work()
        status = 0
    finally:
        os._exit(status)


def _forked(work: Callable[[], None]) -> int:
    return _ended(_fork(work))


def _ended(process: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])


def main() -> None:
    folder, *names = sys.argv[1:]
    signer = signer_in(Path(folder))
    done = signer.operations()
    for name in names:
        for after in (False, True):
            print(f"{'after' if after else 'before'} {name}: {signer.killed_at(Point(done.index(name), after))}")


if __name__ == "__main__":
    main()
