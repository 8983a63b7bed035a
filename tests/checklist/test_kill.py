"""SIGKILL at random moments of typing and of saving, in real processes: 200 times in all."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from checklist.record_samples import MACHINE, record_id

from preflight.checklist.chain import Chain
from preflight.checklist.draft import Draft, Holder
from preflight.checklist.seal import read_seal
from preflight.checklist.store import prepare_shop
from preflight.checklist.verify import Status, verify_chain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.checklist.register import Register

KILLS = 100
"""Per test."""

TESTS = Path(__file__).parents[1]


class Spawner:
    """Starts children that work until they are killed."""

    def __init__(self, shop: Path, log: Path) -> None:
        self.shop = shop
        self.log = log
        log.touch()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "checklist.kill_children"],
            cwd=TESTS,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def run_and_kill(self, kind: str, name: str, seconds: float) -> None:
        """Let a child work, kill it so long after its first sign of life, and wait until it is gone."""
        assert self._process.stdin
        assert self._process.stdout
        size = self.log.stat().st_size
        self._process.stdin.write(f"{kind}\t{self.shop}\t{self.log}\t{name}\n")
        self._process.stdin.flush()
        pid = int(self._process.stdout.readline())
        deadline = time.monotonic() + 20
        while self.log.stat().st_size == size:
            assert time.monotonic() < deadline, "the child did nothing"
            time.sleep(0.001)
        time.sleep(seconds)
        os.kill(pid, signal.SIGKILL)
        while _lives(pid):
            assert time.monotonic() < deadline, "the child survived"
            time.sleep(0.001)

    def close(self) -> None:
        assert self._process.stdin
        assert self._process.stdout
        self._process.stdin.close()
        self._process.wait(timeout=20)
        self._process.stdout.close()

    def logged(self) -> list[list[str]]:
        return [line.split() for line in self.log.read_text().splitlines()]


def _lives(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.fixture
def spawner(tmp_path: Path) -> Iterator[Spawner]:
    shop = tmp_path / "shop"
    shop.mkdir()
    prepare_shop(shop)
    spawner = Spawner(shop, tmp_path / "log")
    yield spawner
    spawner.close()


def type_and_kill(spawner: Spawner, kills: int) -> str:
    """Kill so many children while they type, and check the draft after each."""
    rng = random.Random(1)
    lost = held = 0
    for kill in range(kills):
        spawner.run_and_kill("draft", f"typist-{kill:04d}", rng.uniform(0, 0.03))
        lines = spawner.logged()
        begun = max(int(count) for word, count in lines if word == "begun")
        done = max((int(count) for word, count in lines if word == "done"), default=0)
        draft = Draft.open(spawner.shop, MACHINE, Holder("T. Varga", "office", 1, "now"))
        try:
            assert draft.notices == ()
            held = draft.content["keystrokes"] if draft.content else 0
            assert done <= held <= begun <= done + 1
            typed = "".join(chr(97 + n % 26) for n in range(max(1, held - 1999), held + 1))
            assert (draft.content or {"typed": ""})["typed"] == typed
            lost += begun - held
        finally:
            draft.close()
        spawner.log.write_text(f"begun {held}\ndone {held}\n")
    return f"{kills} kills while typing, {held} keystrokes, {lost} times the last one was lost"


def save_and_kill(spawner: Spawner, kills: int, register: Register | None = None) -> str:
    """Kill so many children while they save, and check what is visible after each and all of it at the end.

    register: of a shop with people; then the children sign.
    """
    rng = random.Random(2)
    chain = Chain(spawner.shop, MACHINE)
    before = 0
    for kill in range(kills):
        spawner.run_and_kill("signed" if register else "records", f"saver-{kill:04d}", rng.uniform(0, 0.03))
        numbers = range(1, chain.head().sequence + 1)
        for number in numbers[before:]:
            assert read_seal(chain.path(number).read_bytes()).sequence == number
        before = len(numbers)
    result = verify_chain(chain.folder, register)
    assert (result.status, result.problems) == (Status.INTACT if register else Status.UNSIGNED, ())
    count = result.intact if register else result.unsigned
    stored = [record_id(chain, n) for n in range(1, count + 1)]
    lines = spawner.logged()
    saved = {line[1]: int(line[2]) for line in lines if line[0] == "saved"}
    begun = [line[1] for line in lines if line[0] == "begun"]
    assert len(set(stored)) == len(stored)
    assert all(stored[number - 1] == name for name, number in saved.items())
    assert set(begun) - set(stored) <= {begun[-1]}
    recognised = sum(line[-1] == "True" for line in lines if line[0] == "saved")
    leftovers = len(list(chain.folder.rglob("*.tmp")))
    how = "saving signed records" if register else "saving"
    return f"{kills} kills while {how}, {len(stored)} records, {recognised} recognised, {leftovers} leftovers"


def test_a_draft_reopens_after_a_kill_with_at_most_the_last_keystroke_missing(spawner: Spawner) -> None:
    print(type_and_kill(spawner, KILLS))


def test_a_kill_while_saving_leaves_no_half_record_no_gap_and_loses_none_that_was_reported(spawner: Spawner) -> None:
    print(save_and_kill(spawner, KILLS))
