"""What is asked about a station before anything is shown: what is wrong and what to do, to choose from."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import TYPE_CHECKING

from preflight.training.faults import faults_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.training.drill import Drill
    from preflight.training.fault import Fault

CHOICES = 4
"""Lines to choose from; the right one is among them when something is wrong."""


@dataclass(frozen=True, slots=True)
class Question:
    """Lines to choose one from."""

    ask: str
    choices: tuple[str, ...]


def causes(drill: Drill, check: str) -> Question:
    """What may be wrong at a station. Asked alike where nothing is, so that being asked gives nothing away."""
    right = [fault.cause for fault in drill.faults_at(check)]
    return Question("What is wrong?", _mixed(drill, check, "cause", right, (f.cause for f in _others(drill, check))))


def remedies(drill: Drill, check: str) -> Question:
    """What may be done about it."""
    right = [fault.remedy for fault in drill.faults_at(check)]
    others = (fault.remedy for fault in _others(drill, check))
    return Question("What do you do first?", _mixed(drill, check, "remedy", right, others))


def _others(drill: Drill, check: str) -> list[Fault]:
    """Faults of that station that are not planted here."""
    planted = {fault.fault for fault in drill.planted}
    return [fault for fault in faults_of(check) if fault.id not in planted]


def _mixed(drill: Drill, check: str, what: str, right: list[str], others: Iterable[str]) -> tuple[str, ...]:
    """The right lines and some wrong ones, in an order that is the same whenever this drill is run."""
    random = Random(f"{drill.id}/{check}/{what}")
    wrong = [line for line in dict.fromkeys(others) if line not in right]
    random.shuffle(wrong)
    lines = list(dict.fromkeys([*right, *wrong]))[: max(CHOICES, len(right))]
    random.shuffle(lines)
    return tuple(lines)
