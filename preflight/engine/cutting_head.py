"""One head ready to cut: its grit and state, what binds its removal, and what it leaves behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from preflight.engine.removal import (
    clamped_factor,
    removal_at_load,
    scratch_depth,
    specific_energy,
)

if TYPE_CHECKING:
    from preflight.engine.abrasives import Grit
    from preflight.engine.removal import CapTable

CAP_CAUTION: Final = 0.80
"""Share of a cap above which a cut is a caution; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Cut:
    """What the whole job asks of every head at a time."""

    width: float
    """width of wood under the belt, m"""
    feed_speed: float
    """m/s"""
    density: float
    """kg/m3"""


@dataclass(frozen=True, slots=True)
class HeadMotor:
    """A head's motor and how much of it a cut may use."""

    power: float
    """W"""
    caution: float
    """share of the power above which a cut is a caution, 0 to 1"""
    stop: float
    """share that no cut may pass, 0 to 1, not below `caution`"""


@dataclass(frozen=True, slots=True)
class CuttingHead:
    """A head with its belt on, as the removal plan needs it."""

    id: str
    grit: Grit
    caps: CapTable
    scratch_factor: float
    """0 to 1"""
    maximum: float | None = None
    """the head's own maximum from the profile, m; None: no such limit"""
    factors: tuple[float, ...] = ()
    """wood, belt age, feed …; each held at 1"""
    motor: HeadMotor | None = None
    """None: motor not judged"""
    can_lift: bool = True
    platen: bool = False
    """the platen is down; it finishes, it does not remove"""
    coarsest: Grit | None = None
    """coarsest grit that may run on this head, or under its lowered platen"""
    finest: Grit | None = None


@dataclass(frozen=True, slots=True)
class HeadCap:
    """What a head may take in one pass."""

    cap: float
    """m"""
    comfort: float
    """m; up to here neither the cap nor the motor is a caution"""
    binding: str
    """what sets the cap: "grit", "head maximum" or "motor" """
    note: str
    """how the grit's cap was found"""
    full_load: float | None
    """removal at full motor power, m"""


def head_cap(head: CuttingHead, cut: Cut) -> HeadCap:
    """Cap = min(grit cap × factors, head maximum, removal at the most its motor may bear), m.

    Raises ValueError for values out of range.
    """
    grit_cap = head.caps.cap(head.grit)
    bounds = {"grit": grit_cap.cap * clamped_factor(head.factors)}
    if head.maximum is not None:
        if not head.maximum > 0:
            raise ValueError(f"the maximum removal of head {head.id} must be above zero")
        bounds["head maximum"] = head.maximum
    full_load: float | None = None
    if head.motor is not None:
        energy = specific_energy(head.grit.grain_size, cut.density)
        full_load = removal_at_load(1.0, head.motor.power, energy, cut.width, cut.feed_speed)
        bounds["motor"] = head.motor.stop * full_load
    binding = min(bounds, key=lambda name: bounds[name])
    cap = bounds[binding]
    comfort = CAP_CAUTION * min(value for name, value in bounds.items() if name != "motor")
    if head.motor is not None and full_load is not None:
        comfort = min(comfort, head.motor.caution * full_load)
    return HeadCap(cap, min(comfort, cap), binding, grit_cap.note, full_load)


def head_scratch(head: CuttingHead) -> float:
    """Depth of the scratches this head leaves, m: what the next lowered head must take at least."""
    return scratch_depth(head.grit.grain_size, head.scratch_factor)


def why_barred(head: CuttingHead) -> str:
    """Why this grit may not run on this head as it stands; empty when it may."""
    what = "the lowered platen" if head.platen else f"head {head.id}"
    if head.coarsest is not None and head.grit.coarser_than(head.coarsest):
        return f"{head.grit} is coarser than {head.coarsest}, the coarsest for {what}"
    if head.finest is not None and head.grit.finer_than(head.finest):
        return f"{head.grit} is finer than {head.finest}, the finest for {what}"
    return ""
