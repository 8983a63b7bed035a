"""A command on a pseudo-terminal of its own, as a person has it: keys in, paint out, an exit status in the end."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import sys
import termios
import time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

ROOT = Path(__file__).parents[1]
F2, F3, F4, F7, F8 = b"\x1bOQ", b"\x1bOR", b"\x1bOS", b"\x1b[18~", b"\x1b[19~"
CTRL_Q, CTRL_R, ENTER = b"\x11", b"\x12", b"\r"
PATIENCE = 60.0
CONTROLS = re.compile(rb"\x1b(\[[0-9;?<>=]*[ -/]*[@-~]|\][^\x07]*\x07|[PX^_].*?\x1b\\|.)", re.DOTALL)


class AtTerminal:
    """Use it in a `with`: what still runs at its end is killed."""

    def __init__(
        self, *arguments: str, program: Sequence[str] = ("-m", "preflight"), changes: Mapping[str, str] | None = None
    ) -> None:
        """changes: environment variables other than those of the tests."""
        self.written = b""
        self.status: int | None = None
        """Exit status, minus the signal of a killed one; None while it runs."""
        environment = {**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'tests'}", **(changes or {})}
        self._mark = 0
        """How far `until` has looked."""
        self._pid, self._terminal = pty.fork()
        if self._pid == 0:
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
            os.execve(sys.executable, [sys.executable, *program, *arguments], environment)

    def __enter__(self) -> AtTerminal:
        return self

    def __exit__(self, *_: object) -> None:
        if self.status is None:
            os.kill(self._pid, signal.SIGKILL)
            self._ended()
        os.close(self._terminal)

    @property
    def text(self) -> str:
        """Everything written so far without what only moves the cursor and sets colours."""
        return CONTROLS.sub(b"", self.written).decode(errors="replace")

    def send(self, keys: bytes) -> None:
        """Keys in one write."""
        os.write(self._terminal, keys)

    def until(self, text: str) -> None:
        """Read until that was painted after what was looked for before."""
        mark, end = self._mark, time.monotonic() + PATIENCE
        while text not in CONTROLS.sub(b"", self.written[mark:]).decode(errors="replace"):
            if time.monotonic() > end or not self._read(0.5):
                raise AssertionError(f"{text!r} was not painted; status {self.status}, last: {self.text[-1500:]!r}")
        self._mark = len(self.written)

    def stall(self, seconds: float, keys: bytes) -> None:
        """The command stands still while the keys are typed, then finds all of them at once."""
        os.kill(self._pid, signal.SIGSTOP)
        self.send(keys)
        time.sleep(seconds)
        os.kill(self._pid, signal.SIGCONT)

    def quiet(self, seconds: float) -> None:
        """Read for that long."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and self._read(0.05):
            pass

    def ended(self) -> int:
        """Read to the end; the exit status."""
        end = time.monotonic() + PATIENCE
        while self._read(0.5):
            assert time.monotonic() < end, f"it does not end; last: {self.text[-1500:]!r}"
        assert self.status is not None
        return self.status

    def _read(self, seconds: float) -> bool:
        """Whether the command still runs."""
        if not select.select([self._terminal], [], [], seconds)[0]:
            return True
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
