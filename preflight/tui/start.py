"""Opens the app at a terminal: the one place where the screens meet the clock, the host and the shop folder."""

from __future__ import annotations

import contextlib
import logging
import os
import socket
import sys
import threading
from typing import TYPE_CHECKING

from preflight import clock
from preflight.disk import Folder
from preflight.errors import PreflightError
from preflight.own_failure import OwnFailureError, logged
from preflight.tui.app import PreflightApp
from preflight.tui.charset import charset
from preflight.tui.desk_door import DeskDoor
from preflight.tui.key_gate import REST

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path


class ShopNotWritableError(PreflightError):
    """A shop folder in which nothing can be kept."""


CLOSED = "Preflight itself failed and was closed"


def run(shop: Path, *, machine: str = "", marks: str = "auto") -> int:
    """Open the app on a shop folder and return the exit status when it is left.

    PreflightError when nothing can be kept in that folder, and for a failure of the app itself, once it is logged.
    """
    require_writable(shop)
    door = DeskDoor(shop, machine, clock.now, token, socket.gethostname() or "terminal", os.getpid())
    app = PreflightApp(door.wiring(), charset(marks, sys.stdout.encoding or ""), rest=REST)
    try:
        with _failures_elsewhere(app):
            app.run()
    finally:
        door.close()
    if not app.failures:
        if app.unopened:
            raise PreflightError(app.unopened)
        return 0
    if os.environ.get("PREFLIGHT_DEBUG"):
        raise app.failures[0]
    draft = "what was entered is kept in the draft" if app.kept else "what was entered last could not be kept"
    raise OwnFailureError(f"{CLOSED}; {draft}, and {logged(app.failures, clock.now())}.")


def require_writable(shop: Path) -> None:
    """ShopNotWritableError where nothing can be kept or saved: said before a screen opens that would promise it."""
    probe = f".write-{token()[:8]}"
    try:
        with Folder.open(shop) as files:
            files.write_new(probe, b"", durable=False)
            files.remove(probe)
    except OSError as error:
        raise ShopNotWritableError(
            f"{shop}: this shop folder cannot be written: {error.strerror or error}. Nothing could be kept in it.",
            "Bring back the right to write there, or name another with --shop DIR.\n"
            "What is saved can still be read: preflight audit, preflight verify.",
        ) from error


@contextlib.contextmanager
def _failures_elsewhere(app: PreflightApp) -> Iterator[None]:
    """A failure outside the app's own messages closes it too, in place of a traceback across the screen.

    In a thread of ours that is the hook of threads; what a task left behind is told to a logger, at any time.
    """
    before, unheard = threading.excepthook, _Unheard(app.failures.append)

    def failed(ended: threading.ExceptHookArgs) -> None:
        if isinstance(ended.exc_value, Exception):
            app.call_later(app.fail, ended.exc_value)

    threading.excepthook = failed
    tasks = logging.getLogger("asyncio")
    tasks.addHandler(unheard)
    try:
        yield
    finally:
        threading.excepthook = before
        tasks.removeHandler(unheard)


class _Unheard(logging.Handler):
    """Takes errors of tasks that nobody waited for."""

    def __init__(self, take: Callable[[BaseException], None]) -> None:
        super().__init__(logging.ERROR)
        self._take = take

    def emit(self, record: logging.LogRecord) -> None:
        """The error alone: a message may quote values."""
        if record.exc_info and record.exc_info[1] is not None:
            self._take(record.exc_info[1])


def token() -> str:
    """A random word for record ids and temporary files: what `secrets` gives, without its imports."""
    return os.urandom(16).hex()
