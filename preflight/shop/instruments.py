"""What each instrument at the machine can show at all, and the field types of what is read with it.

A reading outside its instrument's span was mistyped, or never read. Far wider than any limit: these spans judge
nothing, they tell a reading from a slip of the hand. Common practice, no source, throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from preflight.quantities import Kind, Quantity, parse
from preflight.shop.fields import Written


@dataclass(frozen=True, slots=True)
class Instrument:
    """One kind of instrument, and the span of what it shows."""

    name: str
    """With its article: "a stopwatch"."""
    least: Quantity
    most: Quantity
    signed: bool = False
    """Suction may be written with its sign: the span is that of the figure without it."""

    def refusal(self, reading: Quantity) -> str:
        """Why this cannot be a reading, one sentence that names it and the span; empty when it can."""
        value = abs(reading.value) if self.signed else reading.value
        if self.least.value <= value <= self.most.value:
            return ""
        return f"{reading.text!r} is not what {self.name} shows: {self.least} to {self.most}; read it again"


def _span(name: str, kind: Kind, least: str, most: str, *, signed: bool = False) -> Instrument:
    return Instrument(name, parse(least, kind), parse(most, kind), signed)


CALIPER = _span("a caliper on a board", Kind.LENGTH, "0.1 mm", "600 mm")
TAPE = _span("a tape measure on a board or belt", Kind.LENGTH, "1 mm", "30 m")
POSITION = _span("a tape measure across the bed", Kind.LENGTH, "0 mm", "10 m")
BEAD = _span("a rule on a bead of glue", Kind.LENGTH, "0 mm", "100 mm")
RESOLUTION = _span("the finest division of a caliper", Kind.LENGTH, "0.0001 mm", "2 mm")
GAUGE = _span("a compressed-air gauge", Kind.PRESSURE, "0 bar", "100 bar")
GAUGE_DIVISION = _span("the finest division of a gauge", Kind.PRESSURE, "0.0001 bar", "1 bar")
MANOMETER = _span("a manometer on a running duct", Kind.DUCT_PRESSURE, "1 Pa", "25000 Pa", signed=True)
ANEMOMETER = _span("an anemometer in a running duct", Kind.AIR_SPEED, "0.1 m/s", "100 m/s")
FLOW_METER = _span("a flow meter in a running duct", Kind.AIR_FLOW, "1 m3/h", "300000 m3/h")
STOPWATCH = _span("a stopwatch", Kind.TIME, "0.1 s", "3600 s")
AMMETER = _span("an ammeter on a running motor", Kind.CURRENT, "0.1 A", "2000 A")
SCALES = _span("scales with a belt on them", Kind.MASS, "1 g", "100 kg")
HOURS_COUNTER = _span("a count of hours", Kind.HOURS, "0 h", "100000 h")
FEELER = _span("a micrometer at a joint", Kind.LENGTH, "0 mm", "10 mm")
CLOCK_HOURS = _span("the hours of one run by the clock", Kind.HOURS, "0 h", "1000 h")
FEED_DIAL = _span("a feed dial", Kind.FEED_SPEED, "0.1 m/min", "200 m/min")

Thickness = Annotated[Quantity, Written(Kind.LENGTH, read_with=CALIPER)]
TapeLength = Annotated[Quantity, Written(Kind.LENGTH, read_with=TAPE)]
Position = Annotated[Quantity, Written(Kind.LENGTH, read_with=POSITION)]
BeadHeight = Annotated[Quantity, Written(Kind.LENGTH, read_with=BEAD)]
Resolution = Annotated[Quantity, Written(Kind.LENGTH, read_with=RESOLUTION)]
PressureRead = Annotated[Quantity, Written(Kind.PRESSURE, read_with=GAUGE)]
GaugeDivision = Annotated[Quantity, Written(Kind.PRESSURE, read_with=GAUGE_DIVISION)]
DuctPressureRead = Annotated[Quantity, Written(Kind.DUCT_PRESSURE, read_with=MANOMETER)]
AirSpeedRead = Annotated[Quantity, Written(Kind.AIR_SPEED, read_with=ANEMOMETER)]
AirFlowRead = Annotated[Quantity, Written(Kind.AIR_FLOW, read_with=FLOW_METER)]
SecondsRead = Annotated[Quantity, Written(Kind.TIME, "s", read_with=STOPWATCH)]
CurrentRead = Annotated[Quantity, Written(Kind.CURRENT, read_with=AMMETER)]
MassRead = Annotated[Quantity, Written(Kind.MASS, read_with=SCALES)]
HoursRead = Annotated[Quantity, Written(Kind.HOURS, read_with=HOURS_COUNTER)]
RunHours = Annotated[Quantity, Written(Kind.HOURS, read_with=CLOCK_HOURS)]
FeedSpeedRead = Annotated[Quantity, Written(Kind.FEED_SPEED, read_with=FEED_DIAL)]
JointStep = Annotated[Quantity, Written(Kind.LENGTH, read_with=FEELER)]
BeltSize = Annotated[Quantity, Written(Kind.LENGTH, least=0.001, read_with=TAPE)]
