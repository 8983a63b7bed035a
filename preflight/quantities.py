"""Quantities as people write them: parse, hold with the text as typed, convert exactly, show.

Every reading, limit and profile value passes through `parse`. Numbers are converted as exact fractions and
rounded once, so that "75 in" and "1905 mm" are the same float and a reading exactly on a limit is inside it.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from fractions import Fraction

from preflight.errors import PreflightError
from preflight.units import BY_SPELLING, Kind, Unit, find, offered

__all__ = ["Kind", "Quantity", "QuantityError", "computed", "parse", "show", "show_beside"]

LONGEST_TEXT = 40
"""Longer text than this is no reading; also keeps exact arithmetic cheap."""

SIGNED = {Kind.FORCE, Kind.TEMPERATURE, Kind.DUCT_PRESSURE}
"""Kinds in which a number below zero makes sense: a roller weight that slackens, frost, suction."""

_VULGAR = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*
        (?: (?P<whole>[0-9]+)(?:\s+|-)(?P<num>[0-9]+)\s*/\s*(?P<den>[0-9]+)   # 75 1/8 or 75-1/8
          | (?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)                          # 3/4
          | (?P<decimal>[0-9]+(?:[.,][0-9]+)? | [.,][0-9]+) )                 # 1905  1905,5  .024
        (?P<rest>.*)""",
    re.VERBOSE,
)
_FEET_AND_INCHES = re.compile(r"""([0-9]+)\s*(?:'|′|ft|foot|feet)\s*-?\s*([0-9].*)""")


class QuantityError(PreflightError, ValueError):
    """Text that is not a quantity of the wanted kind; the message names what would be."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI units beside the text it was typed as."""

    value: float
    """In the kind's SI unit."""
    kind: Kind
    unit: str
    """Name of the unit it was written in."""
    text: str
    """As typed, for the record, with the unit of the field behind a bare number; runs of spaces made one."""

    def to(self, unit: str) -> float:
        """The value in another unit of the same dimension. Raises ValueError for a unit of another."""
        wanted = BY_SPELLING[unit]
        if wanted.dimension != self.kind.dimension:
            raise ValueError(f"{unit} does not measure a {self.kind.words}")
        return float((Fraction(self.value) - wanted.offset) / wanted.factor)

    def __str__(self) -> str:
        return self.text


def computed(value: float, kind: Kind, system: str = "metric") -> Quantity:
    """A quantity the tool worked out, with the text it is shown as."""
    return Quantity(value, kind, kind.unit_in(system), show(value, kind, system))


def parse(text: str, kind: Kind, unit: str | None = None) -> Quantity:
    """Read what somebody wrote.

    `unit` is the unit that the field shows: a bare number takes it. Without one a bare number is refused
    where two units are plausible. Raises `QuantityError` naming what would be accepted.

    >>> parse('75 1/8 in', Kind.LENGTH).value
    1.908175
    >>> parse('4,1 bar', Kind.PRESSURE).value
    410000.0
    """
    written = typed = " ".join(text.split())
    if not typed:
        raise QuantityError(f"Nothing typed; {_wanted(kind, unit)}.")
    if len(typed) > LONGEST_TEXT:
        raise _too_long(typed, kind, unit)
    for glyph, spelt in _VULGAR.items():
        typed = typed.replace(glyph, spelt)
    typed = typed.replace("−", "-").strip()
    if kind is Kind.LENGTH and (parts := _FEET_AND_INCHES.fullmatch(typed)):
        inches = parse(parts[2], kind, "in")
        if inches.unit != "in" or inches.value >= 0.3048:  # 1'905 is a thousand and a bit, not feet and inches
            raise QuantityError(f"{written!r} cannot be read as feet and inches; {_wanted(kind, unit)}.")
        return Quantity(float(Fraction(parts[1]) * Fraction("0.3048") + Fraction(inches.value)), kind, "in", written)
    match = _NUMBER.fullmatch(typed)
    if match is None:
        raise QuantityError(f"{written!r} is not a number with a unit; {_wanted(kind, unit)}.")
    number = _number(match, typed, kind, unit)
    found = _unit(match["rest"].strip(), typed, kind, unit)
    if match["sign"] == "-":
        number = -number
        if kind not in SIGNED and number:
            raise QuantityError(f"{written!r} is below zero; a {kind.words} cannot be; {_wanted(kind, unit)}.")
    value = float(number * found.factor + found.offset)
    if kind is Kind.TEMPERATURE and value < 0:
        raise QuantityError(f"{written!r} is below absolute zero; {_wanted(kind, unit)}.")
    kept = written if match["rest"].strip() else f"{written} {found.name}"
    if len(kept) > LONGEST_TEXT:  # what is kept must be readable again
        raise _too_long(written, kind, unit)
    return Quantity(value, kind, found.name, kept)


def _number(match: re.Match[str], typed: str, kind: Kind, unit: str | None) -> Fraction:
    if decimal := match["decimal"]:
        rest = match["rest"]
        if rest and rest[0] in ".,_0123456789":
            raise QuantityError(
                f"{typed!r} cannot be read as one number; write 1905.5 or 1905,5, no separators for thousands."
            )
        if re.match(r"\s*[0-9]", rest) and find(rest) is None:  # "1480 1/min" is one number
            raise QuantityError(f"{typed!r} holds two numbers; {_wanted(kind, unit)}.")
        if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", decimal):
            plain, point = decimal.replace(",", ""), decimal.replace(",", ".")
            raise QuantityError(
                f"{decimal!r} could be {plain} or {point}; write it without the comma, or with a point."
            )
        return Fraction("0" + decimal.replace(",", ".") if decimal[0] in ".," else decimal.replace(",", "."))
    top, bottom = (match["num"], match["den"]) if match["whole"] else (match["top"], match["bottom"])
    if int(bottom) == 0:
        raise QuantityError(f"{typed!r} divides by zero; {_wanted(kind, unit)}.")
    return Fraction(int(match["whole"] or 0)) + Fraction(int(top), int(bottom))


def _unit(written: str, typed: str, kind: Kind, unit: str | None) -> Unit:
    if not written:
        bare = unit or kind.bare
        if bare is None:
            names = " or ".join(f"'{typed} {name}'" for name in offered(kind)[:2])
            raise QuantityError(f"{typed!r}: which unit? Write {names}.")
        return BY_SPELLING[bare]
    found = find(written)
    if found is None:
        near = difflib.get_close_matches(written, offered(kind), n=1, cutoff=0.5)
        guess = f" Did you mean {near[0]!r}?" if near else ""
        raise QuantityError(f"{written!r} is not a unit known here; {_wanted(kind, unit)}.{guess}")
    if found.dimension != kind.dimension:
        article = "an" if found.dimension[0] in "aeiou" else "a"
        raise QuantityError(f"{found.name!r} is {article} {found.dimension}; {_wanted(kind, unit)}.")
    return found


def _too_long(typed: str, kind: Kind, unit: str | None) -> QuantityError:
    return QuantityError(f"{typed[:20]!r}… is too long for a {kind.words}; {_wanted(kind, unit)}.")


def _wanted(kind: Kind, unit: str | None) -> str:
    article = "an" if kind.words[0] in "aeiou" else "a"
    names = offered(kind)
    if unit:
        names = [unit] + [name for name in names if name != unit]
    return f"{article} {kind.words} is wanted, in {', '.join(names[:4])}"


def show(value: float, kind: Kind, system: str = "metric", unit: str | None = None, more: int = 0) -> str:
    """The SI value as a person of that unit system reads it, with `more` decimals than usual.

    >>> show(0.00016764, Kind.LENGTH, "inch")
    '0.0066 in'
    >>> show(430000.0, Kind.PRESSURE)
    '4.3 bar'
    """
    name = unit or kind.unit_in(system)
    found = BY_SPELLING[name]
    number = (value - float(found.offset)) / float(found.factor)
    if not math.isfinite(number):
        return f"{number} {name}"
    decimals = found.decimals + more
    if found.dimension == "length" and abs(number) < 1:
        decimals += 1
    text = f"{number:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text in ('-0', '') else text} {name}"


def show_beside(value: float, other: float, kind: Kind, system: str = "metric", unit: str | None = None) -> str:
    """The value with as many decimals as tell it from `other`, so that 17.76 never reads "17.8 is below 17.8"."""
    for more in range(6):
        text = show(value, kind, system, unit, more)
        if value == other or text != show(other, kind, system, unit, more):
            return text
    return text
