"""Which kind of fault comes next: missed ones soon, known ones later and later."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from preflight.checks.finding import Verdict
from preflight.training.score import Outcome, StationMark
from preflight.training.spacing import DAYS, KNOWN, NEVER_SEEN, due, lean, shelves

AT = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


def seen(kind: str, outcome: Outcome, *, cause: bool = True) -> StationMark:
    return StationMark("glue", Verdict.STOP, Verdict.STOP, outcome, False, (kind,), cause, cause, 20)


def days(count: float) -> datetime:
    return AT + timedelta(days=count)


def test_each_right_answer_doubles_the_time_until_it_comes_again() -> None:
    history = [(days(at), seen("glue", Outcome.FOUND)) for at in range(len(DAYS) + 2)]
    waits = [(shelves(history[: n + 1])["glue"].due - history[n][0]) / timedelta(days=1) for n in range(len(history))]
    assert waits == [1, 2, 4, 8, 16, 32, 32, 32]


def test_a_miss_sends_it_back_to_the_first_shelf() -> None:
    history = [(days(at), seen("glue", Outcome.FOUND)) for at in range(4)]
    missed = shelves([*history, (days(5), seen("glue", Outcome.MISSED))])["glue"]
    assert (missed.at, missed.missed, missed.due) == (0, 1, days(6))


def test_found_for_a_wrong_reason_moves_nothing() -> None:
    right = [(days(at), seen("glue", Outcome.FOUND)) for at in range(3)]
    guessed = (days(3), seen("glue", Outcome.FOUND, cause=False))
    assert shelves([*right, guessed])["glue"].at == shelves(right)["glue"].at


def test_missed_weighs_more_than_never_seen_and_that_more_than_known() -> None:
    known = shelves([(AT, seen("air", Outcome.MISSED)), (AT, seen("glue", Outcome.FOUND))])
    weights = lean(known, ("air", "glue", "metal"), days(0.5))
    assert weights["air"] > weights["metal"] == NEVER_SEEN > weights["glue"] == KNOWN


def test_a_known_kind_weighs_more_the_longer_it_is_overdue() -> None:
    known = shelves([(AT, seen("glue", Outcome.FOUND))])
    weights = [lean(known, ("glue",), days(at))["glue"] for at in (0.9, 1.1, 2, 9)]
    assert weights == sorted(weights)
    assert weights[0] < weights[1]
    assert [shelf.kind for shelf in due(known, days(1))] == ["glue"]
    assert due(known, days(0.9)) == []
