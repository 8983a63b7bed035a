"""Invented people at invented gauges: how they read, how fast, and the habits that are planted in some of them."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preflight.audit.pace import floor
from preflight.audit.queries import Answer

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from random import Random

QUIET: Mapping[str, str] = {
    "stock.thickest": "27.72",
    "stock.thinnest": "27.66",
    "belts.1.look": "edges, joint, arrow, no glue line",
    "condition.inside": "all sound",
    "condition.conveyor": "sound",
    "extraction.bin": "20",
    "running.restart": "stays still",
    "running.bar": "stops the feed",
    "running.tracking": "evenly, all heads",
}
"""Answers that do not wander."""
ORDER = ("stock.", "belts.", "condition.", "tension.", "extraction.", "running.", "test_board.")
"""The way through the stations."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """One instrument at one place: what an honest hand reads off it."""

    key: str
    """Key of the answer."""
    mean: float
    """In the unit that is typed."""
    wander: float
    """Standard deviation from day to day."""
    noise: float
    """Standard deviation of one reading."""
    decimals: int
    unit: str = ""
    low: float | None = None
    high: float | None = None
    follows: str = ""
    """Key of the gauge whose reading `mean` is added to: after the pass follows before it."""


@dataclass(frozen=True, slots=True)
class Habits:
    """Shares of start-ups in which somebody does it; all zero is honest work."""

    rush: float = 0.0
    """Enters everything one to two seconds apart."""
    copies: float = 0.0
    """Gives the readings of the last time."""
    rounds: float = 0.0
    """Rounds the last digit to 0 or 5."""
    hugs: float = 0.0
    """Writes the first tension at its upper limit or one step below."""
    rereads: float = 0.0
    """Reads the first tension until it passes."""
    blind: bool = False
    """Never finds anything."""


@dataclass
class Hand:
    """One person at one machine; remembers the readings of the last time."""

    person: str
    rng: Random
    habits: Habits = field(default_factory=Habits)
    finds: float = 0.06
    """Share of start-ups in which something is found."""
    last: dict[str, str] = field(default_factory=dict)

    def readings(self, gauges: Sequence[Gauge], levels: Mapping[str, float]) -> dict[str, str]:
        """What this hand writes down today; `levels` are the day's true values in standard deviations of wander."""
        rng, habits = self.rng, self.habits
        if self.last and rng.random() < habits.copies:
            return dict(self.last)
        given: dict[str, str] = {}
        rounds = rng.random() < habits.rounds
        for gauge in gauges:
            true = gauge.mean + levels.get(gauge.key, 0.0) * gauge.wander
            true += float(given[gauge.follows]) if gauge.follows else 0.0
            value = true + rng.gauss(0.0, gauge.noise)
            if rounds:
                step = 5 * 10.0**-gauge.decimals
                value = round(value / step) * step
            given[gauge.key] = f"{value:.{gauge.decimals}f}"
        first = next((gauge for gauge in gauges if gauge.high is not None), None)
        if first is not None and first.high is not None and rng.random() < habits.hugs:
            given[first.key] = f"{first.high - rng.choice((0, 1)) * 10.0**-first.decimals:.{first.decimals}f}"
        self.last = dict(given)
        return given

    def answers(self, readings: Mapping[str, str], start: int, gauges: Sequence[Gauge]) -> tuple[Answer, ...]:
        """The readings with everything else that is asked, each at its second."""
        rng, habits = self.rng, self.habits
        rushes = rng.random() < habits.rush
        texts = {**QUIET, **readings}
        way = _way(tuple(texts))
        at, station = float(start), ""
        pause = -1 if rng.random() > 0.2 else rng.randrange(len(way))
        made = []
        for place, (key, here, least) in enumerate(way):
            if rushes:
                at += rng.uniform(0.7, 2.0)
            else:
                needed = least if least is not None else floor(Answer(key, texts[key], 0))
                at += max(2.0, needed) * math.exp(rng.gauss(0.35, 0.25))
                at += rng.uniform(6, 20) if here != station else 0.0
                at += rng.uniform(60, 600) if place == pause else 0.0
            station = here
            made.append(Answer(key, texts[key], round(at)))
        if rng.random() < habits.rereads:
            made = [self._reread(answer, gauges) for answer in made]
        return tuple(made)

    def _reread(self, answer: Answer, gauges: Sequence[Gauge]) -> Answer:
        gauge = next((one for one in gauges if one.key == answer.key and one.high is not None), None)
        if gauge is None or gauge.key != next(one.key for one in gauges if one.high is not None):
            return answer
        assert gauge.high is not None
        over = [f"{gauge.high * factor:.{gauge.decimals}f}" for factor in (1.06, 1.03)]
        return Answer(answer.key, answer.text, answer.at, ((answer.at - 35, over[0]), (answer.at - 18, over[1])))

    def finds_something(self) -> bool:
        """Whether this start-up ends in a finding."""
        return not self.habits.blind and self.rng.random() < self.finds


@functools.lru_cache(maxsize=64)
def _way(keys: tuple[str, ...]) -> tuple[tuple[str, str, float | None], ...]:
    """The answers in the order of the way: key, station, least seconds; None where these follow from the answer."""
    walked = sorted(keys, key=lambda key: next(i for i, of in enumerate(ORDER) if key.startswith(of)))
    timed = "running.stop."
    return tuple(
        (key, key.split(".")[0], None if key.startswith(timed) else floor(Answer(key, "", 0))) for key in walked
    )


class Levels:
    """The true values of a machine's gauges from day to day: each remembers half of yesterday."""

    def __init__(self, gauges: Sequence[Gauge], rng: Random) -> None:
        self._rng = rng
        self.today = {gauge.key: rng.gauss(0, 1) for gauge in gauges}

    def next_day(self) -> None:
        """Wander on; the standard deviation stays 1."""
        for key, level in self.today.items():
            self.today[key] = 0.5 * level + self._rng.gauss(0, math.sqrt(0.75))
