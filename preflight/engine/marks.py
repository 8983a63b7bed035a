"""Read a repeating mark: its pitch names what made it, a change of feed proves it.

p = v_f · T for whatever goes round or to and fro in a time T; a feed roller prints its own circumference,
whatever the feed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from collections.abc import Sequence

Kind = Literal["belt joint", "drum", "feed roller", "oscillation"]

FEED_CHANGE: Final = 1.25
"""The separating test: feed a quarter faster."""


def joint_pitch(feed_speed: float, belt_length: float, belt_speed: float) -> float:
    """p = v_f · L / v_b, m: belt joint or one spot on the belt. Speeds in m/s, length in m, all above zero.

    >>> round(joint_pitch(0.1, 1.9, 15.708) * 1000, 1)
    12.1
    """
    _positive(feed_speed, belt_length, belt_speed)
    return feed_speed * belt_length / belt_speed


def drum_pitch(feed_speed: float, revolutions: float) -> float:
    """p = v_f / n, m: drum, roller or motor out of round or balance; n in revolutions per second.

    >>> round(drum_pitch(0.1, 1500 / 60) * 1000, 1)
    4.0
    """
    _positive(feed_speed, revolutions)
    return feed_speed / revolutions


def feed_roller_pitch(diameter: float) -> float:
    """p = π · D, m: a seam or flat on a feed or pinch roller; the same at any feed.

    >>> round(feed_roller_pitch(0.08) * 1000)
    251
    """
    _positive(diameter)
    return math.pi * diameter


def oscillation_pitch(feed_speed: float, period: float) -> float:
    """p = v_f · T, m: a wave from the belt's swing; T is the time of one swing out and back, s.

    >>> round(oscillation_pitch(0.1, 3.0) * 1000)
    300
    """
    _positive(feed_speed, period)
    return feed_speed * period


@dataclass(frozen=True, slots=True)
class MarkSource:
    """Something on the machine that prints a mark at a known pitch."""

    kind: Kind
    name: str
    """for example "head 1" """
    pitch: float
    """m, at the present feed"""

    def pitch_at(self, feed_ratio: float) -> float:
        """Pitch when the feed is `feed_ratio` times the present one, m."""
        _positive(feed_ratio)
        return self.pitch if self.kind == "feed roller" else self.pitch * feed_ratio


@dataclass(frozen=True, slots=True)
class MeasuredPitch:
    """Pitch from a span and a count of spaces, with its reading error."""

    pitch: float
    """m"""
    error: float
    """m, standard uncertainty"""


@dataclass(frozen=True, slots=True)
class RankedSource:
    """A source with how far its pitch lies from the measured one."""

    source: MarkSource
    distance: float
    """|predicted - measured| in standard uncertainties"""
    fits: bool
    """within two of them"""
    margin: float
    """m, two of them: what reading and speeds may explain"""


@dataclass(frozen=True, slots=True)
class FeedTest:
    """Feed changed: the pitch each remaining source predicts."""

    feed_ratio: float
    pitches: tuple[tuple[MarkSource, float], ...]
    separates: bool
    """the test tells the first source from every other one that fits"""


def measured_pitch(span: float, spaces: int, span_error: float = 0.5e-3) -> MeasuredPitch:
    """Pitch p = span / spaces: ten spaces over one span beat one space ten times.

    Span in m, above zero; at least one space; error of the span in m (half a millimetre on a rule, from memory).

    >>> round(measured_pitch(0.121, 10).pitch * 1000, 2)
    12.1
    """
    _positive(span, span_error)
    if spaces < 1:
        raise ValueError("count at least one space between marks")
    return MeasuredPitch(span / spaces, span_error / spaces)


def rank_sources(
    measured: MeasuredPitch, sources: Sequence[MarkSource], speed_error: float = 0.02
) -> list[RankedSource]:
    """Sources nearest first, by distance in units of the combined error.

    `speed_error` is the relative standard uncertainty of the speeds behind a prediction (0 to 1; from memory).
    A feed roller's pitch needs no speed, so only the reading counts there.
    """
    if not 0 <= speed_error < 1:
        raise ValueError("the error of the speeds is a share between 0 and 1")
    ranked = []
    for source in sources:
        speed = 0.0 if source.kind == "feed roller" else speed_error * source.pitch
        error = math.hypot(measured.error, speed)
        distance = abs(source.pitch - measured.pitch) / error
        ranked.append(RankedSource(source, distance, distance <= 2, 2 * error))
    return sorted(ranked, key=lambda one: one.distance)


def feed_test(measured: MeasuredPitch, ranked: Sequence[RankedSource], feed_ratio: float = FEED_CHANGE) -> FeedTest:
    """The pitch each fitting source predicts at another feed, starting from the pitch that was *measured*.

    Starting from the measured pitch keeps an error of the speeds out of the test. It tells a feed roller from
    everything else; two sources that both follow the feed stay as they were, and `separates` is then False:
    it asks for predictions more than four reading errors apart.
    """
    fitting = [one.source for one in ranked if one.fits]
    pitches = tuple((s, measured.pitch * s.pitch_at(feed_ratio) / s.pitch) for s in fitting)
    separates = bool(pitches) and all(abs(pitch - pitches[0][1]) > 4 * measured.error for _, pitch in pitches[1:])
    return FeedTest(feed_ratio, pitches, separates)


def _positive(*values: float) -> None:
    if not all(math.isfinite(value) and value > 0 for value in values):
        raise ValueError("speeds, lengths and times must be above zero")
