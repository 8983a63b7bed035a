"""Faster than hands and feet: a whole start-up below its floor, or readings seconds apart at different places."""

from __future__ import annotations

import functools
from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.audit.figures import said_chance
from preflight.audit.tails import binomial_tail
from preflight.audit.visit import Flag, Visit, number, references

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from preflight.audit.queries import Answer
    from preflight.audit.rules import PaceRules, Rules

FLOORS: tuple[tuple[str, float], ...] = (
    ("tension.", 10.0),
    ("extraction.static", 20.0),
    ("extraction.bin", 4.0),
    ("test_board.", 10.0),
    ("stock.thick", 10.0),
    ("stock.thin", 10.0),
    ("condition.", 4.0),
    ("running.restart", 4.0),
    ("running.bar", 4.0),
    ("running.tracking", 8.0),
    ("running.current.", 4.0),
)
"""Least seconds for an answer, by the beginning of its key (common practice, no source); others take none."""
PLACES = {
    "stock": "bench",
    "condition": "inside",
    "tension": "gauges",
    "extraction": "duct",
    "running": "panel",
    "test_board": "outfeed",
}
"""Where one stands for a station's readings."""


def floor(answer: Answer) -> float:
    """Least seconds that this answer takes; a timed stop takes its own length."""
    if answer.key.startswith("running.stop."):
        timed = number(answer.text)
        return timed[0] if timed else 0.0
    return _floor_of(answer.key)


@functools.lru_cache(maxsize=1024)
def _floor_of(key: str) -> float:
    if key.endswith(".look"):
        return 5.0
    return next((seconds for beginning, seconds in FLOORS if key.startswith(beginning)), 0.0)


def worked(visit: Visit) -> list[Answer]:
    """The answers that somebody has to walk, look or read for."""
    return [answer for answer in visit.answers if floor(answer) > 0]


def needed_and_taken(visit: Visit) -> tuple[float, float]:
    """Least seconds from the first worked answer to the last, and the seconds that it took."""
    done = worked(visit)
    if len(done) < 2:
        return 0.0, 0.0
    return sum(map(floor, done[1:])), float(done[-1].at - done[0].at)


def has_burst(visit: Visit, rules: PaceRules) -> bool:
    """Whether enough answers from as many places lie within the seconds."""
    done = [(answer.at, PLACES.get(answer.key.split(".")[0], "")) for answer in worked(visit)]
    for first in range(len(done)):
        places: set[str] = set()
        for at, place in done[first:]:
            if at - done[first][0] > rules.seconds:
                break
            places |= {place} if place else set()
        if len(places) >= rules.entries:
            return True
    return False


SAME = 0.5
"""Two flags are of the same start-ups when so many of the fewer are among the others."""
TOO_FAST, BURSTS = "too fast", "entries seconds apart"
BOTH = f"{TOO_FAST} and {BURSTS}"


def together(found: Iterable[Flag], people: Mapping[str, Sequence[Visit]]) -> list[Flag]:
    """The flags, both of one person as one where they are of the same start-ups. It keeps both tests' figures."""
    made: list[Flag] = []
    for flag in found:
        other = made[-1] if made and made[-1].person == flag.person else None
        if other is None or (other.pattern, flag.pattern) != (TOO_FAST, BURSTS):
            made.append(flag)
            continue
        same = set(other.records) & set(flag.records)
        if len(same) < SAME * min(len(other.records), len(flag.records)):
            made.append(flag)
            continue
        every = set(other.records) | set(flag.records)
        made[-1] = replace(
            other,
            pattern=BOTH,
            statement=f"{other.statement} {flag.statement} {len(same)} of them are the same.",
            test=f"{other.test} ({said_chance(other.chance)}); {flag.test} ({said_chance(flag.chance)})",
            chance=min(one.chance for one in (other, flag) if one.chance is not None),
            honest=f"{other.honest}; each test by itself",
            records=tuple(one for one in references(people[flag.person]) if one in every),
        )
    return made


def flags(people: Mapping[str, Sequence[Visit]], rules: Rules) -> Iterator[Flag]:
    """Flags of both kinds."""
    own = rules.pace
    for person, visits in people.items():
        timed = [(visit, *needed_and_taken(visit)) for visit in visits]
        timed = [row for row in timed if row[1] > 0]
        fast = [visit for visit, needed, taken in timed if taken < own.share * needed]
        chance = binomial_tail(len(fast), len(timed), own.honest)
        if chance < rules.alarm:
            yield Flag(
                TOO_FAST,
                person,
                "",
                f"{len(fast)} of {len(timed)} start-ups took less than {own.share:.0%} of the seconds "
                "that their readings and looks need.",
                f"binomial: at most {own.honest:.0%} of honest start-ups are that fast",
                len(timed),
                chance,
                f"at most {rules.alarm:.2%} of honest people; typing from a note raises it",
                references(fast),
            )
        bursts = [visit for visit, *_ in timed if has_burst(visit, own)]
        chance = binomial_tail(len(bursts), len(timed), own.honest_bursts)
        if chance < rules.alarm:
            yield Flag(
                BURSTS,
                person,
                "",
                f"In {len(bursts)} of {len(timed)} start-ups {own.entries} readings from different places "
                f"were entered within {own.seconds} s.",
                f"binomial: at most {own.honest_bursts:.0%} of honest start-ups have such a burst",
                len(timed),
                chance,
                f"at most {rules.alarm:.2%} of honest people; typing from a note raises it",
                references(bursts),
            )
