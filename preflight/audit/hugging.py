"""Readings crowded just inside a limit, where honest ones thin out toward it."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

from preflight.audit.figures import series_name
from preflight.audit.tails import binomial_tail, highest_chance
from preflight.audit.visit import Flag, Visit, number, references
from preflight.audit.words import figure

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preflight.audit.queries import Reading
    from preflight.audit.rules import Rules

PEERS = 10
"""Readings of others in the two windows from which their share counts."""


def gauge_step(readings: Sequence[Reading]) -> float:
    """SI value of the last digit that the readings are written with; 0.0 when that cannot be told."""
    step = 0.0
    for reading in readings:
        typed = number(reading.text)
        if typed and typed[0] > 0 and reading.value > 0:
            own = reading.value / typed[0] * 10.0 ** -typed[1]
            step = min(step, own) if step else own
    return step


def window(reading: Reading, side: str, step: float, width: int) -> int | None:
    """0: in the window at the limit, 1: in the next one of the same width, None: in neither or outside."""
    limit = reading.high if side == "high" else reading.low
    if limit is None:
        return None
    inward = limit - reading.value if side == "high" else reading.value - limit
    steps = math.floor(inward / step + 1e-6)
    return steps // width if 0 <= steps < 2 * width else None


def flags(machines: Mapping[str, Sequence[Visit]], rules: Rules) -> Iterator[Flag]:
    """One flag a person and machine, for the limit with the strongest crowd."""
    for machine, visits in machines.items():
        found: dict[str, list[tuple[Visit, Reading]]] = defaultdict(list)
        for visit in visits:
            for series, reading in visit.readings.items():
                found[series].append((visit, reading))
        steps = {series: gauge_step([reading for _, reading in rows]) for series, rows in found.items()}
        for person in sorted({visit.person for visit in visits}):
            tested = list(_counts(person, found, steps, rules))
            worst, least = None, rules.alarm
            for series, side, near, both, share, at in tested:
                chance = min(1.0, binomial_tail(near, both, share) * len(tested))
                if chance < least:
                    least = chance
                    worst = Flag(
                        "close to a limit",
                        person,
                        machine,
                        f"{series_name(series)}: {near} readings within {rules.hugging.steps} steps of the {side} "
                        f"limit {_written(at[-1].readings[series], side)}, "
                        f"{both - near} in the next {rules.hugging.steps} steps.",
                        f"binomial: at most {share:.0%} in the window at the limit, {len(tested)} limits tested",
                        both,
                        chance,
                        f"at most {rules.alarm:.2%} of honest people, as long as readings thin out toward the limit; "
                        "a regulator set close to it raises it",
                        references(at),
                    )
            if worst is not None:
                yield worst


def _written(reading: Reading, side: str) -> str:
    """The limit in the unit that was typed."""
    limit = reading.high if side == "high" else reading.low
    assert limit is not None  # a side without a limit has no window
    return figure(limit, reading)


def _counts(
    person: str, found: Mapping[str, list[tuple[Visit, Reading]]], steps: Mapping[str, float], rules: Rules
) -> Iterator[tuple[str, str, int, int, float, list[Visit]]]:
    for series, rows in found.items():
        for side in ("low", "high"):
            own, others = [0, 0], [0, 0]
            at: list[Visit] = []
            for visit, reading in rows:
                place = window(reading, side, steps[series], rules.hugging.steps) if steps[series] else None
                if place is not None:
                    (own if visit.person == person else others)[place] += 1
                    if visit.person == person and place == 0:
                        at.append(visit)
            share = 0.5
            if sum(others) >= PEERS:
                share = max(share, highest_chance(others[0], sum(others)))
            if sum(own) >= rules.hugging.readings and share < 1:
                yield series, side, own[0], sum(own), share, at
