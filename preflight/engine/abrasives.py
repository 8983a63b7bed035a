"""Grits: two scales that look alike, and the grain size behind each grade.

The belt card and the job card give grits as text. Everything that computes with a grit (caps, scratches,
mark reading, backing rules) needs its grain size, so the scale must be known: `P400` has grains about one
and a half times as coarse as `ANSI 400`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import total_ordering
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

Scale = Literal["P", "ANSI"]

PUBLISHED: Final = "published, secondary source"
MEMORY: Final = "from memory"

_MICROMETRE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class GrainSize:
    """Nominal grain size of one grade."""

    size: float
    """metres"""
    provenance: str
    """`PUBLISHED` or `MEMORY`"""


def _table(published: dict[int, float], memory: dict[int, float]) -> Mapping[int, GrainSize]:
    rows = {n: GrainSize(um * _MICROMETRE, PUBLISHED) for n, um in published.items()}
    rows |= {n: GrainSize(um * _MICROMETRE, MEMORY) for n, um in memory.items()}
    return MappingProxyType(dict(sorted(rows.items())))


GRAIN_SIZES: Final[Mapping[Scale, Mapping[int, GrainSize]]] = MappingProxyType(
    {
        "P": _table(
            published={
                12: 1815, 16: 1324, 20: 1000, 24: 764, 30: 642, 36: 538, 40: 425, 50: 336, 60: 269, 80: 201,
                100: 162, 120: 125, 220: 68, 240: 58.5, 400: 35.0, 600: 25.8, 2500: 8.4,
            },
            memory={
                150: 100, 180: 82, 280: 52.2, 320: 46.2, 360: 40.5, 500: 30.2, 800: 21.8, 1000: 18.3,
                1200: 15.3, 1500: 12.6, 2000: 10.3,
            },
        ),
        "ANSI": _table(
            published={
                16: 1320, 20: 905, 24: 715, 30: 638, 36: 535, 40: 428, 50: 351, 60: 268, 80: 192, 100: 141,
                400: 23.6, 600: 16.0,
            },
            memory={120: 116, 150: 93, 180: 78, 220: 66, 240: 53.5, 280: 44.0, 320: 36.0, 360: 28.8},
        ),
    }
)  # fmt: skip
"""Grain size by scale and grade. P: FEPA P / ISO 6344 (sieved to P220, sedimented from P240); ANSI: B74.18.

A macrogrit is a range of sizes, so one number is a nominal middle. Grades of P3000 and finer are valid since
the 2021 edition, but no size for them is at hand: they are refused rather than guessed.
"""


@total_ordering
@dataclass(frozen=True, slots=True)
class Grit:
    """One grade on its scale; ordered by grain size, so `min()` is the finest and `max()` the coarsest.

    Raises ValueError when the grade is not in `GRAIN_SIZES`.
    """

    scale: Scale
    number: int

    def __post_init__(self) -> None:
        known = GRAIN_SIZES[self.scale]
        if self.number not in known:
            nearest = _nearest(self.scale, self.number)
            raise ValueError(f"{self} is not a grade with a known grain size; {nearest}")

    @property
    def grain_size(self) -> float:
        """Nominal grain size, m."""
        return GRAIN_SIZES[self.scale][self.number].size

    @property
    def provenance(self) -> str:
        """Where the grain size comes from."""
        return GRAIN_SIZES[self.scale][self.number].provenance

    def __lt__(self, other: object) -> bool:
        if not isinstance(other, Grit):
            return NotImplemented
        return (self.grain_size, self.scale) < (other.grain_size, other.scale)

    def coarser_than(self, other: Grit) -> bool:
        """True when this grain is larger, whatever the printed numbers say.

        >>> Grit("P", 120).coarser_than(Grit("ANSI", 120))
        True
        """
        return self.grain_size > other.grain_size

    def finer_than(self, other: Grit) -> bool:
        """True when this grain is smaller."""
        return self.grain_size < other.grain_size

    def __str__(self) -> str:
        return f"P{self.number}" if self.scale == "P" else f"ANSI {self.number}"


def parse_grit(text: str) -> Grit:
    """Read `P120` or `ANSI 120`, any case, with or without a space.

    Raises ValueError for a bare number (naming both choices), an unknown grade (naming its neighbours) or
    anything else.

    >>> parse_grit("p 120").grain_size == 125e-6
    True
    >>> parse_grit("120")
    Traceback (most recent call last):
    ...
    ValueError: "120" names no scale: write "P120" or "ANSI 120" (look for the letter P on the belt)
    """
    shown = " ".join(text.split())
    match = re.fullmatch(r"(P|ANSI)?[ -]?([0-9]{1,5})", shown, re.IGNORECASE)
    if match is None:
        raise ValueError(f'"{shown}" is not a grit: write for example "P120" or "ANSI 120"')
    scale, number = match[1], int(match[2])
    if scale is None:
        raise ValueError(
            f'"{shown}" names no scale: write "P{number}" or "ANSI {number}" (look for the letter P on the belt)'
        )
    return Grit("P" if scale.upper() == "P" else "ANSI", number)


def grades(scale: Scale) -> tuple[Grit, ...]:
    """Every grade of a scale, coarse to fine."""
    return tuple(Grit(scale, number) for number in GRAIN_SIZES[scale])


def neighbour(grit: Grit, steps: int) -> Grit | None:
    """The grade `steps` finer (negative: coarser) on the same scale; None beyond either end.

    >>> str(neighbour(Grit("P", 100), -1)), str(neighbour(Grit("P", 100), 2))
    ('P80', 'P150')
    """
    row = grades(grit.scale)
    index = row.index(grit) + steps
    return row[index] if 0 <= index < len(row) else None


def steps_between(coarse: Grit, fine: Grit) -> int:
    """Grades from `coarse` to `fine` on one scale; negative when `fine` is the coarser one.

    Raises ValueError for grits of two scales: their grades do not pair up; use `grain_ratio`.

    >>> steps_between(Grit("P", 80), Grit("P", 150))
    3
    """
    if coarse.scale != fine.scale:
        raise ValueError(f"{coarse} and {fine} are of two scales: compare grain sizes, not grades")
    row = grades(coarse.scale)
    return row.index(fine) - row.index(coarse)


def grain_ratio(before: Grit, after: Grit) -> float:
    """Ratio d_before / d_after of two grain sizes; below 1 means finer before coarser.

    Common practice, no source: 1.2 to 1.7 is a good step, above 2.2 too wide.

    >>> round(grain_ratio(Grit("P", 80), Grit("P", 120)), 2)
    1.61
    """
    return before.grain_size / after.grain_size


def _nearest(scale: Scale, number: int) -> str:
    known = list(GRAIN_SIZES[scale])
    below = [n for n in known if n < number]
    above = [n for n in known if n > number]
    names = [str(Grit(scale, n)) for n in (*below[-1:], *above[:1])]
    return f"the nearest {'are' if len(names) > 1 else 'is'} {' and '.join(names)}"
