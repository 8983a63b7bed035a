"""Keys that are typed while nobody asks for any: not shown, and thrown away before a shell can read them.

Whoever thinks that a PIN was not taken types it once more. It must not stand on the screen, nor run as a command.
"""

from __future__ import annotations

import contextlib
import os
import select
import sys
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

QUIET = 1.5
"""Seconds without a key after which nobody is typing any more."""
LONGEST = 6.0
"""Seconds after which it ends in any case."""
TERMINAL = "/dev/tty"


@contextlib.contextmanager
def unheard(*, until_quiet: bool = False) -> Iterator[None]:
    """While it lasts keys are not shown, and in the end they are gone; `until_quiet`: not before nobody types.

    Does nothing where there is no terminal. On Windows what waits in the console is taken out in the end.
    """
    if sys.platform == "win32":
        yield
        _empty_console()
        return
    import termios

    try:
        handle = os.open(TERMINAL, os.O_RDWR | os.O_NOCTTY)
    except OSError:
        yield
        return
    try:
        before = termios.tcgetattr(handle)
        dark = [*before]
        dark[3] &= ~(termios.ECHO | termios.ICANON)
        termios.tcsetattr(handle, termios.TCSADRAIN, dark)
        try:
            yield
        finally:
            if until_quiet:
                _drain(handle)
            termios.tcsetattr(handle, termios.TCSAFLUSH, before)
    finally:
        os.close(handle)


def _drain(handle: int) -> None:
    end = time.monotonic() + LONGEST
    while time.monotonic() < end and select.select([handle], [], [], QUIET)[0]:
        if not os.read(handle, 4096):
            return


def _empty_console() -> None:
    if sys.platform == "win32":
        import msvcrt

        while msvcrt.kbhit():
            msvcrt.getwch()
