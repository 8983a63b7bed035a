"""The safe copy of a draft: written by a thread that waits for the disk, so that no keystroke does."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from preflight.disk import Folder

if TYPE_CHECKING:
    from pathlib import Path


class SafeCopy:
    """A copy of the draft that waits for the disk, in a thread, so that no keystroke does."""

    def __init__(self, folder: Path, machine: str, seconds: float) -> None:
        self.path = folder / f".{machine}.safe.json"
        """The file."""
        self.seconds = seconds
        """Least time between two writes."""
        self.trouble = ""
        """Why the last write failed, as a sentence; empty when all is well."""
        self._latest: bytes | None = None
        self._changed = threading.Condition()
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None

    def follow(self, data: bytes) -> None:
        """Write `data` as soon as may be; of several that come meanwhile only the last."""
        with self._changed:
            self._latest = data
            self._changed.notify()
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="draft-safe-copy", daemon=True)
            self._thread.start()

    def stop(self, *, drop: bool = False) -> None:
        """End the thread, after its last write or, with `drop`, without it."""
        with self._changed:
            if drop:
                self._latest = None
            self._stopping.set()
            self._changed.notify()
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._latest is not None or self._stopping.is_set())
                data, self._latest = self._latest, None
            if data is None:
                return
            self._write(data)
            self._stopping.wait(self.seconds)  # later changes gather meanwhile; only the last is written

    def _write(self, data: bytes) -> None:
        try:
            with Folder.open(self.path.parent.parent, self.path.parent.name) as files:
                files.replace(self.path.name, data)
        except OSError as error:
            self.trouble = " ".join(cannot_be_kept(error, self.path.parent))
        else:
            self.trouble = ""


def cannot_be_kept(error: OSError, folder: Path) -> tuple[str, str]:
    """Message and hint for a draft that cannot be written."""
    reason = error.strerror or str(error)
    return (
        f"The draft in {folder} cannot be kept: {reason}.",
        "What is on the screen is not on disk: make room, or bring the folder and the right to write there back.",
    )
