"""Opens the app at a terminal: the one place where the screens meet the clock, the host and the shop folder."""

from __future__ import annotations

import os
import socket
import sys
from typing import TYPE_CHECKING

from preflight import clock
from preflight.tui.app import PreflightApp
from preflight.tui.charset import charset
from preflight.tui.desk_door import DeskDoor

if TYPE_CHECKING:
    from pathlib import Path


def run(shop: Path, *, machine: str = "", marks: str = "auto") -> int:
    """Open the app on a shop folder and return the exit status when it is left."""
    door = DeskDoor(shop, machine, clock.now, token, socket.gethostname() or "terminal", os.getpid())
    try:
        PreflightApp(door.wiring(), charset(marks, sys.stdout.encoding or "")).run()
    finally:
        door.close()
    return 0


def token() -> str:
    """A random word for record ids and temporary files: what `secrets` gives, without its imports."""
    return os.urandom(16).hex()
