"""Round numbers: the last digits of readings whose honest spread is wide enough to make all digits equally frequent."""

from __future__ import annotations

import statistics
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from preflight.audit.figures import reading_name
from preflight.audit.tails import chi_square_tail
from preflight.audit.visit import Flag, Visit, number, references

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preflight.audit.rules import Rules

DEGREES = 9
MOSTLY_ZERO = 0.9
"""A last digit that is zero this often in everybody's hands is not read at all: the gauge's step is ten times that."""
ROUND = (0, 5)


def even_digits(counts: Sequence[int]) -> float:
    """Chi-square of ten counts against even ones. ValueError unless there are ten and something was counted.

    >>> even_digits([5] * 10)
    0.0
    """
    total = sum(counts)
    if len(counts) != 10 or not total:
        raise ValueError("ten counts, not all zero")
    expected = total / 10
    return sum((seen - expected) ** 2 for seen in counts) / expected


def steps(values: Sequence[tuple[float, int]]) -> list[int]:
    """Readings in whole steps of the gauge, the step found from how they were all written."""
    if not values:
        return []
    scale = 10 ** max(decimals for _, decimals in values)
    whole = [round(value * scale) for value, _ in values]
    while sum(step % 10 == 0 for step in whole) >= MOSTLY_ZERO * len(whole) and any(whole):
        whole = [round(step / 10) for step in whole]
    return whole


def spread(whole: Sequence[int]) -> float:
    """Standard deviation from the middle half, which a few slips do not widen."""
    if len(whole) < 4:
        return 0.0
    low, _, high = statistics.quantiles(whole, n=4)
    return (high - low) / 1.349


def flags(machines: Mapping[str, Sequence[Visit]], rules: Rules) -> Iterator[Flag]:
    """One flag a person and machine, for the reading with the least even digits."""
    for machine, visits in machines.items():
        found: dict[str, list[tuple[Visit, tuple[float, int]]]] = defaultdict(list)
        for visit in visits:
            for key, text in visit.instrument_texts().items():
                if (value := number(text)) is not None:
                    found[key].append((visit, value))
        whole = {key: steps([value for _, value in rows]) for key, rows in found.items()}
        for person in sorted({visit.person for visit in visits}):
            yield from _of_person(machine, person, found, whole, rules)


def _of_person(
    machine: str,
    person: str,
    found: Mapping[str, list[tuple[Visit, tuple[float, int]]]],
    whole: Mapping[str, list[int]],
    rules: Rules,
) -> Iterator[Flag]:
    tested: list[tuple[str, list[Visit], list[int]]] = []
    for key, rows in found.items():
        pairs = list(zip(rows, whole[key], strict=True))
        others = [step for (visit, _), step in pairs if visit.person != person]
        own = [(visit, step) for (visit, _), step in pairs if visit.person == person]
        basis = others if len(others) >= rules.digits.readings else [step for _, step in own]
        if len(own) >= rules.digits.readings and spread(basis) >= rules.digits.spread:
            tested.append((key, [visit for visit, _ in own], [step % 10 for _, step in own]))
    worst, least = None, rules.alarm
    for key, visits, digits in tested:
        counts = Counter(digits)
        statistic = even_digits([counts[digit] for digit in range(10)])
        chance = min(1.0, chi_square_tail(statistic, DEGREES) * len(tested))
        share = sum(counts[digit] for digit in ROUND) / len(digits)
        if chance < least and share > len(ROUND) / 10:
            least = chance
            worst = Flag(
                "round numbers",
                person,
                machine,
                f"{reading_name(key)}: ends in 0 or 5 in {share:.0%} of {len(digits)} readings; 20 % are expected.",
                f"chi-square {statistic:.1f} with {DEGREES} degrees of freedom, {len(tested)} readings tested",
                len(digits),
                chance,
                f"at most {rules.alarm:.2%} of honest people; reading a needle to the nearest mark raises it",
                references(visits),
            )
    if worst is not None:
        yield worst
