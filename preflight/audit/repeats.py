"""The same reading again and again, beyond how often this gauge repeats by itself in other hands."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from preflight.audit.figures import reading_name, said_chance
from preflight.audit.tails import binomial_tail, highest_chance
from preflight.audit.visit import Flag, Visit, references

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preflight.audit.rules import Rules

SET = 4
"""Kinds of reading that a set needs before two equal sets say anything."""


@dataclass(frozen=True, slots=True)
class MatchRate:
    """How often a reading equals the one before it, in the hands of others."""

    chance: float
    """Upper bound of the rate, also of the rate after a match: a slowly wandering value repeats in runs."""
    pairs: int
    apart: float
    """Upper bound of the rate alone: what two sets on any two days may share."""


def match_rate(texts: Sequence[str], least: int) -> MatchRate | None:
    """From readings in their order; None below `least` consecutive pairs."""
    same = [one == other for one, other in pairwise(texts)]
    if len(same) < least:
        return None
    after = [second for first, second in pairwise(same) if first]
    rate = apart = highest_chance(sum(same), len(same))
    if len(after) >= least // 2:
        rate = max(rate, highest_chance(sum(after), len(after)))
    return MatchRate(rate, len(same), apart)


def longest_run(texts: Sequence[str]) -> tuple[int, int]:
    """Length of the longest run of equal texts, and the place behind it."""
    best, end, length = 0, 0, 0
    for place, text in enumerate(texts):
        length = length + 1 if place and text == texts[place - 1] else 1
        if length > best:
            best, end = length, place + 1
    return best, end


def run_chance(length: int, readings: int, rate: float) -> float:
    """Upper bound of the chance of a run of that length among so many readings: each start counts once."""
    return min(1.0, max(0, readings - length + 1) * rate ** (length - 1)) if length > 1 else 1.0


def flags(machines: Mapping[str, Sequence[Visit]], rules: Rules) -> Iterator[Flag]:
    """Runs of one reading, and whole sets that were there before."""
    for machine, visits in machines.items():
        texts = [(visit, visit.instrument_texts()) for visit in visits]
        keys = sorted({key for _, given in texts for key in given})
        for person in sorted({visit.person for visit in visits}):
            own = [(visit, given) for visit, given in texts if visit.person == person]
            rates: dict[str, MatchRate] = {}
            for key in keys:
                others = [given[key] for visit, given in texts if visit.person != person and key in given]
                rate = match_rate(others, rules.repeats.pairs)
                if rate is not None and rate.chance < 1:
                    rates[key] = rate
            yield from _runs(machine, person, own, rates, rules)
            yield from _sets(machine, person, own, rates, rules)


def _runs(
    machine: str, person: str, own: list[tuple[Visit, dict[str, str]]], rates: dict[str, MatchRate], rules: Rules
) -> Iterator[Flag]:
    worst, least = None, rules.alarm
    for key, rate in rates.items():
        having = [(visit, given[key]) for visit, given in own if key in given]
        length, end = longest_run([text for _, text in having])
        # half of the alarm is for the runs, shared by the readings; the other half for the sets
        chance = run_chance(length, len(having), rate.chance) * len(rates) * 2
        if chance < least:
            least = chance
            worst = Flag(
                "identical readings",
                person,
                machine,
                f"{reading_name(key)}: {having[end - 1][0].typed(key)} {length} times in a row.",
                f"run of {length} in {len(having)}; two in a row agree in at most {rate.chance:.0%} "
                f"({rate.pairs} pairs of others)",
                len(having),
                chance,
                f"at most {rules.alarm:.2%} of honest people; a gauge that sticks raises it",
                references([visit for visit, _ in having[end - length : end]]),
            )
    if worst is not None:
        yield worst


def _sets(
    machine: str, person: str, own: list[tuple[Visit, dict[str, str]]], rates: dict[str, MatchRate], rules: Rules
) -> Iterator[Flag]:
    """Start-ups of which every reading equals that of one earlier start-up of the same person."""
    best: dict[str, float] = {}
    for key, rate in rates.items():
        # two heads on one air supply or two places on one board go together: one of each kind counts
        kind = key.rsplit(".", 1)[0]
        best[kind] = min(best.get(kind, 1.0), rate.apart)
    pair = math.prod(best.values())
    seen: set[tuple[str, ...]] = set()
    equal: list[Visit] = []
    for visit, given in own:
        if len(given.keys() & rates.keys()) == len(rates):
            texts = tuple(given[name] for name in sorted(rates))
            if texts in seen:
                equal.append(visit)
            seen.add(texts)
    compared = len(own) * (len(own) - 1) // 2
    chance = min(1.0, 2 * binomial_tail(len(equal), compared, pair))
    if len(best) >= SET and chance < rules.alarm:
        yield Flag(
            "identical sets",
            person,
            machine,
            f"{len(equal)} of {len(own)} start-ups have all {len(rates)} readings equal to an earlier one.",
            f"binomial: two sets agree with a chance of at most {said_chance(pair)}, {compared} pairs compared",
            len(own),
            chance,
            f"at most {rules.alarm:.2%} of honest people",
            references(equal),
        )
