"""The same monkey at a real terminal: a process of its own, whole bursts in one write, kill -9 at times."""

from __future__ import annotations

import fcntl
import itertools
import json
import os
import pty
import select
import signal
import socket
import struct
import sys
import termios
import time
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from keys.keystrokes import LOOK, LOOK_LONGER
from keys.ledger import failures, machines, releases, rows_of
from keys.listening import Heard, Kind
from keys.shops import desk_of

from preflight.own_failure import log_path
from preflight.tui.demo_shop import MACHINE
from preflight.tui.terminal_machine import DRAFTS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from random import Random

    from keys.keystrokes import Burst
    from keys.monkey import Outcome
    from keys.shops import MonkeyShop

CODES: Mapping[str, bytes] = {
    "enter": b"\r", "escape": b"\x1b", "tab": b"\t", "space": b" ", "backspace": b"\x7f", "delete": b"\x1b[3~",
    "up": b"\x1b[A", "down": b"\x1b[B", "right": b"\x1b[C", "left": b"\x1b[D", "pageup": b"\x1b[5~",
    "pagedown": b"\x1b[6~", "f1": b"\x1bOP", "f2": b"\x1bOQ", "f3": b"\x1bOR", "f4": b"\x1bOS", "f5": b"\x1b[15~",
    "f6": b"\x1b[17~", "f7": b"\x1b[18~", "f8": b"\x1b[19~", "f9": b"\x1b[20~", "f10": b"\x1b[21~",
    **{f"ctrl+{letter}": bytes([ord(letter) - 96]) for letter in "opqrt"},
}  # fmt: skip
"""What a terminal sends for a key that prints nothing."""
ASKS_MACHINE = 0.15
"""Share of runs in which the terminal does not know its machine."""
KILLED = 0.5
"""Share of the runs in which the program is killed now and then."""
KILL_AFTER_BURST = 0.04
IN_MID_ANSWER = 0.6
"""Share of the kills before which half an answer is typed."""
HALF = b"27"
WAITS = {"none": 0.0, "idle": 0.12, "short": 0.05, "stall": 0.7, LOOK: 0.2, LOOK_LONGER: 0.3}
"""Seconds after a burst; a stall is the program stopped and going on."""
READY = b"\x1b[?1049h"
"""The screen has been taken: the first frame is on its way."""
BEFORE_READY = 0.25
"""Share of the starts at which keys are typed before anything is loaded."""
SECONDS_TO_START = 60.0
WAYS_OUT = (("escape", "ctrl+q", "1"), ("escape", "2"))
"""Out of a box and the run, and out of a drill, which asks."""
SECONDS_TO_LEAVE = 90.0


def code(key: str) -> bytes:
    """What the terminal sends for a key."""
    return CODES.get(key) or key.encode()


class Terminal:
    """The program on a pseudo-terminal."""

    def __init__(self, shop: MonkeyShop, notes: Path, size: tuple[int, int]) -> None:
        self.written = b""
        self.status: int | None = None
        """Exit status, minus the signal for a killed one; None while it runs."""
        self._pid, self._terminal = pty.fork()
        if self._pid == 0:
            width, height = size
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", height, width, 0, 0))
            os.environ.update(TERM="xterm-256color", PREFLIGHT_KEYS=str(shop.keys), TEXTUAL_ANIMATIONS="none")
            for name in ("COLUMNS", "LINES", "NO_COLOR"):
                os.environ.pop(name, None)
            app = str(Path(__file__).with_name("listened_app.py"))
            os.execv(sys.executable, [sys.executable, app, str(shop.root), str(notes)])

    def write(self, data: bytes) -> None:
        """One write, as a terminal passes on what was typed in one go."""
        with suppress(OSError):  # it has just ended
            os.write(self._terminal, data)

    def read(self, seconds: float, marker: bytes = b"") -> bool:
        """Read what is painted for that long, until the marker comes or the program ends; whether the marker came."""
        until = time.monotonic() + seconds
        while True:
            left = until - time.monotonic()
            if select.select([self._terminal], [], [], max(0.0, left))[0] and not self._take():
                return bool(marker) and marker in self.written
            if marker and marker in self.written:
                return True
            if left <= 0:
                return False

    def _take(self) -> bool:
        try:
            data = os.read(self._terminal, 65536)
        except OSError:
            data = b""
        self.written += data
        if not data:
            self._ended()
        return bool(data)

    def _ended(self) -> None:
        if self.status is None:
            self.status = os.waitstatus_to_exitcode(os.waitpid(self._pid, 0)[1])

    def stall(self, seconds: float) -> None:
        """The program stands still for that long, and then finds everything at once."""
        os.kill(self._pid, signal.SIGSTOP)
        time.sleep(seconds)
        os.kill(self._pid, signal.SIGCONT)

    def kill(self) -> None:
        """kill -9, now."""
        if self.status is None:
            os.kill(self._pid, signal.SIGKILL)
            self._ended()

    def close(self) -> None:
        """The terminal is closed; a program that still runs is killed."""
        self.kill()
        os.close(self._terminal)


def run(outcome: Outcome, keys: list[Burst], chance: Random, shop: MonkeyShop, notes: Path) -> Outcome:
    """One run at a terminal of its own; `notes` is where the program notes what is heard of it."""
    began = time.monotonic()
    if chance.random() > ASKS_MACHINE:
        (shop.root / DRAFTS).mkdir(exist_ok=True)
        (shop.root / DRAFTS / f"{socket.gethostname()}.machine").write_text(MACHINE, encoding="utf-8")
    left, kills = list(keys), chance.random() < KILLED
    while left and not outcome.failures:
        left = _sitting(outcome, shop, notes, left, chance, kills=kills)
    outcome.heard = _noted(notes)
    shop.clock.now = datetime.now().astimezone()
    outcome.releases = len(releases(shop))
    if not outcome.failures:
        outcome.failures += failures(shop, outcome.heard, secret_known=bool(outcome.secret))
    outcome.seconds = time.monotonic() - began
    return outcome


def _noted(notes: Path) -> list[Heard]:
    lines = [json.loads(line) for line in notes.read_bytes().splitlines()] if notes.exists() else []
    return [Heard(Kind(line.pop("kind")), **line) for line in lines]


def half_typed(heard: Sequence[Heard]) -> Heard | None:
    """The answer that was being typed last and that nobody has accepted; None when there is none."""
    last = next(reversed(heard), None)
    return last if last is not None and last.kind is Kind.TYPED and last.text else None


def not_told(shop: MonkeyShop, half: Heard) -> list[str]:
    """Whether whoever opens the app after a kill -9 is not told that this answer was only half typed."""
    names = machines(shop)
    if half.machine not in names:
        return []
    desk = desk_of(shop, "after", names[half.machine])
    try:
        loaded = desk.load()
        run, row = loaded.run, next((row for row in rows_of(loaded.run) if row.key == half.row), None)
    finally:
        desk.close()
    if row is None or run.signed is not None or run.typed.get(half.row, "").strip() != half.text:
        return []  # a later key was kept before it could be noted
    counts = half.row not in run.unread
    said = row.label.strip() in loaded.notice
    wrong = [*(["counts"] if counts else []), *([] if said else ["is not named on opening"])]
    return [f"{half.row} = {half.text!r}, half typed at a kill -9, {word}" for word in wrong]


def _sitting(
    outcome: Outcome, shop: MonkeyShop, notes: Path, pressed: list[Burst], chance: Random, *, kills: bool
) -> list[Burst]:
    """The program from its start until it is left or killed; the bursts that are left."""
    outcome.opened += 1
    terminal, left = Terminal(shop, notes, outcome.size), list(pressed)
    try:
        if not terminal.read(SECONDS_TO_START, READY):
            outcome.failures.append(f"did not start: {_last_line(terminal)}")
            return left
        if chance.random() > BEFORE_READY:
            before, until = len(_noted(notes)), time.monotonic() + SECONDS_TO_START
            while len(_noted(notes)) == before and terminal.status is None and time.monotonic() < until:
                terminal.read(0.1)
        while left and terminal.status is None:
            burst = left.pop(0)
            terminal.write(b"".join(map(code, burst.keys)))
            outcome.keys += len(burst.keys)
            if burst.wait == "stall":
                terminal.stall(WAITS["stall"])
            terminal.read(WAITS[burst.wait] * chance.uniform(0.2, 1.5))
            if kills and chance.random() < KILL_AFTER_BURST:
                if chance.random() < IN_MID_ANSWER:
                    terminal.write(code("down") + HALF)
                    terminal.read(chance.uniform(0.05, 1.0))
                terminal.kill()
                outcome.killed += 1
                shop.clock.now = datetime.now().astimezone()
                if (half := half_typed(_noted(notes))) is not None:
                    outcome.half_typed += 1
                    outcome.failures += not_told(shop, half)
                return left
        _leave(outcome, terminal)
    finally:
        terminal.close()
    if b"Traceback" in terminal.written:
        outcome.failures.append(f"a traceback on the terminal: {_last_line(terminal)}")
    return left


def _leave(outcome: Outcome, terminal: Terminal) -> None:
    until = time.monotonic() + SECONDS_TO_LEAVE
    for keys in itertools.cycle(WAYS_OUT):
        if terminal.status is not None or time.monotonic() > until:
            break
        for key in keys:
            terminal.write(code(key))
            terminal.read(0.28)  # alone: what follows Esc at once would be read as one key with it
    if terminal.status is None:
        outcome.failures.append(f"it was not left within {SECONDS_TO_LEAVE:.0f} s")
    elif terminal.status != 0:
        outcome.failures.append(f"it ended with status {terminal.status}: {_last_line(terminal)} {_logged()}")


def _logged() -> str:
    """What the app's own log says of its last failure."""
    path = log_path()
    return " | ".join(path.read_text(encoding="utf-8").splitlines()[-12:]) if path.exists() else ""


def _last_line(terminal: Terminal) -> str:
    text = terminal.written.decode(errors="replace")
    return ascii(next((line.strip() for line in reversed(text.splitlines()) if line.strip()), "")[-200:])
