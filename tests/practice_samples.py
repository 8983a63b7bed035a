"""Sittings of practice run by hand, and a shop folder to keep them in."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import count
from typing import TYPE_CHECKING

from preflight.checklist.heading import Signature
from preflight.checks.finding import Verdict
from preflight.training.drill_file import written_drill
from preflight.training.records import MEANING, PracticeBook
from preflight.training.score import Judgement
from preflight.training.sitting import Sitting, begin

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from preflight.training.drill import Drill

AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def tokens(name: str) -> Callable[[], str]:
    numbers = count(1)
    return lambda: f"{name}{next(numbers):04d}".ljust(32, "0")


def judged(drill: Drill | str, *, right: bool = True, seconds: float = 20) -> Sitting:
    """A drill judged to the end: all right, or everything called ok."""
    sitting = begin(written_drill(drill) if isinstance(drill, str) else drill, 2)
    while not sitting.done:
        check = sitting.left[0]
        fault = next(iter(sitting.drill.faults_at(check)), None) if right else None
        verdict = sitting.result(check).verdict if right else Verdict.OK
        said = Judgement(check, verdict, fault.cause if fault else "", fault.remedy if fault else "", seconds)
        sitting = sitting.judging(said)
    return sitting


def by(name: str, at: datetime = AT, role: str = "operator") -> Signature:
    return Signature(name, role, MEANING, at)


def book(shop: Path, name: str = "token") -> PracticeBook:
    shop.mkdir(exist_ok=True)
    return PracticeBook(shop, tokens(name))
