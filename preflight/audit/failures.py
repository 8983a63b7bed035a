"""Never a caution, never a stop, over more start-ups than that can last on these machines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.audit.tails import lowest_chance
from preflight.audit.visit import Flag, Visit, references

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preflight.audit.rules import Rules


def flags(people: Mapping[str, Sequence[Visit]], rules: Rules) -> Iterator[Flag]:
    """One flag a person without any finding."""
    own = rules.failures
    for person, visits in people.items():
        if len(visits) < own.records or any(visit.failed for visit in visits):
            continue
        machines = {visit.machine for visit in visits}
        others = [v for name, rows in people.items() if name != person for v in rows if v.machine in machines]
        found = sum(visit.failed for visit in others)
        known = len(others) >= own.records
        share = lowest_chance(found, len(others)) if known else own.share
        chance = (1 - share) ** len(visits)
        if chance < rules.alarm:
            basis = f"at least {share:.1%} of {len(others)} start-ups of others" if known else f"{share:.1%} assumed"
            yield Flag(
                "no failures ever",
                person,
                "",
                f"{len(visits)} start-ups without one caution or stop.",
                f"(1 - share)^n; share with a finding on the same machines: {basis}",
                len(visits),
                chance,
                f"at most {rules.alarm:.2%} of honest people; an easier shift or job mix raises it",
                references(visits),
            )
