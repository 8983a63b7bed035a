"""What a belt may take: caps by grit, scratch depth, power of the cut.

A cap is a safe limit, not a law of physics: published removal rates at light pressure fall less steeply with
grain size. Caps come from the machine profile; nothing here ever raises one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from preflight.engine.abrasives import Grit

SINGLE_ROW_SLOPE: Final = 1.87
"""Slope of log(cap) on log(grain size) used when a table has one row; common practice, no source: it joins
0.024 in at P80 and 0.0065 in at P150."""

LEAST_SLOPE_BEYOND: Final = 1.0
"""Below the finest row the cap falls at least as fast as the grain size, even where the table is flat."""

_ENERGY_AT_P60: Final = 0.25e9  # J/m3 at 269 µm and 650 kg/m3, from memory
_P60_GRAIN: Final = 269e-6
_REFERENCE_DENSITY: Final = 650.0


@dataclass(frozen=True, slots=True)
class GritCap:
    """Cap of one grit, with how it was found."""

    cap: float
    """m per pass"""
    note: str
    """"table", "between P80 and P150", "coarser than the table: cap of P80", "finer than the table: …" """


class CapTable:
    """Removal cap by grit, from a profile: at least one row, caps in m, finer grits never above coarser ones.

    Raises ValueError for an empty table, a cap that is not above zero, or a finer grit with a higher cap.
    """

    def __init__(self, rows: Mapping[Grit, float]) -> None:
        if not rows:
            raise ValueError("a table of removal caps needs at least one row")
        self._rows = sorted(rows.items(), reverse=True)
        for grit, cap in self._rows:
            if not (math.isfinite(cap) and cap > 0):
                raise ValueError(f"the removal cap of {grit} must be above zero")
        for (coarse, high), (fine, low) in zip(self._rows, self._rows[1:], strict=False):
            if low > high:
                raise ValueError(f"the removal cap of {fine} is above that of the coarser {coarse}")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, CapTable) and self._rows == other._rows

    def __hash__(self) -> int:
        return hash(self.rows)

    @property
    def rows(self) -> tuple[tuple[Grit, float], ...]:
        """(grit, cap), coarse to fine."""
        return tuple(self._rows)

    def cap(self, grit: Grit) -> GritCap:
        """Cap of a grit: log(cap) linear in log(grain size) between rows.

        Coarser than the first row: that row's cap. Finer than the last: downward along the last two rows, at
        least in proportion to the grain size; a single row falls with `SINGLE_ROW_SLOPE`.

        >>> from preflight.engine.abrasives import Grit
        >>> table = CapTable({Grit("P", 80): 0.024 * 0.0254, Grit("P", 150): 0.0065 * 0.0254})
        >>> round(table.cap(Grit("P", 120)).cap / 0.0254, 4)
        0.0099
        >>> table.cap(Grit("P", 40)).note
        'coarser than the table: cap of P80'
        """
        rows, size = self._rows, grit.grain_size
        for known, cap in rows:
            if known.grain_size == size:
                return GritCap(cap, "table")
        if size > rows[0][0].grain_size:
            return GritCap(rows[0][1], f"coarser than the table: cap of {rows[0][0]}")
        last, last_cap = rows[-1]
        if size < last.grain_size:
            slope = SINGLE_ROW_SLOPE
            if len(rows) > 1:
                slope = max(_slope(rows[-2], rows[-1]), LEAST_SLOPE_BEYOND)
            return GritCap(last_cap * (size / last.grain_size) ** slope, f"finer than the table: downward from {last}")
        index = next(i for i, (known, _) in enumerate(rows) if known.grain_size < size)
        (coarse, _), (fine, fine_cap) = rows[index - 1], rows[index]
        slope = _slope(rows[index - 1], rows[index])
        return GritCap(fine_cap * (size / fine.grain_size) ** slope, f"between {coarse} and {fine}")


def _slope(coarse: tuple[Grit, float], fine: tuple[Grit, float]) -> float:
    return math.log(coarse[1] / fine[1]) / math.log(coarse[0].grain_size / fine[0].grain_size)


def clamped_factor(factors: Iterable[float]) -> float:
    """Product of factors, each held at 1 so that none can raise a cap.

    Raises ValueError for a factor that is not above zero.

    >>> clamped_factor([1.3, 0.8, 0.5])
    0.4
    """
    product = 1.0
    for factor in factors:
        if not factor > 0:
            raise ValueError("a factor on a removal cap must be above zero")
        product *= min(factor, 1.0)
    return product


def wood_factor(density: float) -> float:
    """Factor 650 / density, between 0.7 and 1, on a cap; density in kg/m3, above zero. From memory.

    >>> round(wood_factor(750.0), 3), wood_factor(450.0)
    (0.867, 1.0)
    """
    _positive(density, "density")
    return min(1.0, max(0.7, _REFERENCE_DENSITY / density))


def feed_factor(feed_speed: float) -> float:
    """Factor (6 m/min) / v_f, between 0.5 and 1, on a cap; feed speed in m/s, above zero. From memory.

    >>> round(feed_factor(8 / 60), 3), feed_factor(4 / 60)
    (0.75, 1.0)
    """
    _positive(feed_speed, "feed speed")
    return min(1.0, max(0.5, 0.1 / feed_speed))


def scratch_depth(grain_size: float, scratch_factor: float) -> float:
    """Depth S = k_s · d of the scratches a head leaves, m: the least the next head must take.

    Grain size in m, above zero; scratch factor 0 to 1 (defaults of a profile: from memory).

    >>> round(scratch_depth(201e-6, 0.30) * 1e6, 1)
    60.3
    """
    _positive(grain_size, "grain size")
    if not 0 < scratch_factor <= 1:
        raise ValueError("a scratch factor lies between 0 and 1")
    return scratch_factor * grain_size


def specific_energy(grain_size: float, density: float) -> float:
    """Energy per volume u = 0.25 J/mm3 · (d / 269 µm)^-0.4 · (density / 650), in J/m3. From memory.

    >>> round(specific_energy(269e-6, 650.0) / 1e9, 3)
    0.25
    """
    _positive(grain_size, "grain size")
    _positive(density, "density")
    return _ENERGY_AT_P60 * math.pow(_P60_GRAIN / grain_size, 0.4) * density / _REFERENCE_DENSITY


def cutting_power(energy: float, width: float, removal: float, feed_speed: float) -> float:
    """Power P = u · W · a · v_f of a cut, W; u in J/m3, covered width and removal in m, feed in m/s.

    >>> u = specific_energy(201e-6, 650.0)
    >>> round(cutting_power(u, 0.635, 0.61e-3, 0.1) / 1000, 1)
    10.9
    """
    _positive(energy, "specific energy")
    _positive(width, "covered width")
    _positive(feed_speed, "feed speed")
    if removal < 0:
        raise ValueError("removal cannot be negative")
    return energy * width * removal * feed_speed


def removal_at_load(load: float, motor_power: float, energy: float, width: float, feed_speed: float) -> float:
    """Removal a = load · P_motor / (u · W · v_f), m, that loads a motor by `load`, a share of its power.

    >>> u = specific_energy(201e-6, 650.0)
    >>> round(removal_at_load(0.9, 7500.0, u, 0.635, 0.1) * 1000, 2)
    0.38
    """
    _positive(load, "load")
    _positive(motor_power, "motor power")
    return load * motor_power / cutting_power(energy, width, 1.0, feed_speed)


def feed_limit(load: float, motor_power: float, energy: float, width: float, removal: float) -> float:
    """Feed speed v_f = load · P_motor / (u · W · a), m/s, at which a cut puts a motor at `load`.

    >>> u = specific_energy(201e-6, 650.0)
    >>> round(feed_limit(0.9, 7500.0, u, 0.635, 0.61e-3) * 60, 1)
    3.7
    """
    _positive(load, "load")
    _positive(motor_power, "motor power")
    _positive(removal, "removal")
    return load * motor_power / cutting_power(energy, width, removal, 1.0)


def total_per_face(thickest: float, target: float, faces: int) -> float:
    """Removal per face, m, from the thickest piece: (t_max - target) / faces; it may come out negative.

    >>> round(total_per_face(0.0279, 0.0270, 2) * 1000, 3)
    0.45
    """
    _positive(thickest, "thickness")
    _positive(target, "target thickness")
    if faces not in (1, 2):
        raise ValueError("a board has one or two faces to sand")
    return (thickest - target) / faces


def _positive(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{what} must be above zero")
