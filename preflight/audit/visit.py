"""One start-up as the patterns see it, and one flag as they raise it."""

from __future__ import annotations

import functools
import re
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from preflight.audit.figures import with_unit
from preflight.audit.queries import Answer, Reading, start_ups

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Mapping, Sequence

READ_KEYS = ("tension.", "extraction.static", "running.stop.", "running.current.", "test_board.")
"""Beginnings of the keys of answers that are read off an instrument."""

_NUMBER = re.compile(r"\s*([+-]?\d+)(?:[.,](\d+))?\b(?!\s*\d*\s*/)")


@dataclass(frozen=True, slots=True)
class Visit:
    """Who answered what on which machine, with the figures that were judged."""

    machine: str
    sequence: int
    person: str
    local: datetime
    verdict: str
    kind: str
    answers: tuple[Answer, ...]
    readings: Mapping[str, Reading] = field(default_factory=dict)
    """By series: "tension: head 1"."""
    texts: Mapping[str, str] = field(default_factory=dict)
    """What was typed of every series, those without a place in `readings` too."""

    @property
    def failed(self) -> bool:
        """Whether anything was found."""
        return self.kind == "held" or self.verdict != "ok"

    def instrument_texts(self) -> dict[str, str]:
        """What was read off instruments, by key."""
        return {one.key: one.text for one in self.answers if one.key.startswith(READ_KEYS) and number(one.text)}

    def typed(self, key: str) -> str:
        """That answer with its unit, as far as a judged figure tells it."""
        text, station = self.instrument_texts()[key], key.partition(".")[0] + ":"
        likes = [like for series, like in self.texts.items() if series.startswith(station)]
        same = [like for like in likes if number(like) == number(text)]
        return with_unit(text, same or likes)

    def judged(self, answer: Answer) -> tuple[Reading, float] | None:
        """The reading with limits that this answer became, and the SI value of one unit as typed; None without."""
        station, typed = answer.key.split(".")[0], number(answer.text)
        if typed is None or typed[0] == 0:
            return None
        for series, reading in self.readings.items():
            of_it = number(reading.text)
            if series.startswith(f"{station}:") and of_it == typed and (reading.low, reading.high) != (None, None):
                return reading, reading.value / typed[0]
        return None


@dataclass(frozen=True, slots=True)
class Flag:
    """Something worth a talk. Never a verdict."""

    pattern: str
    person: str
    machine: str
    """Empty: over all machines."""
    statement: str
    """What was seen, in numbers."""
    test: str
    """How it was judged."""
    sample: int
    chance: float | None
    """Probability of this or worse in honest data; None: a fact that was counted, which has no chance."""
    honest: str
    """How often honest data would raise it, and what raises it honestly; empty for a fact."""
    records: tuple[tuple[str, int], ...] = ()
    """Machine and number of records to look at, oldest first."""


@functools.lru_cache(maxsize=16384)  # the same few readings of a gauge come again and again
def number(text: str) -> tuple[float, int] | None:
    """The number a text begins with, and its decimals; None when there is none, or when it is a fraction as in 2 1/2.

    >>> number("4,20 bar")
    (4.2, 2)
    """
    found = _NUMBER.match(text)
    if found is None:
        return None
    decimals = found[2] or ""
    return float(f"{found[1]}.{decimals or 0}"), len(decimals)


def by_person(visits: Iterable[Visit]) -> dict[str, list[Visit]]:
    """The visits of each person, in their order."""
    people: dict[str, list[Visit]] = defaultdict(list)
    for visit in visits:
        people[visit.person].append(visit)
    return dict(people)


def by_machine(visits: Iterable[Visit]) -> dict[str, list[Visit]]:
    """The visits of each machine, in their order."""
    machines: dict[str, list[Visit]] = defaultdict(list)
    for visit in visits:
        machines[visit.machine].append(visit)
    return dict(machines)


def references(visits: Sequence[Visit]) -> tuple[tuple[str, int], ...]:
    """Machine and number of each."""
    return tuple((visit.machine, visit.sequence) for visit in visits)


def visits(connection: sqlite3.Connection, since: int, until: int) -> list[Visit]:
    """Every start-up and held record of a period, oldest first."""
    figures: dict[tuple[str, int], dict[str, Reading]] = defaultdict(dict)
    texts: dict[tuple[str, int], dict[str, str]] = defaultdict(dict)
    sql = "SELECT machine, series, at, sequence, value, low, high, unit, text FROM readings WHERE at >= ? AND at < ?"
    for machine, series, *rest in connection.execute(sql, (since, until)):
        reading = Reading(*rest)
        texts[machine, reading.sequence][series] = reading.text
        if series.startswith(("tension:", "running:")):
            figures[machine, reading.sequence][series] = reading
    return [
        Visit(
            one.machine,
            one.sequence,
            one.person,
            datetime.fromisoformat(one.local),
            one.verdict,
            one.kind,
            given,
            figures.get((one.machine, one.sequence), {}),
            texts.get((one.machine, one.sequence), {}),
        )
        for one, given in start_ups(connection, since, until)
    ]
