"""The fan and the filter: what pressure is there to spend at a flow, and what the filter takes of it.

The fan's curve is its total pressure at the air it works in: a curve given for another density is brought
there with `at_density` first, nothing does it silently.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True)
class FanCurve:
    """Monotone piecewise-cubic curve through at least four points of flow (m³/s) and pressure (Pa).

    Slopes after Fritsch and Butland (weighted harmonic means, three-point ends), so a falling list of points
    gives a falling curve without overshoot. Outside the points the curve goes on straight at its end slope;
    such a point is no evidence, see `on_curve`.
    """

    flows: tuple[float, ...]
    pressures: tuple[float, ...]
    _slopes: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if found := fan_problems(self.flows, self.pressures):
            raise ValueError("; ".join(found))
        object.__setattr__(self, "_slopes", _slopes(self.flows, self.pressures))

    @classmethod
    def from_points(cls, points: Sequence[tuple[float, float]]) -> FanCurve:
        """Curve through (flow, pressure) points in rising flow; ValueError naming everything that is wrong.

        >>> fan = FanCurve.from_points([(0.0, 3000.0), (1.0, 2500.0), (2.0, 1500.0), (3.0, 300.0)])
        >>> fan.pressure(1.0)
        2500.0
        """
        return cls(tuple(flow for flow, _ in points), tuple(pressure for _, pressure in points))

    def pressure(self, flow: float) -> float:
        """Fan total pressure at a flow (m³/s), Pa."""
        return self.pressure_and_slope(flow)[0]

    def pressure_and_slope(self, flow: float) -> tuple[float, float]:
        """Pressure (Pa) and its slope (Pa per m³/s, never above zero) at a flow (m³/s)."""
        q, p, d = self.flows, self.pressures, self._slopes
        if flow <= q[0]:
            return p[0] + d[0] * (flow - q[0]), d[0]
        if flow >= q[-1]:
            return p[-1] + d[-1] * (flow - q[-1]), d[-1]
        i = bisect_right(q, flow) - 1
        h = q[i + 1] - q[i]
        s = flow - q[i]
        chord = (p[i + 1] - p[i]) / h
        c = (3.0 * chord - 2.0 * d[i] - d[i + 1]) / h
        b = (d[i] + d[i + 1] - 2.0 * chord) / (h * h)
        return p[i] + s * (d[i] + s * (c + s * b)), d[i] + s * (2.0 * c + 3.0 * s * b)

    def on_curve(self, flow: float) -> bool:
        """Whether the flow lies between the first and the last point given."""
        return self.flows[0] <= flow <= self.flows[-1]

    def at_speed(self, ratio: float) -> FanCurve:
        """The curve at another speed, `ratio` = new/old: flow as the ratio, pressure as its square.

        Source: fan laws (power then goes as the cube).
        """
        if not 0.0 < ratio < math.inf:
            raise ValueError(f"ratio of fan speeds must be more than 0, not {ratio:g}")
        return FanCurve(tuple(flow * ratio for flow in self.flows), tuple(p * ratio * ratio for p in self.pressures))

    def at_density(self, ratio: float) -> FanCurve:
        """The curve in air of another density, `ratio` = new/old: same flow, pressure as the ratio."""
        if not 0.0 < ratio < math.inf:
            raise ValueError(f"ratio of densities must be more than 0, not {ratio:g}")
        return FanCurve(self.flows, tuple(p * ratio for p in self.pressures))


def fan_power_at_speed(power: float, ratio: float) -> float:
    """Fan law for power: P·ratio³, in the unit of `power`. Both more than zero, else ValueError.

    >>> round(fan_power_at_speed(5.0, 1.25), 3)
    9.766
    """
    if not (0.0 < power < math.inf and 0.0 < ratio < math.inf):
        raise ValueError("power and ratio of fan speeds must be more than 0")
    return float(power * ratio**3)


def fan_problems(flows: Sequence[float], pressures: Sequence[float]) -> tuple[str, ...]:
    """Everything that is wrong with a fan's points, as plain sentences; empty if they make a curve."""
    found: list[str] = []
    if len(flows) != len(pressures):
        return (f"the fan curve has {len(flows)} flows and {len(pressures)} pressures",)
    if not all(map(math.isfinite, (*flows, *pressures))):
        return ("the fan curve holds a value that is not a number",)
    if len(flows) < 4:
        found.append(f"the fan curve needs at least four points and has {len(flows)}")
    if flows and flows[0] < 0.0:
        found.append(f"the fan curve starts at a negative flow, {flows[0]:g} m³/s")
    if pressures and pressures[0] <= 0.0:
        found.append(f"the fan curve starts at {pressures[0]:g} Pa and must start above zero")
    for i in range(1, len(flows)):
        if flows[i] <= flows[i - 1]:
            found.append(f"the fan curve's flows must rise: point {i + 1} does not")
        if pressures[i] > pressures[i - 1]:
            found.append(f"the fan curve rises at point {i + 1}, from {pressures[i - 1]:g} to {pressures[i]:g} Pa")
    return tuple(found)


@dataclass(frozen=True)
class Filter:
    """Pressure drop of the filter: scale·(linear·Q + quadratic·Q²)."""

    linear: float = 0.0
    """Pa per m³/s, of the clean filter."""

    quadratic: float = 0.0
    """Pa per (m³/s)², of the clean filter."""

    scale: float = 1.0
    """Today's drop over the clean drop at the same flow; 1 is clean."""

    def __post_init__(self) -> None:
        for name, value in (("linear", self.linear), ("quadratic", self.quadratic), ("scale", self.scale)):
            if not 0.0 <= value < math.inf:
                raise ValueError(f"{name} term of the filter must not be negative, got {value:g}")

    def drop(self, flow: float) -> float:
        """Drop at a flow (m³/s, not negative), Pa.

        >>> Filter(linear=500.0).drop(2.0)
        1000.0
        """
        return self.scale * flow * (self.linear + self.quadratic * flow)

    def scaled_to(self, drop: float, flow: float) -> Filter:
        """The same filter, scaled so that it drops `drop` Pa at `flow` m³/s (the flow at that reading).

        >>> Filter(linear=500.0).scaled_to(drop=750.0, flow=1.0).scale
        1.5
        """
        clean = flow * (self.linear + self.quadratic * flow)
        if not (0.0 <= drop < math.inf and flow > 0.0 and clean > 0.0):
            raise ValueError(f"a drop of {drop:g} Pa at {flow:g} m³/s cannot scale this filter")
        return Filter(self.linear, self.quadratic, drop / clean)


def _slopes(x: tuple[float, ...], y: tuple[float, ...]) -> tuple[float, ...]:
    h = [b - a for a, b in itertools.pairwise(x)]
    chord = [(b - a) / w for a, b, w in zip(y, y[1:], h, strict=False)]
    slopes = [_end_slope(h[0], h[1], chord[0], chord[1])]
    for i in range(1, len(h)):
        if chord[i - 1] * chord[i] <= 0.0:
            slopes.append(0.0)
            continue
        w1, w2 = 2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]
        slopes.append((w1 + w2) / (w1 / chord[i - 1] + w2 / chord[i]))
    slopes.append(_end_slope(h[-1], h[-2], chord[-1], chord[-2]))
    return tuple(slopes)


def _end_slope(h0: float, h1: float, chord0: float, chord1: float) -> float:
    slope = ((2.0 * h0 + h1) * chord0 - h0 * chord1) / (h0 + h1)
    if slope * chord0 <= 0.0:
        return 0.0
    if abs(slope) > 3.0 * abs(chord0) and chord0 * chord1 <= 0.0:
        return 3.0 * chord0
    return slope
