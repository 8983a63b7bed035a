"""Harder rubber first, softer towards the finish: a machine that has it the other way is told, not stopped."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.shop.machine import Machine


def hardness_order(machine: Machine) -> list[Finding]:
    """A caution for each drum that is harder than the one before it; steel counts as hardest."""
    drums = [
        (head, 100.0 if head.has_steel_drum else head.hardness_shore_a)
        for head in machine.heads
        if head.has_steel_drum or head.hardness_shore_a is not None
    ]
    return [
        Finding(
            f"head {after.id} hardness",
            Verdict.CAUTION,
            f"Head {after.id} ({_words(after.has_steel_drum, hard)}) is harder than head {before.id} before it "
            f"({_words(before.has_steel_drum, soft)}).",
            "Harder sizes, softer finishes: look at the finish on the test board, and have the drums looked at.",
            measured=_words(after.has_steel_drum, hard),
            basis=f"{machine.head_key(after.id)}.hardness_shore_a",
            source=defaults.PRACTICE,
            actions=("test board looked at first", "lead told"),
        )
        for (before, soft), (after, hard) in pairwise(drums)
        if soft is not None and hard is not None and hard > soft
    ]


def _words(steel: bool, shore: float | None) -> str:
    return "steel" if steel else f"{shore:g} Shore A"
