"""A failure of the program itself: what its log keeps, and the sentence that a person gets instead of a traceback.

The log lies in the platform's log folder, outside every shop folder. It names what failed and where in the code, never
the values of variables: one of them could be a PIN. For the same reason the message of an error is left out where it
may quote what was typed or read.
"""

from __future__ import annotations

import os
import platform
import sys
import traceback
from pathlib import Path
from typing import TYPE_CHECKING

from preflight import __version__
from preflight.errors import OWN_FAILURE, PreflightError
from preflight.outside_text import joined

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

APP = "widebelt-preflight"
FILE = "failures.log"
LARGEST = 256 * 1024
"""Bytes after which the log is begun anew; the one before is kept."""
NAMES_ONLY = (OSError, AttributeError, NameError, ImportError, MemoryError, RecursionError)
"""Errors whose messages name files and parts of the code, and quote no value."""
PACKAGE = Path(__file__).parent


class OwnFailureError(PreflightError):
    """What a person is told when the program itself has failed."""

    def __init__(self, message: str) -> None:
        super().__init__(message, exit_status=OWN_FAILURE)


class InputFailedError(Exception):
    """The thread that reads the keyboard ended; the framework tells only where."""

    def __init__(self, kind: str, places: Iterable[tuple[str, int, str]]) -> None:
        super().__init__(kind)
        self.places = tuple(places)
        """File, line and function of each frame."""


def logged(errors: Iterable[BaseException], at: datetime) -> str:
    """Put the errors into the log; the end of a sentence that says where it is, or why there is none."""
    text = joined(line for error in errors for line in [*entry(error, at), ""]) + "\n"
    try:
        path = log_path()
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists() and path.stat().st_size > LARGEST:
            path.replace(path.with_name(f"{FILE}.1"))
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as log:
            log.write(text)
    except OSError as error:
        return f"no log of it could be written: {error.strerror or error}"
    return f"what happened stands in {path}"


def log_path() -> Path:
    """The log of this user."""
    import platformdirs

    return Path(platformdirs.user_log_dir(APP, appauthor=False), FILE)


def entry(error: BaseException, at: datetime) -> Iterator[str]:
    """Lines of the log for one error, the cause first."""
    system = f"Python {platform.python_version()}, {sys.platform}"
    yield f"{at.isoformat(timespec='seconds')}  preflight {__version__}, {system}"
    for one in _with_causes(error):
        yield f"{type(one).__module__}.{type(one).__qualname__}{_message(one)}"
        for frame in traceback.extract_tb(one.__traceback__):
            yield f"    {_place(frame.filename)}, line {frame.lineno}, in {frame.name}"
        yield from (f"    {_place(file)}, line {line}, in {name}" for file, line, name in getattr(one, "places", ()))


def _with_causes(error: BaseException) -> list[BaseException]:
    """The error and what led to it, the first one first."""
    chain: list[BaseException] = []
    one: BaseException | None = error
    while one is not None and one not in chain:
        chain.insert(0, one)
        one = one.__cause__ or (None if one.__suppress_context__ else one.__context__)
    return chain


def _message(error: BaseException) -> str:
    if isinstance(error, PreflightError) or not isinstance(error, NAMES_ONLY):
        return " (its message is left out: it may quote what was typed)"
    return f": {' '.join(str(error).split())}"


def _place(filename: str) -> str:
    """The file without the folders that it was installed in."""
    path = Path(filename)
    if path.is_relative_to(PACKAGE):
        return str(Path(PACKAGE.name, path.relative_to(PACKAGE)))
    return str(Path(*path.parts[-2:]))
