"""Prints how long the app takes to its first frame beside a bare Textual app, and a key and a station to their paint.

A pseudo-terminal of 80x24; the time from starting Python to the bytes of a marker text. Median of 15 alternating
runs. Run: python -m tests.bench.bench_start
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

RUNS = 15
TARGET = 1.5
PATIENCE = 20.0
BARE = """
from textual.app import App
from textual.widgets import Footer, Header, Input
class Bare(App):
    BINDINGS = [("f2", "one", "one"), ("f3", "two", "two")]
    def compose(self):
        yield Header()
        yield Input("bare-marker")
        yield Footer()
Bare().run()
"""
FIRST_FRAME = b"Reading profiles, cards and history"
WHICH = b"Which machine"
RUN_LOADED = b"No job card is picked"
DOWN_A_STATION = b"\x1b[6~"


@dataclass
class Terminal:
    """A program on a pseudo-terminal."""

    descriptor: int
    started: float
    written: bytes = b""

    def until(self, *markers: bytes) -> float:
        """Seconds from `started` to one of the markers in what was written since. RuntimeError when none comes."""
        end = time.perf_counter() + PATIENCE
        while time.perf_counter() < end:
            if select.select([self.descriptor], [], [], 0.5)[0]:
                self.written += os.read(self.descriptor, 65536)
                if any(marker in self.written for marker in markers):
                    return time.perf_counter() - self.started
        raise RuntimeError(f"{markers!r} was not written in {PATIENCE} s")

    def settle(self, seconds: float = 0.3) -> None:
        """Read what is written for that long; the blinking cursor never lets the terminal fall silent."""
        end = time.perf_counter() + seconds
        while (left := end - time.perf_counter()) > 0:
            if select.select([self.descriptor], [], [], left)[0]:
                self.written += os.read(self.descriptor, 65536)

    def send(self, keys: bytes) -> None:
        """Press keys; the clock starts anew."""
        self.written = b""
        self.started = time.perf_counter()
        os.write(self.descriptor, keys)


@contextmanager
def running(command: Sequence[str]) -> Iterator[Terminal]:
    """The command on a terminal of 80x24, ended at the end."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    environment = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
    environment.pop("NO_COLOR", None)
    started = time.perf_counter()
    process = subprocess.Popen(
        command, stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True
    )
    os.close(theirs)
    try:
        yield Terminal(ours, started)
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
        os.close(ours)


def first_frame(command: Sequence[str], marker: bytes) -> float:
    """Seconds from start to marker."""
    with running(command) as terminal:
        return terminal.until(marker)


def open_first(terminal: Terminal) -> None:
    """Load a run: where the terminal asks which machine, the first one."""
    terminal.until(WHICH, RUN_LOADED)
    if WHICH in terminal.written:
        terminal.settle()
        terminal.send(b"\r")
        terminal.until(RUN_LOADED)


def moves(command: Sequence[str]) -> tuple[list[float], list[float]]:
    """Seconds from a key to its paint, for station changes and for digits typed into a reading."""
    stations, digits = [], []
    with running(command) as terminal:
        terminal.until(FIRST_FRAME)
        open_first(terminal)
        terminal.settle(1.0)
        for number in range(2, 7):
            terminal.send(DOWN_A_STATION)
            stations.append(terminal.until(f"{number} of 11".encode()))
            terminal.settle()
        for digit in b"4", b".", b"4", b"5":
            terminal.send(digit)
            digits.append(terminal.until(digit))
            terminal.settle()
    return stations, digits


def main() -> None:
    """Print the figures; never fails on them."""
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder, "shop")
        preflight = [sys.executable, "-m", "preflight"]
        subprocess.run([*preflight, "init", str(shop)], check=True, capture_output=True)
        ours, bare = [], []
        app = [*preflight, "--shop", str(shop)]
        for _ in range(RUNS):
            bare.append(first_frame([sys.executable, "-c", BARE], b"bare-marker"))
            ours.append(first_frame(app, FIRST_FRAME))
        stations, digits = moves(app)
    ratio = statistics.median(ours) / statistics.median(bare)
    for name, seconds in (
        ("bare app to first frame", bare),
        ("preflight to first frame", ours),
        ("station change to paint", stations),
        ("key to paint", digits),
    ):
        median, worst = statistics.median(seconds) * 1e3, max(seconds) * 1e3
        print(f"{name:<25} median {median:5.0f} ms, worst {worst:5.0f} ms, of {len(seconds)}")
    print(f"ratio of first frames {ratio:.2f}, target at most {TARGET}")


if __name__ == "__main__":
    main()
