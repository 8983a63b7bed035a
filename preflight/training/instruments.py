"""Gauges and calipers drawn to be read: pure functions from a value to a grid of cells, and the reading judged.

A cell is one character and a role ("rule", "text", "mark"), as the screens' pictures are; printed lines leave the role
out. A reading within half a division is read right; nothing finer can be read off these scales.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

Cell = tuple[str, str]
Grid = list[list[Cell]]

WIDTH, HEIGHT = 50, 13
"""Columns and rows of a round face; a character is about twice as high as wide."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument with its scale, in the unit printed on its face."""

    id: str
    name: str
    unit: str
    low: float
    high: float
    division: float
    """Smallest division of the scale."""
    numbered: float
    """Distance of the numbered marks."""
    step: float
    """What the drawing can show: values to be read are whole steps."""
    draw: Callable[[Instrument, float], Grid]

    def value(self, random: Random) -> float:
        """A value to be read, clear of both ends of the scale."""
        steps = round((self.high - self.low) / self.step)
        return round(self.low + random.randint(round(steps * 0.08), round(steps * 0.92)) * self.step, 6)


@dataclass(frozen=True, slots=True)
class Read:
    """A reading against the value that was drawn."""

    right: bool
    error: float
    """Reading minus value, in the instrument's unit."""
    statement: str


def read(instrument: Instrument, value: float, said: float) -> Read:
    """Judge a reading, both in the unit of the face: right within half a division, which is all the scale can tell.

    >>> read(GAUGE, 4.2, 4.25).right, read(GAUGE, 4.2, 42.0).statement
    (True, '42 bar read, it stands at 4.2 bar: ten times too much. Look where the point is.')
    """
    error = said - value
    shown, stands = (f"{number:.6g} {instrument.unit}" for number in (said, value))
    if abs(error) <= instrument.division / 2 * (1 + 1e-9):
        return Read(True, error, f"{shown} read, it stands at {stands}: right to half a division.")
    text = f"{shown} read, it stands at {stands}"
    for factor, words in ((10.0, "ten times too much"), (0.1, "a tenth of it")):
        if abs(said - value * factor) <= instrument.division / 2 * max(1.0, factor):
            return Read(False, error, f"{text}: {words}. Look where the point is.")
    divisions = abs(error) / instrument.division
    hint = "Count the small marks from the last number." if divisions >= 1 else "Look square onto the scale."
    return Read(False, error, f"{text}: {divisions:.1f} divisions {'over' if error > 0 else 'under'}. {hint}")


def number_in(instrument: Instrument, typed: str) -> float | None:
    """The number that was typed, with or without the instrument's unit; None when there is none.

    >>> number_in(GAUGE, "4,2 bar")
    4.2
    """
    found = re.fullmatch(r"([0-9]+(?:[.,][0-9]+)?)\s*(.*)", typed.strip())
    if found is None or found[2] not in ("", instrument.unit):
        return None
    return float(found[1].replace(",", "."))


def lines(grid: Grid) -> list[str]:
    """The grid as printed lines."""
    return ["".join(character for character, _ in row).rstrip() for row in grid]


def _blank(width: int, height: int) -> Grid:
    return [[(" ", "text")] * width for _ in range(height)]


def _text(grid: Grid, x: int, y: int, text: str, role: str) -> None:
    for at, character in enumerate(text, x):
        if 0 <= y < len(grid) and 0 <= at < len(grid[y]):
            grid[y][at] = (character, role)


def dial(instrument: Instrument, value: float) -> Grid:
    """A straight-faced dial: scale above, divisions below it, a pointer under the value.

    A round face of this size could show twenty divisions at most; laid out straight it shows every one.
    """
    count = round((instrument.high - instrument.low) / instrument.division)
    step = max(1, (WIDTH * 5 // 4) // count)
    width = count * step + 9
    grid = _blank(width, 5)
    each = round(instrument.numbered / instrument.division)
    for mark in range(count + 1):
        x = 3 + mark * step
        numbered = mark % each == 0
        if numbered:
            label = f"{instrument.low + mark * instrument.division:g}"
            _text(grid, x - len(label) // 2, 0, label, "text")
        _text(grid, x, 1, "|" if numbered else "'", "rule")
        _text(grid, x, 2, "+" if numbered else "-", "rule")
        for between in range(1, step if mark < count else 0):
            _text(grid, x + between, 2, "-", "rule")
    at = 3 + (value - instrument.low) / instrument.division * step
    _text(grid, round(at), 3, "^", "mark strong")
    _text(grid, width - len(instrument.unit) - 1, 4, instrument.unit, "dim")
    return grid


def round_face(instrument: Instrument, value: float) -> Grid:
    """A round face: numbers around it from lower left over the top to lower right, and a needle."""
    grid = _blank(WIDTH, HEIGHT)
    middle_x, middle_y = (WIDTH - 1) / 2, HEIGHT * 0.55

    def point(share: float, radius: float) -> tuple[int, int]:
        angle = math.radians(225 - 270 * share)
        return round(middle_x + 2.1 * radius * math.cos(angle)), round(middle_y - radius * math.sin(angle))

    count = round((instrument.high - instrument.low) / instrument.division)
    for mark in range(count + 1):
        x, y = point(mark / count, 5.2)
        _text(grid, x, y, ".", "rule")
    each = round(instrument.numbered / instrument.division)
    for mark in range(0, count + 1, each):
        label = f"{instrument.low + mark * instrument.division:g}"
        x, y = point(mark / count, 6.4)
        _text(grid, max(0, min(WIDTH - len(label), x - len(label) // 2)), y, label, "text")
    share = (value - instrument.low) / (instrument.high - instrument.low)
    for step in range(1, 22):
        x, y = point(share, step * 4.7 / 21)
        _text(grid, x, y, "o", "mark strong")
    _text(grid, round(middle_x), round(middle_y), "O", "mark strong")
    _text(grid, round(middle_x) - len(instrument.unit) // 2, HEIGHT - 1, instrument.unit, "dim")
    return grid


def caliper(instrument: Instrument, value: float) -> Grid:
    """A sliding caliper: the main scale in millimetres above, the slide with its five divisions of 0.8 mm below.

    Read the last millimetre before the slide's zero, then which of its marks stands under a mark of the main scale.
    """
    cells = 5  # a millimetre; a division of the slide, 0.8 mm, is then 4
    first = math.floor(value) - 2
    grid = _blank(12 * cells + 1, 5)
    for millimetre in range(13):
        x = millimetre * cells
        number = first + millimetre
        if number % 2 == 0 and number >= 0:
            _text(grid, x, 0, f"{number}", "text")
        _text(grid, x, 1, "|" if number >= 0 else " ", "rule")
    zero = round((value - first) * cells)
    for mark in range(6):
        _text(grid, zero + mark * 4, 2, "|", "mark strong")
        _text(grid, zero + mark * 4, 3, f"{mark * 2 % 10}", "text")
    _text(grid, zero + 22, 3, "slide, 0.2 mm", "dim")
    _text(grid, 0, 4, instrument.unit, "dim")
    return grid


def columns(instrument: Instrument, value: float) -> Grid:
    """A water manometer: two legs of one tube; the height between their levels is the reading."""
    span = instrument.high - instrument.low
    rows = round(span / instrument.division)
    grid = _blank(WIDTH, rows + 1)
    each = round(instrument.numbered / instrument.division)
    for mark in range(rows + 1):
        y = rows - mark
        if mark % each == 0:
            label = f"{instrument.low + mark * instrument.division:g}"
            _text(grid, 6 - len(label), y, label, "text")
        _text(grid, 7, y, "+" if mark % each == 0 else "-", "rule")
    # Each leg moves by half the reading from the middle of the scale, as in a tube of even bore.
    middle = span / 2
    for x, level in ((11, middle + value / 2), (19, middle - value / 2)):
        top = rows - round(level / instrument.division)
        for y in range(rows + 1):
            _text(grid, x - 1, y, "|", "rule")
            _text(grid, x + 2, y, "|", "rule")
            if y >= top:
                _text(grid, x, y, "~~" if y == top else "::", "air")
    _text(grid, 24, 1, f"{instrument.unit}, level to level", "dim")
    return grid


GAUGE = Instrument("gauge", "pressure gauge", "bar", 0, 8, 0.2, 1, 0.2, dial)
GAUGE_PSI = Instrument("gauge-psi", "pressure gauge", "psi", 0, 100, 2, 20, 2, dial)
AMMETER = Instrument("ammeter", "ammeter", "A", 0, 40, 4, 8, 2, round_face)
INDICATOR = Instrument("dial", "dial indicator", "mm", 0, 0.5, 0.01, 0.1, 0.01, dial)
CALIPER = Instrument("caliper", "sliding caliper", "mm", 10, 60, 0.2, 1, 0.2, caliper)
WATER = Instrument("water", "water manometer", "mm of water", 0, 120, 10, 20, 20, columns)

INSTRUMENTS = (GAUGE, GAUGE_PSI, AMMETER, INDICATOR, CALIPER, WATER)
BY_ID = {one.id: one for one in INSTRUMENTS}


def drawn(instrument_id: str, seed: int) -> tuple[Instrument, float, Grid]:
    """An instrument, a value for it, and its drawing; the same for the same seed. KeyError for another id."""
    instrument = BY_ID[instrument_id]
    value = instrument.value(Random(f"{instrument_id}/{seed}"))
    return instrument, value, instrument.draw(instrument, value)
