"""Missed and late start-ups by shift: power on planted crews, silence on honest ones, the chance against scipy."""

from __future__ import annotations

import json
import sqlite3
from datetime import UTC, datetime, timedelta
from random import Random

import pytest
from scipy import stats

from preflight.audit.attendance import RunTime, ShiftCount, flags, run_times, shift_counts
from preflight.audit.fisher import fisher_tail
from preflight.audit.rules import Rules
from preflight.audit.schema import migrate
from preflight.audit.visit import Visit, number

RULES = Rules()
HOURS = {"early": 6, "late": 14, "night": 22}
DAYS = 120
"""Worked shifts of each kind at which 95 of 100 planted crews are found: half a year."""
CARELESS = 0.15
"""Share of start-ups that a planted shift misses, or begins late, ..."""
USUAL = 0.02
"""... and that the others do."""


def worked(seed: int, missed: dict[str, float], late: dict[str, float]) -> list[ShiftCount]:
    """What the records of one machine show over so many days: its first parts, and the start-ups there were."""
    rng, first = Random(seed), datetime(2026, 1, 5, tzinfo=UTC)
    visits: list[Visit] = []
    runs: list[RunTime] = []
    for day in range(DAYS):
        for shift, hour in HOURS.items():
            began = first + timedelta(days=day, hours=hour, minutes=rng.uniform(20, 60))
            runs.append(RunTime("m-1", len(runs), began))
            if rng.random() < missed[shift]:
                continue
            after = rng.uniform(11, 90) if rng.random() < late[shift] else -rng.uniform(1, 15)
            visits.append(Visit("m-1", len(visits), shift, began + timedelta(minutes=after), "ok", "startup", ()))
    return shift_counts(visits, runs, RULES.attendance)


def usual(share: float = USUAL) -> dict[str, float]:
    return dict.fromkeys(HOURS, share)


@pytest.mark.parametrize("word", ["missed", "late"])
def test_a_careless_shift_of_the_stated_strength_is_found(word: str) -> None:
    found = 0
    for seed in range(200):
        careless = usual() | {"late": CARELESS}
        counts = worked(seed, careless if word == "missed" else usual(), careless if word == "late" else usual())
        found += (f"{word} start-ups", "late shift") in {(one.pattern, one.person) for one in flags(counts, RULES)}
    assert found / 200 >= 0.95


def test_of_1000_honest_crews_no_more_shifts_are_flagged_than_stated() -> None:
    raised = {"missed start-ups": 0, "late start-ups": 0}
    for seed in range(1000):
        share = Random(-1 - seed).uniform(0.0, 0.1)  # a careful crew or a careless one, but all its shifts alike
        for flag in flags(worked(seed, usual(share), usual(share)), RULES):
            raised[flag.pattern] += 1
    assert max(raised.values()) <= RULES.alarm * 1000 * len(HOURS)


@pytest.mark.parametrize(("hits", "trials", "found", "others"), [(18, 120, 5, 240), (9, 60, 0, 200), (30, 200, 4, 200)])
def test_the_chance_is_scipys_exact_one(hits: int, trials: int, found: int, others: int) -> None:
    given = [ShiftCount("early", others, found, 0), ShiftCount("late", trials, hits, 0)]
    (flag,) = flags(given, RULES)
    table = [[hits, trials - hits], [found, others - found]]
    assert flag.chance == pytest.approx(stats.fisher_exact(table, alternative="greater").pvalue, rel=1e-8)
    assert flag.sample == trials


def test_the_exact_chance_nears_scipys_binomial_tail_where_the_others_are_many() -> None:
    found, others = 20_000, 1_000_000
    for hits in (0, 1, 4, 9, 120):
        expected = stats.binom.sf(hits - 1, 120, found / others)
        assert fisher_tail(hits, 120, found, others) == pytest.approx(expected, rel=0.01, abs=1e-12)


def test_a_run_begins_when_its_record_says_else_its_hours_before_it_was_signed() -> None:
    connection = sqlite3.connect(":memory:")
    migrate(connection)
    signed = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
    at = int(signed.timestamp())
    tables = [{"began": "2026-11-25T07:10:00+01:00", "hours": "2.5 h"}, {"hours": "2.5 h"}, {"area": "3 m2"}]
    for sequence, table in enumerate(tables):
        row = (sequence, "m-1", sequence, "run", "", "", "", signed.isoformat(), "", "", "", "", "", "", 0)
        connection.execute(f"INSERT INTO records VALUES ({', '.join('?' * len(row))})", row)
        connection.execute("INSERT INTO runs VALUES (?, ?, ?, ?)", ("m-1", sequence, at, json.dumps(table)))
    said = [one.began.astimezone(UTC).strftime("%H:%M") for one in run_times(connection, at - 86400, at + 1)]
    assert said == ["06:10", "12:30"]
    # a run belongs to the period in which it began, whenever it was signed
    noon = int(datetime(2026, 11, 25, 12, 0, tzinfo=UTC).timestamp())
    assert [one.sequence for one in run_times(connection, noon, noon + 3600)] == [1]
    assert [one.sequence for one in run_times(connection, noon - 86400, noon)] == [0]
    connection.close()


@pytest.mark.parametrize(
    ("text", "read"),
    [("4,20 bar", (4.2, 2)), ("-0.5 in wg", (-0.5, 1)), ("2 1/2 in wg", None), ("1/4 in", None), ("soon", None)],
)
def test_figures_are_read_with_their_sign_and_fractions_are_left_alone(
    text: str, read: tuple[float, int] | None
) -> None:
    assert number(text) == read
