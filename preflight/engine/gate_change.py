"""What advice on gates says: sets of changes, or the reason why no set helps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Thoroughness = Literal["complete", "ties cut short", "size not proven"]


@dataclass(frozen=True)
class GateChange:
    """One set of changes that makes everything hold. Both empty: nothing needs to change."""

    close: frozenset[str]
    open: frozenset[str]


@dataclass(frozen=True)
class NotByGates:
    """Why no set of gates helps."""

    kind: Literal["flow", "velocity", "combination", "not found"]
    """flow: a gate falls short however many others close. velocity: a run stays slow whatever opens.
    combination: flow and velocity exclude each other, or the fan leaves its curve. not found: too many sets to
    try them all, and none of those tried holds."""

    subject: str | None = None
    """The gate (flow) or run (velocity) that cannot be helped."""

    best: float | None = None
    """The most it can have, m³/s or m/s."""

    needed: float | None = None


@dataclass(frozen=True)
class GateAdvice:
    """The answer: options, or the reason why there are none."""

    options: tuple[GateChange, ...]
    """Equally small sets of changes; those that open no gate but make-up gates come first."""

    reason: NotByGates | None
    search: Thoroughness
    """complete: the smallest size and every tie. ties cut short: the size is the smallest, more ties may exist.
    size not proven: too many sets to try; the one option holds and none of its changes can be spared."""
