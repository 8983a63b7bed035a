"""Every command on one shop folder, each in a process of its own that is measured and cannot run away.

The processes are forked from one that has everything imported, so that a grid of thousands takes minutes.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import os
import pkgutil
import pty
import resource
import select
import signal
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass
from typing import TYPE_CHECKING

import preflight
from preflight.__main__ import main

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

SECONDS = 5.0
MEGABYTES = 500
CUT_OFF = 30.0
"""Seconds after which a process is ended, whatever the machine does besides."""
ADDRESS_SPACE = 3_000_000_000
FIRST_FRAME = b"\x1b[?1049h"
"""The screen has been taken."""
REST = 0.8
"""Seconds without a change after which the app is taken to have said what it has to say."""
PERSON = "D. Marrow"
PART = "180 mm x 700 mm x 19 mm, 60"


@dataclass(frozen=True, slots=True)
class Ended:
    """How one process ended."""

    status: int
    """Its exit status; below zero the signal that ended it."""
    wall: float
    cpu: float
    """Seconds."""
    megabytes: float
    """Most memory it had."""
    text: str
    """What it wrote."""

    @property
    def hung(self) -> bool:
        """It was ended from outside."""
        return self.status == -signal.SIGKILL

    @property
    def over(self) -> str:
        """Which bound it broke; its own seconds count, since others work on the machine too."""
        if self.hung:
            return "hung"
        if self.megabytes > MEGABYTES:
            return f"{self.megabytes:.0f} MB"
        return f"{self.cpu:.1f} s" if self.cpu > SECONDS else ""


def commands(shop: Path) -> dict[str, list[str]]:
    """Every command that reads a shop folder, by what to call it."""
    sheet, run = str(shop / "sheets" / "ok-two-heads.toml"), str(shop / "sheets" / "run.toml")
    here = ["--shop", str(shop)]
    return {
        "assess": ["assess", sheet],
        "assess --shop": ["assess", sheet, *here],
        "assess sample --json": ["assess", "ok-two-heads", "--json", *here],
        "airflow": ["airflow", "--open", "two-1,two-2", "--machine", "hall-two", *here],
        "airflow --extraction": ["airflow", "--open", "two-1", "--extraction", "hall-duct", *here],
        "feed": ["feed", "--machine", "hall-two", "--part", PART, *here],
        "marks": ["marks", "--machine", "hall-two", "--span", "121 mm", "--count", "10", *here],
        "belts": ["belts", "--machine", "hall-two", "--head", "1", "--job", "ash-stair-treads", *here],
        "profiles check": ["profiles", "check", *here],
        "profiles check ID": ["profiles", "check", "hall-two", *here],
        "profiles approve": ["profiles", "approve", "hall-two", *here],
        "people list": ["people", "list", *here],
        "people head": ["people", "head", *here],
        "record show": ["record", "show", "hall-two", "1", *here],
        "record countersign": ["record", "countersign", "hall-two", "1", "--by", "E. Quist", "--role", "lead", *here],
        "record correct": [
            *("record", "correct", "hall-two", "1", "--key", "tension.1", "--text", "4.1"),
            *("--reason", "misread", "--by", PERSON, *here),
        ],
        "record late": ["record", "late", "hall-two", sheet, "--why", "power was off", "--by", PERSON, *here],
        "run-record": ["run-record", run, "--by", PERSON, *here],
        "verify": ["verify", str(shop)],
        "verify --json": ["verify", str(shop), "--json"],
        "audit today": ["audit", "today", *here],
        "audit list": ["audit", "list", *here],
        "audit show": ["audit", "show", "hall-two/1", *here],
        "audit patterns": ["audit", "patterns", *here],
        "audit trends": ["audit", "trends", *here],
        "audit report": ["audit", "report", *here],
        "audit form": ["audit", "form", "--machine", "hall-two", *here],
        "audit rebuild": ["audit", "rebuild", "--processes", "1", *here],
        "train list": ["train", "list"],
        "train standing": ["train", "standing", *here],
        "train run": ["train", "run", "fan-last", "--as", PERSON, *here],
        "where": ["where", *here],
    }


def import_everything() -> None:
    """So that what is forked starts at once."""
    for module in pkgutil.walk_packages(preflight.__path__, "preflight."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    gc.collect()
    gc.freeze()


def run(argv: Sequence[str]) -> Ended:
    """One command line in a forked process, without a terminal."""
    with tempfile.TemporaryFile() as written:
        began = time.monotonic()
        process = os.fork()
        if process == 0:
            _become(argv, os.open(os.devnull, os.O_RDONLY), written.fileno())
        status, usage = _wait(process)
        wall = time.monotonic() - began
        written.seek(0)
        text = written.read(200_000).decode("utf-8", "replace")
    return Ended(status, wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, text)


def open_app(shop: Path, *, markers: Sequence[bytes]) -> Ended:
    """The app at a terminal of 80x24, until one of the markers stands on it or it has ended; then it is left."""
    began = time.monotonic()
    process, terminal = pty.fork()
    if process == 0:
        os.environ.update(LINES="24", COLUMNS="80", TERM="xterm-256color")
        _become(["--shop", str(shop)], None, None)
    written, changed, shown_at, asked = b"", 0.0, 0.0, 0.0
    for data in _read(terminal, CUT_OFF):
        written += data
        now = time.monotonic() - began
        changed = now if data else changed
        stands = any(marker in written for marker in markers)
        at_rest = FIRST_FRAME in written and (now - changed > REST or now > 8 * REST)  # a cursor may go on blinking
        if not shown_at and (stands or at_rest):
            shown_at = changed
        if shown_at and now - shown_at > REST and now - asked > 0.5:  # a moment for what comes after the first frame
            asked = now
            with contextlib.suppress(OSError):
                os.write(terminal, b"\x1b\x111")  # Esc, leave, yes
    status, usage = _wait(process, 1.0)
    os.close(terminal)
    cpu = usage.ru_utime + usage.ru_stime
    wall = shown_at or time.monotonic() - began
    return Ended(0 if shown_at else status, wall, cpu, usage.ru_maxrss / 1024, written.decode("utf-8", "replace"))


def _become(argv: Sequence[str], stdin: int | None, stdout: int | None) -> None:
    """The command, in the forked process; never returns."""
    status = 99
    try:
        resource.setrlimit(resource.RLIMIT_AS, (ADDRESS_SPACE, ADDRESS_SPACE))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        if stdin is not None and stdout is not None:
            os.setsid()  # no terminal to ask a secret at
            os.dup2(stdin, 0)
            os.dup2(stdout, 1)
            os.dup2(stdout, 2)
        # streams of its own: those of the process that measures know what that one's lead to
        for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
            stream = os.fdopen(number, mode)
            setattr(sys, name, stream)
            setattr(sys, f"__{name}__", stream)  # what the screens write to
        status = main(list(argv))
        sys.stdout.flush()
        sys.stderr.flush()
    finally:  # whatever it is, it must not go on in a copy of the process that measures
        if sys.exc_info()[0] is not None:
            os.write(2, traceback.format_exc().encode())
        os._exit(status)


def _wait(process: int, seconds: float = CUT_OFF) -> tuple[int, resource.struct_rusage]:
    """Wait for a process, and end it when that takes too long."""
    end = time.monotonic() + seconds
    while True:
        found, status, usage = os.wait4(process, os.WNOHANG)
        if found:
            return os.waitstatus_to_exitcode(status), usage
        if time.monotonic() > end:
            os.kill(process, signal.SIGKILL)
            end += 1e9
        time.sleep(0.005)


def _read(terminal: int, seconds: float) -> Iterator[bytes]:
    """What is written to a terminal, in pieces, empty ones while nothing comes, until it is closed or time is over."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        if not select.select([terminal], [], [], min(left, 0.1))[0]:
            yield b""
            continue
        try:
            data = os.read(terminal, 65536)
        except OSError:
            return
        if not data:
            return
        yield data
