"""A desk's clock, tokens and answers, for the tests of the desk."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Protocol

from preflight.tui.demo_shop import YESTERDAY

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from preflight.checklist.key_folder import KeyFolder
    from preflight.tui.desk import Desk
    from preflight.tui.run import Run

MORNING = datetime(2026, 11, 26, 6, 40, tzinfo=UTC)


class OpenDesk(Protocol):
    """What the fixture `desks` gives."""

    def __call__(
        self, shop: Path, *, machine: str = ..., host: str = ..., pid: int = ..., keys: KeyFolder | None = ...
    ) -> Desk: ...


class Clock:
    def __init__(self) -> None:
        self.now = MORNING

    def __call__(self) -> datetime:
        return self.now


def tokens(word: str) -> Callable[[], str]:
    counter = itertools.count()
    return lambda: f"{word}-token-{next(counter):06d}"


def filled(run: Run, **changes: str) -> Run:
    typed = {**run.typed, **YESTERDAY, **{key.replace("__", "."): text for key, text in changes.items()}}
    return run.resumed(typed, dict.fromkeys(typed, MORNING), {})
