"""Limits of common practice that stand in where a profile is silent, each with its source.

A shop's own machine book or belt label beats every figure here; one used unconfirmed says "default" on screen.
"""

from __future__ import annotations

from typing import Final

from preflight.engine.abrasives import Grit
from preflight.quantities import Kind, parse
from preflight.shop.limits import Limit
from preflight.shop.machine import ShareLimit

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
FEED_SPEED: Final = parse("6 m/min", Kind.FEED_SPEED)
"""Planned where nobody chose one; common practice, no source."""
BELT_CONE: Final = _limit(Kind.LENGTH, PRACTICE, high="2 mm", caution_high="1 mm")
RUN_DOWN: Final = _limit(
    Kind.TIME, "default: WIS38 of the UK safety authority as quoted, 10 s", high="10 s", caution_high="8 s"
)
RUN_DOWN_LEAST: Final = parse("0.5 s", Kind.TIME)
"""No drum stands in less: a shorter time was not measured; common practice, no source."""
AIR_MOST: Final = parse("12 bar", Kind.PRESSURE)
"""More than any shop's compressed air has; common practice, no source."""
TENSION_DRIFT: Final = _limit(Kind.PRESSURE, PRACTICE, caution_high="0.3 bar")
"""Gauge against the last start-up with the same belt, either way."""
IDLE_CURRENT_RISE: Final = 1.25
"""Idle current over its baseline from which care is asked; common practice, no source."""
MOTOR_LOAD: Final = ShareLimit(high=0.90, caution_high=0.70, source=PRACTICE)
"""Share of a head's motor that a cut may take."""
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
AIR_DISAGREES: Final = 0.15
"""A reading further than this share from the duct model is said; common practice, no source."""
AIR_BEYOND: Final = 2.0
"""A reading beyond this many times what the gate draws in the model with no other open cannot be; common practice, no
source."""
SUCTION_BLOCKED: Final = 1.15
"""Hood static above this share of its baseline: blocked before the tap; common practice, no source."""
FILTER_DIRTY: Final = 1.5
"""A filter drop above this many times the clean one asks for cleaning; common practice, no source."""
FILTER_LEAST: Final = 1 - AIR_DISAGREES
"""Share of the clean drop at the modelled flow below which a filter drop tells nothing of the filter."""
FILTER_NONE: Final = 0.5
"""Share below which it cannot be at all, however little air there is; common practice, no source."""
BIN_LEAST: Final = 0.01
"""Nobody reads a bin finer than a hundredth; common practice, no source."""
DUST_NOTED: Final = 0.25
"""Dust per air above this share of the explosive limit gets one note a job; common practice, no source."""
BIN_FULL: Final = 0.95
"""A bin this full takes no more; common practice, no source."""

TAPER: Final = _limit(Kind.LENGTH, PRACTICE, high="0.20 mm", caution_high="0.10 mm")
CROWN: Final = _limit(Kind.LENGTH, PRACTICE, high="0.20 mm", caution_high="0.10 mm")
SNIPE: Final = _limit(Kind.LENGTH, PRACTICE, high="0.15 mm", caution_high="0.05 mm")
REMOVAL_ERROR: Final = _limit(Kind.LENGTH, PRACTICE, high="0.20 mm", caution_high="0.10 mm")
HOLLOW_BOARDS: Final = 3
HOLLOW_DAYS: Final = 14
"""Boards before today's, over so many days at the least, all thicker in the middle: a hollow drum; common practice, no
source."""
MIDDLE_FED: Final = 1.5
"""Wood on the middle third over that on an outer third from which feeding is called one-sided; common practice, no
source."""
REPEAT: Final = _limit(Kind.LENGTH, PRACTICE, high="0.05 mm", caution_high="0.03 mm")

SCRATCH_FACTOR: Final = {"steel drum": 0.35, "rubber drum": 0.30, "soft rubber drum": 0.22, "platen": 0.18}
"""Scratch depth left, as a share of the grain size; from memory. Soft rubber: below 45 Shore A."""
SOFT_RUBBER: Final = 45.0
HARD_RUBBER: Final = 70.0
"""Shore A from which a rubber drum is a sizing drum, which takes any joint; common practice, no source."""

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

PART_WIDTH: Final = _limit(Kind.LENGTH, PRACTICE, low="50 mm")
PART_THICKNESS: Final = _limit(Kind.LENGTH, PRACTICE, low="3 mm")
LENGTH_OVER_HOLD_DOWN: Final = parse("50 mm", Kind.LENGTH)
"""A part is longer than the gap between two hold-down rollers by at least this."""
WIDTH_PER_THICKNESS: Final = 1.5
"""A part narrower than this many times its thickness tips over; common practice, no source."""
EVENNESS: Final = 0.90
"""Share of the best evenness below which another place is asked for; common practice, no source."""
FEED_SPACING: Final = parse("100 mm", Kind.LENGTH)
"""Room between one feed and the next along the conveyor; common practice, no source."""
PLACES_UNMARKED: Final = 10
"""Places counted across a bed without marks; common practice, no source."""
MOST_PLANNED: Final = 1000
"""Boards planned at once; more go in lots of the same plan."""
CALIPER_STEP: Final = _limit(Kind.LENGTH, PRACTICE, low="0.0005 mm", high="0.5 mm")
"""Smallest step that a caliper or micrometer can show."""
STOCK_NEAR: Final = 1.5
"""Stock is seldom thicker than this many times what it is sanded to; common practice, no source."""
SPREAD_SHARE: Final = 0.5
"""A spread of thickness above this share of the first head's cap asks for sorting; common practice, no source."""
HARD_GLUE: Final = 2.0
"""Cured glue bites like this many times its height of wood; from memory."""

WIDE_MACHINE: Final = parse("1 m", Kind.LENGTH)
BELT_CONE_WIDE: Final = _limit(Kind.LENGTH, PRACTICE, high="2.5 mm", caution_high="1.5 mm")
"""Cone of a belt on a machine of `WIDE_MACHINE` or more."""
SIZE_NEIGHBOURS: Final = (("1900 mm", "75 in"), ("2620 mm", "103 in"), ("1525 mm", "60 in"))
"""Belt lengths in mm and inches that are taken for one another; the arithmetic is exact, the pairs practice."""
NEAR_SIZE: Final = parse("2 mm", Kind.LENGTH)
"""A reading this near to a nominal size is taken for it."""

WEIGHINGS_APART: Final = parse("4 h", Kind.HOURS)
WEIGHINGS_AGREE: Final = 0.005
"""Two weighings of a washed belt within this share of the first: dry; common practice, no source."""
MOST_WASHES: Final = 2

HARDNESS_DRIFT: Final = 5.0
"""Shore A points from the drum's nominal hardness at which care is asked; common practice, no source."""
RUN_OUT: Final = _limit(Kind.LENGTH, PRACTICE, high="0.10 mm", caution_high="0.05 mm")
RUN_OUT_FINISHING: Final = _limit(Kind.LENGTH, PRACTICE, high="0.06 mm", caution_high="0.03 mm")
"""Run-out of the last head's drum, which leaves the finish."""
CONVEYOR_CRACK: Final = _limit(Kind.LENGTH, PRACTICE, high="25 mm", caution_high="0 mm")
COVER_HOURS: Final = _limit(Kind.HOURS, PRACTICE, high="40 h")
LAP_FINEST: Final = Grit("P", 120)
"""A lap joint marks the finish of finer grits; common practice, no source."""
HEAVY_CLOTH_FINEST: Final = Grit("P", 100)
GRIT_STEP_LEAST: Final = 1.15
"""Ratio of two grain sizes below which the second head hardly refines; common practice, no source."""
JOINT_STEP: Final = _limit(Kind.LENGTH, MEMORY, caution_high="0.20 mm")
JOINT_STEP_FINISHING: Final = _limit(Kind.LENGTH, MEMORY, caution_high="0.05 mm")
"""Thickness at a belt's joint over its body, on a head that sizes and on the one that leaves the finish."""
DRESSING_COARSEST: Final = 120
"""A conveyor is dressed with this grade or finer, on either scale; common practice, no source."""
SWING_RATIO: Final = (0.8, 1.25)
SWING_RATIO_STOP: Final = (0.67, 1.5)
"""Time out over time back of one swing of a belt: care outside the first, stop outside the second; common practice,
no source."""
FEED_OFF: Final = 0.05
FEED_OFF_STOP: Final = 0.10
"""Share by which a timed feed may differ from the one set; common practice, no source."""
SHIFT: Final = parse("8 h", Kind.HOURS)
"""Counted as use from one start-up to the next where no run record says; common practice, no source."""
WEEK_DAYS: Final = 7
TENSION_CREEP: Final = 10
"""How many earlier start-ups with the same belt a slow drift is looked for in; common practice, no source."""
ALWAYS_DUE: Final = (("weekly clean-out", "7 d"), ("general service", "30 d"))
"""Weekly is the aim, monthly the least; due on every machine, unless its profile names the item itself. Common
practice, no source."""
DUE_SHOWN: Final = 0.9
DUE_STOPS: Final = 1.2
"""Shares of an interval: shown as due, and (safety devices only) a stop; common practice, no source."""
