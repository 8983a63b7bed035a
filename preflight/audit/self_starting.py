"""A cumulative sum that needs no baseline told: each value is judged by all the calm ones before it.

Hawkins and Olwell 1998, Cumulative Sum Charts and Charting for Quality Improvement, chapter 7 (from memory). Against a
baseline of few readings taken as exact, an alarm comes far too often; here the doubt about it is in every score.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.audit.cusum import Sums

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from preflight.audit.cusum import Alarm

_MOST = 4.0
"""A score counts so much at most: one odd value alone raises no alarm."""
_MOST_TOGETHER = 0.8
_DOUBT = 0.5
"""Standard errors by which neighbours must go together more than chance has it; by simulation, see the rates tested."""


@dataclass(slots=True)
class Learnt:
    """Mean and spread of the values so far. Welford's sums."""

    count: int = 0
    mean: float = 0.0
    squares: float = 0.0
    """Sum of squares about the mean."""
    steps: float = 0.0
    """Sum of squared differences of neighbours."""
    last: float = 0.0

    def add(self, value: float) -> None:
        """Learn one more."""
        if self.count:
            self.steps += (value - self.last) ** 2
        self.count += 1
        off = value - self.mean
        self.mean += off / self.count
        self.squares += off * (value - self.mean)
        self.last = value

    def score(self, value: float, least: float = 0.0) -> float:
        """The next value as a standard normal score, in -4 to 4; of independent normal values no wider than that.

        Equation: T = (x - mean) / s * sqrt(n / (n + 1)) follows Student's t with n - 1 degrees of freedom and becomes
        normal by `normal_of_t`; s is `least` at least, and wider by sqrt((1 + r) / (1 - r)) where neighbours go
        together, r from von Neumann's ratio of the squared steps. ValueError below three values learnt.
        """
        if self.count < 3:
            raise ValueError("at least three values are learnt before one is judged")
        free = self.count - 1
        deviation = max(math.sqrt(self.squares / free), least, 1e-12)
        t = (value - self.mean) / deviation * math.sqrt(self.count / (self.count + 1))
        return max(-_MOST, min(_MOST, normal_of_t(t, free) / math.sqrt(self.wander)))

    @property
    def wander(self) -> float:
        """How much wider sums of these values spread than those of independent ones: (1 + r) / (1 - r), 1 to 9."""
        if self.squares <= 0:
            return 1.0
        together = 1 - self.steps / (2 * self.squares) - _DOUBT / math.sqrt(self.count)
        together = min(_MOST_TOGETHER, max(0.0, together))
        return (1 + together) / (1 - together)


def normal_of_t(t: float, degrees: int) -> float:
    """The normal score that is as unlikely as this value of Student's t. ValueError below one degree of freedom.

    Equation: z = ±(8 f + 1) / (8 f + 3) * sqrt(f * ln(1 + t^2 / f)). Wallace 1959; within 0.03 up to z = 4 from seven
    degrees on, 0.05 from five, 0.07 from four.

    >>> round(normal_of_t(2.228, 10), 2)
    1.96
    """
    if degrees < 1:
        raise ValueError("at least one degree of freedom")
    size = (8 * degrees + 1) / (8 * degrees + 3) * math.sqrt(degrees * math.log1p(t * t / degrees))
    return math.copysign(size, t)


def standing_alarms(
    values: Iterable[float], learn: int, slack: float, decision: float, least: float = 0.0
) -> Iterator[Alarm | None]:
    """After each value the alarm that stands, None when there is none or when what drifted has come back.

    The first `learn` values are only learnt; while an alarm stands nothing is. `least` is the least deviation that a
    value may have. ValueError for fewer than three to learn, or a slack or decision value that is not above zero.
    """
    if learn < 3:
        raise ValueError("at least three values are learnt before one is judged")
    known, sums = Learnt(), Sums(slack, decision)
    for place, value in enumerate(values):
        if place >= learn:
            sums.add(place, known.score(value, least))
        if sums.standing is None:
            known.add(value)
        yield sums.standing


def watched(values: Iterable[float], learn: int, slack: float, decision: float, least: float = 0.0) -> Alarm | None:
    """The alarm that stands at the last value. Errors as in `standing_alarms`.

    >>> watched([0.1, -0.1] * 6 + [1.0] * 3, 8, 0.5, 5.0)
    Alarm(place=13, began=12, up=True)
    """
    last = None
    for last in standing_alarms(values, learn, slack, decision, least):  # noqa: B007 (the last one is wanted)
        pass
    return last
