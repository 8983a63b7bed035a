"""Start-ups of invented people on one invented machine, without files: what the patterns are tried on."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import count, islice
from random import Random
from typing import TYPE_CHECKING

from preflight.audit.habits import Gauge, Habits, Hand, Levels
from preflight.audit.queries import Reading
from preflight.audit.visit import Visit, number

if TYPE_CHECKING:
    from collections.abc import Iterator

GAUGES = (
    Gauge("tension.1", 4.15, 0.06, 0.05, 2, "bar", 3.8, 4.5),
    Gauge("tension.2", 3.45, 0.06, 0.05, 1, "bar", 3.1, 3.8),
    Gauge("extraction.static", 930, 25, 12, 0, "Pa"),
    Gauge("running.stop.1", 6.4, 0.2, 0.2, 1, "s", None, 10),
    Gauge("running.current.1", 11.1, 0.2, 0.2, 1, "A"),
    Gauge("test_board.before", 27.70, 0.1, 0.01, 2, "mm"),
    Gauge("test_board.left", -0.26, 0.01, 0.01, 2, "mm", follows="test_board.before"),
)
SERIES = {"tension.1": "tension: head 1", "tension.2": "tension: head 2", "running.stop.1": "running: head 1 stop"}
SI = {"bar": 1e5, "s": 1.0}
START = datetime(2026, 1, 5, 6, 0, tzinfo=UTC)


def crew(seed: int, habits: list[Habits], visits: int, machine: str = "m-000000000001") -> list[Visit]:
    """People of these habits in turn on one machine, each with `visits` start-ups.

    What one of them does depends on the seed, their place and their own habits alone.
    """
    people = [_visits_of(seed, place, len(habits), habit, machine, visits) for place, habit in enumerate(habits)]
    return [visit for day in zip(*people, strict=True) for visit in day]


def _visits_of(seed: int, place: int, crew_of: int, habits: Habits, machine: str, visits: int) -> list[Visit]:
    if habits != Habits():
        return list(islice(_start_ups(seed, place, crew_of, habits, machine), visits))
    made, more = _honest(seed, place, crew_of, machine)
    made.extend(islice(more, max(0, visits - len(made))))
    return made[:visits]


@lru_cache(maxsize=120)
def _honest(seed: int, place: int, crew_of: int, machine: str) -> tuple[list[Visit], Iterator[Visit]]:
    """What is made so far and what comes: honest people are made once for all the crews that they are part of."""
    return [], _start_ups(seed, place, crew_of, Habits(), machine)


def _start_ups(seed: int, place: int, crew_of: int, habits: Habits, machine: str) -> Iterator[Visit]:
    rng = Random(seed)
    levels = Levels(GAUGES, rng)
    drawn = [(rng.random(), rng.uniform(0.04, 0.1)) for _ in range(crew_of)]
    hand = Hand(f"{seed}-{place}", Random(drawn[place][0]), habits, drawn[place][1])
    for day in count():
        levels.next_day()
        local = START + timedelta(days=day, hours=3 * place, minutes=hand.rng.uniform(0, 20))
        given = hand.readings(GAUGES, levels.today)
        answers = hand.answers(given, int(local.timestamp()), GAUGES)
        verdict = "caution" if hand.finds_something() else "ok"
        number_of = day * crew_of + place + 1
        yield Visit(machine, number_of, hand.person, local, verdict, "startup", answers, readings(given))


def readings(given: dict[str, str]) -> dict[str, Reading]:
    """The judged figures as the index would hold them."""
    made = {}
    for gauge in GAUGES:
        if gauge.key in SERIES:
            typed = number(given[gauge.key])
            assert typed is not None
            unit = SI[gauge.unit]
            low = gauge.low * unit if gauge.low is not None else None
            high = gauge.high * unit if gauge.high is not None else None
            text = f"{given[gauge.key]} {gauge.unit}"
            made[SERIES[gauge.key]] = Reading(0, 0, typed[0] * unit, low, high, "Pa", text)
    return made
