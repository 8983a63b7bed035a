"""Taper and crown from a few thickness readings across the width, with how sure they are.

The curve is constant + linear + quadratic, by least squares over orthogonal polynomials (Forsythe's recurrence
on x centred and scaled): no normal equations in x, so positions in metres lose no digits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

COVERAGE: Final = 2.0
"""Expanded uncertainty = 2 × standard uncertainty, about 95 % for a normal error."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its standard uncertainty, both m."""

    value: float
    uncertainty: float

    @property
    def expanded(self) -> float:
        """`COVERAGE` × standard uncertainty, m."""
        return COVERAGE * self.uncertainty


@dataclass(frozen=True, slots=True)
class ThicknessFit:
    """Least-squares curve through thickness readings across the width."""

    left: float
    """x of the outermost readings, m"""
    right: float
    centre: float
    """x where the polynomials are centred, m"""
    scale: float
    """half of right - left, m; 1 when all readings are at one place"""
    weights: tuple[float, ...]
    """coefficients of the orthogonal polynomials, m; as many as degree + 1"""
    norms: tuple[float, ...]
    """sums of squares of the orthogonal polynomials over the readings"""
    recurrence: tuple[float, float, float]
    """a1, a2, b1 of p1 = u - a1, p2 = (u - a2) p1 - b1, u = (x - centre) / scale"""
    residuals: tuple[float, ...]
    """reading - curve, m, in the order of the readings"""
    reading_uncertainty: float
    """standard uncertainty of one reading that the estimates use, m"""

    @property
    def degree(self) -> int:
        """0, 1 or 2."""
        return len(self.weights) - 1

    @property
    def residual_sd(self) -> float | None:
        """√(Σ residual² / (n - degree - 1)), m; None when no reading is left over to show it."""
        return _residual_sd(self.residuals, len(self.weights))

    def at(self, x: float) -> float:
        """Thickness of the curve at x, m."""
        return math.fsum(w * p for w, p in zip(self.weights, self._basis(x), strict=True))

    def coefficients(self) -> tuple[float, float, float]:
        """c0, c1, c2 of c0 + c1·x + c2·x² in m, 1, 1/m; zero beyond the degree."""
        a1, a2, b1 = self.recurrence
        d0, d1, d2 = (*self.weights, 0.0, 0.0)[:3]
        # in u: p1 = u - a1, p2 = u² - (a1 + a2) u + a1 a2 - b1
        u0, u1, u2 = d0 - d1 * a1 + d2 * (a1 * a2 - b1), d1 - d2 * (a1 + a2), d2
        m, s = self.centre, self.scale
        return u0 - u1 * m / s + u2 * (m / s) ** 2, u1 / s - 2 * u2 * m / s**2, u2 / s**2

    def taper(self) -> Estimate | None:
        """Right minus left thickness at the outermost readings; None with readings at one place only."""
        return self._difference([(self.right, 1.0), (self.left, -1.0)]) if self.degree >= 1 else None

    def crown(self) -> Estimate | None:
        """Centre minus mean of the edges at the outermost readings; None with fewer than three places.

        Positive: thicker in the middle.
        """
        middle = (self.left + self.right) / 2
        if self.degree < 2:
            return None
        return self._difference([(middle, 1.0), (self.left, -0.5), (self.right, -0.5)])

    def part_taper(self, centre: float, width: float) -> float:
        """Right minus left edge thickness of a part of `width` that ran at `centre`, m."""
        return self.at(centre + width / 2) - self.at(centre - width / 2)

    def _basis(self, x: float) -> tuple[float, ...]:
        u = (x - self.centre) / self.scale
        a1, a2, b1 = self.recurrence
        p1 = u - a1
        return (1.0, p1, (u - a2) * p1 - b1)[: len(self.weights)]

    def _difference(self, terms: Sequence[tuple[float, float]]) -> Estimate:
        """Σ factor · curve(x): its coefficients' errors are independent, since the polynomials are orthogonal."""
        rows = [(factor, self._basis(x)) for x, factor in terms]
        parts = [math.fsum(f * basis[k] for f, basis in rows) for k in range(len(self.weights))]
        variance = math.fsum(g * g / n for g, n in zip(parts, self.norms, strict=True))
        value = math.fsum(g * w for g, w in zip(parts, self.weights, strict=True))
        return Estimate(value, self.reading_uncertainty * math.sqrt(variance))


def fit_thickness(
    positions: Sequence[float], readings: Sequence[float], reading_uncertainty: float, *, degree: int = 2
) -> ThicknessFit:
    """Fit thickness readings (m) at positions x (m): constant, + linear from two places, + quadratic from three.

    `reading_uncertainty` (m, not negative) is the instrument's standard uncertainty; where the residuals
    scatter more than that, their standard deviation takes its place, so a rough board is not called sure.
    Raises ValueError for no readings, unequal counts, or numbers that are not finite.

    >>> fit = fit_thickness([-0.6, 0.0, 0.6], [0.020, 0.020, 0.020132], 5e-6)
    >>> round(fit.taper().value * 1e6), round(fit.crown().value * 1e6)
    (132, -66)
    """
    if not positions or len(positions) != len(readings):
        raise ValueError("a fit needs readings, each with its position")
    if not all(map(math.isfinite, (*positions, *readings))) or not 0 <= reading_uncertainty < math.inf:
        raise ValueError("positions, readings and their uncertainty must be finite, the last not negative")
    if degree not in (0, 1, 2):
        raise ValueError("the degree is 0, 1 or 2")
    degree = min(degree, len(set(positions)) - 1)
    left, right = min(positions), max(positions)
    centre, scale = (left + right) / 2, (right - left) / 2 or 1.0
    u = [(x - centre) / scale for x in positions]
    count = len(u)

    rows = [[1.0] * count]
    norms = [float(count)]
    a1 = math.fsum(u) / count
    a2 = b1 = 0.0
    if degree >= 1:
        rows.append([v - a1 for v in u])
        norms.append(math.fsum(p * p for p in rows[1]))
    if degree >= 2:
        a2 = math.fsum(v * p * p for v, p in zip(u, rows[1], strict=True)) / norms[1]
        b1 = norms[1] / count
        rows.append([(v - a2) * p - b1 for v, p in zip(u, rows[1], strict=True)])
        norms.append(math.fsum(p * p for p in rows[2]))

    # Each coefficient from what the lower ones leave over: rounding of the large constant stays out of the small ones.
    rest, weights = list(readings), []
    for row, norm in zip(rows, norms, strict=True):
        weight = math.fsum(p * t for p, t in zip(row, rest, strict=True)) / norm
        weights.append(weight)
        rest = [t - weight * p for p, t in zip(row, rest, strict=True)]
    scatter = _residual_sd(rest, len(weights)) or 0.0
    return ThicknessFit(
        left, right, centre, scale, tuple(weights), tuple(norms), (a1, a2, b1), tuple(rest),
        max(reading_uncertainty, scatter),
    )  # fmt: skip


def _residual_sd(residuals: Sequence[float], parameters: int) -> float | None:
    spare = len(residuals) - parameters
    return math.sqrt(math.fsum(r * r for r in residuals) / spare) if spare > 0 else None
