"""Read again until it passes: several values in a minute, the first outside the limits, the last inside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.tails import binomial_tail
from preflight.audit.visit import Flag, Visit, number, references

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preflight.audit.rules import RereadRules, Rules


def until_it_passed(visit: Visit, rules: RereadRules) -> bool:
    """Whether any reading of this start-up was."""
    for answer in visit.answers:
        values = (*answer.earlier, (answer.at, answer.text))
        if len(values) < rules.values or answer.at - values[-rules.values][0] > rules.seconds:
            continue
        judged = visit.judged(answer)
        first = number(values[-rules.values][1])
        if judged is None or first is None:
            continue
        reading, unit = judged
        low = reading.low if reading.low is not None else float("-inf")
        high = reading.high if reading.high is not None else float("inf")
        if low <= reading.value <= high and not low <= first[0] * unit <= high:
            return True
    return False


def flags(people: Mapping[str, Sequence[Visit]], rules: Rules) -> Iterator[Flag]:
    """One flag a person."""
    own = rules.rereads
    for person, visits in people.items():
        found = [visit for visit in visits if until_it_passed(visit, own)]
        chance = binomial_tail(len(found), len(visits), own.honest)
        if chance < rules.alarm:
            yield Flag(
                "read until it passed",
                person,
                "",
                f"In {len(found)} of {len(visits)} start-ups a reading was given {own.values} times in "
                f"{own.seconds} s, first outside its limits, last inside.",
                f"binomial: at most {own.honest:.0%} of honest start-ups",
                len(visits),
                chance,
                f"at most {rules.alarm:.2%} of honest people; setting a pressure while reading it raises it",
                references(found),
            )
