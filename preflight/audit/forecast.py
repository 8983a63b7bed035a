"""When a line through drifting readings reaches their limit, with its range, and where that line begins."""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.audit.queries import Reading

DAY = 86400.0
LEAST = 5
"""Points that make a line."""
FAR = 730
"""Days ahead beyond which a line says nothing."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """When the line through the newest readings reaches a limit."""

    limit: float
    at: float
    """Seconds since 1970."""
    earliest: float
    latest: float | None
    """None: the slope may as well be none at all."""


@dataclass(frozen=True, slots=True)
class _Line:
    """A least-squares line through its mean point."""

    slope: float
    middle: float
    level: float
    width: float
    """Sum of squares of x about its mean."""
    rest: float
    """Sum of squares of y about the line."""


def _fit(x: Sequence[float], y: Sequence[float]) -> _Line | None:
    """None where all x are one."""
    middle, level = statistics.fmean(x), statistics.fmean(y)
    width = math.fsum((a - middle) ** 2 for a in x)
    if width == 0:
        return None
    slope = math.fsum((a - middle) * (b - level) for a, b in zip(x, y, strict=True)) / width
    rest = math.fsum((b - level - slope * (a - middle)) ** 2 for a, b in zip(x, y, strict=True))
    return _Line(slope, middle, level, width, rest)


def forecast(points: Sequence[Reading], up: bool, baseline: float) -> Forecast | None:
    """When the least-squares line reaches the limit in its way; None without a limit, or when it does not go there.

    The range comes from the 95 % interval of the slope about the mean point.
    """
    limit = points[-1].high if up else points[-1].low
    if limit is None or len(points) < LEAST:
        return None
    fit = _fit([(one.at - points[0].at) / DAY for one in points], [one.value for one in points])
    if fit is None:
        return None
    slope, middle, level = fit.slope, fit.middle, fit.level
    if (slope > 0) != up or (limit > baseline) != up:
        return None
    error = student(len(points) - 2) * math.sqrt(fit.rest / (len(points) - 2) / fit.width)
    steep, flat = (slope + error, slope - error) if up else (slope - error, slope + error)

    def reached(at_slope: float) -> float:
        return points[0].at + DAY * (middle + (limit - level) / at_slope)

    newest = float(points[-1].at)
    still = (flat > 0) == up and flat != 0
    if reached(slope) > newest + FAR * DAY:
        return None
    return Forecast(limit, max(newest, reached(slope)), max(newest, reached(steep)), reached(flat) if still else None)


def line_begins(values: Sequence[float], earliest: int) -> int:
    """Index from which a line fits these values best, the mean of those before `earliest` until there.

    A cumulative sum begins to rise by chance, weeks before a drift does. ValueError unless a value comes before
    `earliest`.

    >>> line_begins([4.1, 4.0, 4.1, 4.0, 4.1, 4.1, 4.0, 3.8, 3.6, 3.4, 3.2, 3.0], 3)
    6
    """
    if not 0 < earliest <= len(values):
        raise ValueError("a baseline comes before the drift")
    calm, rest, best = statistics.fmean(values[:earliest]), 0.0, (math.inf, earliest)
    for begin in range(earliest, len(values) - LEAST + 1):
        line = _fit(range(begin, len(values)), values[begin:])
        best = min(best, (rest + line.rest, begin)) if line is not None else best
        rest += (values[begin] - calm) ** 2
    return best[1]


def student(degrees: int) -> float:
    """The 97.5 % point of Student's t. ValueError below three degrees of freedom.

    Equation: Cornish and Fisher's expansion about the normal point, good to 1 % from three degrees on.

    >>> round(student(10), 2)
    2.23
    """
    if degrees < 3:
        raise ValueError("at least three degrees of freedom")
    z = statistics.NormalDist().inv_cdf(0.975)
    terms = (
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160,
    )
    return z + math.fsum(term / degrees**power for power, term in enumerate(terms, 1))
