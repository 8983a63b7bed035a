"""The units people write and the SI unit each stands for, exact to its definition.

A *dimension* is what a unit measures (length, pressure); a *kind* is what a field asks for (belt speed, feed
speed), which settles the units it is shown in. Definitions: international yard and pound (inch 25.4 mm,
pound 0.45359237 kg), standard gravity 9.80665 m/s2, conventional inch of water 249.08891 Pa.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `value_si = number * factor + offset`."""

    name: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    decimals: int = 2
    """How many decimals a shown value of 1 or more gets."""
    spellings: tuple[str, ...] = ()


_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_LB = Fraction("0.45359237")
_LBF = _LB * Fraction("9.80665")

UNITS: tuple[Unit, ...] = (
    Unit("mm", "length", Fraction(1, 1000), spellings=("millimetre", "millimeter", "millimetres", "millimeters")),
    Unit("in", "length", _INCH, decimals=3, spellings=("inch", "inches", '"', "″", "”", "“", "''")),
    Unit("thou", "length", _INCH / 1000, decimals=1, spellings=("mil", "mils")),
    Unit("cm", "length", Fraction(1, 100)),
    Unit("m", "length", Fraction(1), spellings=("metre", "meter", "metres", "meters")),
    Unit("µm", "length", Fraction(1, 1_000_000), decimals=0, spellings=("um", "μm", "micron", "microns")),
    Unit("ft", "length", _FOOT, spellings=("foot", "feet", "'", "′")),
    Unit("bar", "pressure", Fraction(100_000)),
    Unit("psi", "pressure", _LBF / _INCH**2, decimals=1, spellings=("lbf/in2", "psig")),
    Unit("kPa", "pressure", Fraction(1000), decimals=1),
    Unit("MPa", "pressure", Fraction(1_000_000), decimals=3, spellings=("N/mm2",)),
    Unit("Pa", "pressure", Fraction(1), decimals=0),
    Unit("mbar", "pressure", Fraction(100), decimals=1, spellings=("hPa",)),
    Unit(
        "in wg",
        "pressure",
        Fraction("249.08891"),
        spellings=("in wc", "in h2o", "inh2o", "inwg", "inwc", '"wg', '" wg'),
    ),
    Unit("m3/h", "air flow", Fraction(1, 3600), decimals=0, spellings=("m3/hr", "cmh")),
    Unit("cfm", "air flow", _FOOT**3 / 60, decimals=0, spellings=("ft3/min", "cu ft/min")),
    Unit("m3/s", "air flow", Fraction(1), decimals=3),
    Unit("m3/min", "air flow", Fraction(1, 60)),
    Unit("L/s", "air flow", Fraction(1, 1000), decimals=0),
    Unit("m/s", "speed", Fraction(1), decimals=1),
    Unit("m/min", "speed", Fraction(1, 60), decimals=1),
    Unit("fpm", "speed", _FOOT / 60, decimals=0, spellings=("ft/min", "sfpm")),
    Unit("mm/s", "speed", Fraction(1, 1000), decimals=0),
    Unit("rpm", "rotation", Fraction(1, 60), decimals=0, spellings=("1/min", "rev/min", "/min")),
    Unit("1/s", "rotation", Fraction(1), spellings=("rev/s",)),
    Unit("N", "force", Fraction(1), decimals=0),
    Unit("kN", "force", Fraction(1000)),
    Unit("lbf", "force", _LBF, decimals=0),
    Unit("N/mm", "line tension", Fraction(1000)),
    Unit("N/m", "line tension", Fraction(1), decimals=0),
    Unit("kN/m", "line tension", Fraction(1000)),
    Unit("lbf/in", "line tension", _LBF / _INCH, spellings=("lb/in", "pli")),
    Unit("A", "current", Fraction(1), decimals=1, spellings=("amp", "amps")),
    Unit("kW", "power", Fraction(1000), decimals=1),
    Unit("W", "power", Fraction(1), decimals=0),
    Unit("hp", "power", 550 * _FOOT * _LBF, decimals=1),
    Unit("s", "time", Fraction(1), decimals=1, spellings=("sec", "secs", "second", "seconds")),
    Unit("min", "time", Fraction(60), decimals=1, spellings=("mins", "minute", "minutes")),
    Unit("h", "time", Fraction(3600), decimals=1, spellings=("hr", "hrs", "hour", "hours")),
    Unit("d", "time", Fraction(86400), decimals=0, spellings=("day", "days")),
    Unit("kg", "mass", Fraction(1), decimals=3),
    Unit("g", "mass", Fraction(1, 1000), decimals=0),
    Unit("lb", "mass", _LB),
    Unit("oz", "mass", _LB / 16, decimals=1),
    Unit("kg/m3", "density", Fraction(1), decimals=0),
    Unit("lb/ft3", "density", _LB / _FOOT**3, decimals=1),
    Unit("g/cm3", "density", Fraction(1000)),
    Unit("g/m3", "density", Fraction(1, 1000), decimals=0),
    Unit("°C", "temperature", Fraction(1), Fraction("273.15"), decimals=0, spellings=("C", "degC", "deg C")),
    Unit(
        "°F",
        "temperature",
        Fraction(5, 9),
        Fraction("459.67") * Fraction(5, 9),
        decimals=0,
        spellings=("F", "degF", "deg F"),
    ),
    Unit("K", "temperature", Fraction(1), decimals=1),
    Unit("Shore A", "hardness", Fraction(1), decimals=0, spellings=("ShA", "Sh A", "durometer A")),
    Unit("m2", "area", Fraction(1), decimals=0),
    Unit("ft2", "area", _FOOT**2, decimals=0, spellings=("sq ft",)),
    Unit("L", "volume", Fraction(1, 1000), decimals=0, spellings=("l", "litre", "liter", "litres", "liters")),
    Unit("m3", "volume", Fraction(1)),
    Unit("ft3", "volume", _FOOT**3, decimals=1, spellings=("cu ft",)),
    Unit("gal", "volume", 231 * _INCH**3, decimals=0, spellings=("US gal",)),
    Unit("%", "share", Fraction(1, 100), decimals=0, spellings=("percent",)),
)
"""Every unit understood; the first spelling of a dimension in `Kind` is the one offered in messages."""


class Kind(Enum):
    """What a field asks for: (words, dimension, SI unit, metric unit, inch unit, unit of a bare number)."""

    LENGTH = ("length", "length", "m", "mm", "in", None)
    PRESSURE = ("pressure", "pressure", "Pa", "bar", "psi", None)
    DUCT_PRESSURE = ("duct pressure", "pressure", "Pa", "Pa", "in wg", None)
    AIR_FLOW = ("air flow", "air flow", "m3/s", "m3/h", "cfm", None)
    BELT_SPEED = ("belt speed", "speed", "m/s", "m/s", "fpm", None)
    FEED_SPEED = ("feed speed", "speed", "m/s", "m/min", "fpm", None)
    AIR_SPEED = ("air speed", "speed", "m/s", "m/s", "fpm", None)
    ROTATION = ("rotation", "rotation", "1/s", "rpm", "rpm", "rpm")
    FORCE = ("force", "force", "N", "N", "lbf", None)
    LINE_TENSION = ("line tension", "line tension", "N/m", "N/mm", "lbf/in", None)
    CURRENT = ("current", "current", "A", "A", "A", "A")
    POWER = ("power", "power", "W", "kW", "hp", None)
    TIME = ("time", "time", "s", "s", "s", None)
    HOURS = ("hours", "time", "s", "h", "h", None)
    MASS = ("mass", "mass", "kg", "g", "lb", None)
    DENSITY = ("density", "density", "kg/m3", "kg/m3", "lb/ft3", None)
    TEMPERATURE = ("temperature", "temperature", "K", "°C", "°F", None)
    HARDNESS = ("hardness", "hardness", "Shore A", "Shore A", "Shore A", "Shore A")
    AREA = ("area", "area", "m2", "m2", "ft2", None)
    VOLUME = ("volume", "volume", "m3", "L", "gal", None)

    def __init__(self, words: str, dimension: str, si: str, metric: str, inch: str, bare: str | None) -> None:
        self.words = words
        self.dimension = dimension
        self.si = si
        self.metric = metric
        self.inch = inch
        self.bare = bare

    def unit_in(self, system: str) -> str:
        """The unit this kind is shown in, for `system` "metric" or "inch"."""
        return self.inch if system == "inch" else self.metric


def _spell(text: str) -> str:
    return " ".join(text.replace("³", "3").replace("²", "2").replace("^", "").replace(".", "").split())


BY_SPELLING: dict[str, Unit] = {}
_folded: dict[str, Unit] = {}
for _unit in UNITS:
    for _text in (_unit.name, *_unit.spellings):
        BY_SPELLING[_spell(_text)] = _unit
        _folded.setdefault(_spell(_text).casefold(), _unit)


def find(text: str) -> Unit | None:
    """The unit that `text` spells, or None. Case decides only between MPa and mPa, which is not offered."""
    spelt = _spell(text)
    if spelt in BY_SPELLING:
        return BY_SPELLING[spelt]
    if spelt == "mPa":
        return None
    return _folded.get(spelt.casefold())


def offered(kind: Kind) -> list[str]:
    """Unit names of the kind's dimension, the usual two first, for messages."""
    usual = list(dict.fromkeys([kind.metric, kind.inch]))
    return usual + [u.name for u in UNITS if u.dimension == kind.dimension and u.name not in usual]
