"""One process fills or renews an index at a time."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

from preflight.checklist.lock import Lock, try_lock

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextlib.contextmanager
def only_one(index: Path) -> Iterator[bool]:
    """Whether this process may fill; the lock is given back by a kill too."""
    with index.with_suffix(".lock").open("ab") as file:
        yield try_lock(file) is not Lock.TAKEN
