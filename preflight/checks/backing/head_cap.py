"""What a head may take and what it leaves: the one place where profile and defaults give a head's cap."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.engine.removal import CapTable, scratch_depth
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.engine.abrasives import Grit
    from preflight.sheet import BeltOnHead
    from preflight.shop.machine import Head, Machine


@dataclass(frozen=True, slots=True)
class HeadCap:
    """Most that a head takes in one pass, by grit, by its own maximum and by its platen; no factors, no motor."""

    cap: float
    """m"""
    basis: str
    """Profile field that binds."""
    source: str
    note: str
    """How the grit's cap was found."""


def cap_table(machine: Machine) -> CapTable:
    """The profile's caps, else those of common practice. Raises ValueError for a table that contradicts itself."""
    return CapTable(dict(machine.caps() or defaults.REMOVAL_CAPS))


def platen_is_down(head: Head, on: BeltOnHead | None) -> bool:
    """Whether this head's platen presses: its rules hold only then."""
    return head.has_platen and on is not None and on.platen == "down" and not on.lifted


def head_cap(machine: Machine, head: Head, on: BeltOnHead | None, grit: Grit) -> HeadCap:
    """The lowest of grit cap, the head's own maximum and, when down, the platen's. Raises ValueError as the table."""
    index = machine.heads.index(head) + 1
    found = cap_table(machine).cap(grit)
    source = machine.source if machine.removal_caps else defaults.PRACTICE
    best = HeadCap(found.cap, f"removal_caps {grit}", source, found.note)
    bounds = [(head.removal, f"heads.{index}.removal", machine.source)]
    if platen_is_down(head, on):
        stated = head.platen.removal if head.platen else None
        bounds.append((stated or defaults.PLATEN_REMOVAL, f"heads.{index}.platen.removal", machine.source))
    for limit, field, source in bounds:
        if limit is not None and limit.ceiling is not None and limit.ceiling < best.cap:
            best = HeadCap(limit.ceiling, field, limit.source or source, "")
    return best


def platen_coarsest(machine: Machine, head: Head) -> tuple[Grit, str]:
    """Coarsest grit that may run under a head's lowered platen, and where it comes from."""
    stated = head.platen.coarsest_grit if head.platen else None
    return (stated, machine.source) if stated else (defaults.PLATEN_COARSEST, defaults.PRACTICE)


def scratch_factor(head: Head, on: BeltOnHead | None) -> tuple[float, str]:
    """Scratch depth left as a share of the grain size, and where it comes from."""
    if head.scratch_factor is not None:
        return head.scratch_factor, "profile"
    if head.kind == "platen" or platen_is_down(head, on):
        kind = "platen"
    elif head.has_steel_drum:
        kind = "steel drum"
    else:
        soft = head.hardness_shore_a is not None and head.hardness_shore_a < defaults.SOFT_RUBBER
        kind = "soft rubber drum" if soft else "rubber drum"
    return defaults.SCRATCH_FACTOR[kind], defaults.MEMORY


def scratch_left(head: Head, on: BeltOnHead | None, grit: Grit) -> float:
    """Depth of the scratches a head leaves, m: the least that the next cutting head must take."""
    return scratch_depth(grit.grain_size, scratch_factor(head, on)[0])
