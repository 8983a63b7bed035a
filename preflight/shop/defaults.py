"""Limits of common practice that stand in where a profile is silent, each with its source.

A shop's own machine book or belt label beats every figure here; one used unconfirmed says "default" on screen.
"""

from __future__ import annotations

from typing import Final

from preflight.engine.abrasives import Grit
from preflight.quantities import Kind, parse
from preflight.shop.limits import Limit

PRACTICE: Final = "default: common practice, no source"
MEMORY: Final = "default: from memory"


def _limit(kind: Kind, source: str, **bounds: str) -> Limit:
    return Limit(**{name: parse(text, kind) for name, text in bounds.items()}, source=source)


TENSION: Final = {
    "paper": _limit(Kind.PRESSURE, PRACTICE, low="45 psi", high="55 psi"),
    "cloth X": _limit(Kind.PRESSURE, PRACTICE, low="55 psi", high="65 psi"),
    "cloth heavier": _limit(Kind.PRESSURE, PRACTICE, low="65 psi"),
}
"""Gauge pressure by backing; light cloth has none, and heavier cloth needs its upper end from the profile."""

REMOVAL_CAPS: Final = (
    (Grit("P", 80), parse("0.024 in", Kind.LENGTH).value),
    (Grit("P", 150), parse("0.0065 in", Kind.LENGTH).value),
)
"""Most that a grit takes in one pass (grit, metres)."""

PLATEN_REMOVAL: Final = _limit(Kind.LENGTH, PRACTICE, high="0.002 in")
PLATEN_COARSEST: Final = Grit("P", 150)
PAPER_FROM: Final = Grit("P", 120)
BELT_CONE: Final = _limit(Kind.LENGTH, PRACTICE, high="2 mm", caution_high="1 mm")
RUN_DOWN: Final = _limit(
    Kind.TIME, "default: WIS38 of the UK safety authority as quoted, 10 s", high="10 s", caution_high="8 s"
)
AIR_LEAK: Final = _limit(Kind.PRESSURE, PRACTICE, high="0.3 bar")
BEAD: Final = _limit(Kind.LENGTH, PRACTICE, high="0.3 mm", caution_high="0 mm")
GLUE_WAIT: Final = parse("24 h", Kind.HOURS)
GLUE_MARGIN: Final = parse("10 mm", Kind.LENGTH)
"""Added to a glue line and the oscillation stroke for the keep-off strip."""

AIR_SPEED: Final = _limit(
    Kind.AIR_SPEED,
    "default: industrial-ventilation practice, 3500 to 4000 fpm, from memory",
    low="17.8 m/s",
    caution_low="20 m/s",
)
AIR_SPEED_DAMP: Final = _limit(Kind.AIR_SPEED, MEMORY, low="17.8 m/s", caution_low="28 m/s")
EXPLOSIVE_LIMIT: Final = parse("40 g/m3", Kind.DENSITY)
"""Assumed lower explosive limit of wood dust in air, from memory."""
BULK_DENSITY: Final = parse("200 kg/m3", Kind.DENSITY)

TAPER: Final = _limit(Kind.LENGTH, PRACTICE, high="0.20 mm", caution_high="0.10 mm")
CROWN: Final = _limit(Kind.LENGTH, PRACTICE, high="0.20 mm", caution_high="0.10 mm")
SNIPE: Final = _limit(Kind.LENGTH, PRACTICE, high="0.15 mm", caution_high="0.05 mm")
REMOVAL_ERROR: Final = _limit(Kind.LENGTH, PRACTICE, high="0.20 mm", caution_high="0.10 mm")
REPEAT: Final = _limit(Kind.LENGTH, PRACTICE, high="0.05 mm", caution_high="0.03 mm")

SCRATCH_FACTOR: Final = {"steel drum": 0.35, "rubber drum": 0.30, "soft rubber drum": 0.22, "platen": 0.18}
"""Scratch depth left, as a share of the grain size; from memory. Soft rubber: below 45 Shore A."""
SOFT_RUBBER: Final = 45.0

DENSITIES: Final = {
    "poplar": 450.0,
    "pine": 500.0,
    "alder": 450.0,
    "cherry": 560.0,
    "walnut": 610.0,
    "ash": 680.0,
    "hard maple": 705.0,
    "red oak": 700.0,
    "white oak": 755.0,
    "beech": 720.0,
    "mdf": 740.0,
    "particleboard": 660.0,
}
"""kg/m3 at about 12 % moisture, rounded, from memory."""
DENSITY: Final = 650.0
"""kg/m3 where the material is not in the table; from memory."""
