"""A permission covers the stop it was signed for, no worse one, and none that takes no override."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from preflight.checks.finding import CheckResult, Finding, Verdict
from preflight.checks.permit import Permit, release
from preflight.checks.route import Assessment
from preflight.quantities import Kind, parse

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def tension(reading: str, *, takes_override: bool = True, subject: str = "head 1") -> Finding:
    return Finding(
        subject,
        Verdict.STOP,
        f"{subject} reads {reading}.",
        measured=parse(reading, Kind.PRESSURE),
        takes_override=takes_override,
        low=parse("4.0 bar", Kind.PRESSURE),
        high=parse("4.8 bar", Kind.PRESSURE),
    )


PERMIT = Permit(
    check="tension",
    subject="head 1",
    statement="head 1 reads 5.1 bar.",
    measured=510_000.0,
    beyond=30_000.0,
    since=NOON,
    until=NOON + timedelta(hours=2),
    by="T. Varga",
    reason="regulator on order",
    record=5,
)


def judged(*findings: Finding) -> Assessment:
    return Assessment("m", "", "", (CheckResult("tension", findings),))


@pytest.mark.parametrize(
    ("finding", "covered"),
    [
        (tension("5.1 bar"), True),
        (tension("4.9 bar"), True),
        (tension("3.8 bar"), False),  # nearer to its limit than what was permitted, but out at the other end
        (tension("5.2 bar"), False),
        (tension("5.1 bar", subject="head 2"), False),
        (tension("5.1 bar", takes_override=False), False),
        (replace(tension("5.1 bar"), verdict=Verdict.OPEN), False),
    ],
)
def test_it_covers_the_same_thing_no_further_out_than_when_it_was_signed(finding: Finding, covered: bool) -> None:
    assert PERMIT.covers("tension", finding) is covered
    assert release(judged(finding), [PERMIT], NOON).allowed is covered


@pytest.mark.parametrize(("minutes", "allowed"), [(-1, False), (0, True), (120, True), (121, False)])
def test_it_counts_from_its_signature_to_its_end(minutes: int, allowed: bool) -> None:
    found = release(judged(tension("5.1 bar")), [PERMIT], NOON + timedelta(minutes=minutes))
    assert found.allowed is allowed
    assert found.until == (PERMIT.until if allowed else None)


def test_a_word_is_covered_as_the_same_word_alone() -> None:
    looked = Finding("platen", Verdict.STOP, "The platen is worn.", measured="worn")
    permit = replace(PERMIT, check="condition", subject="platen", measured="worn", beyond=None)
    assert permit.covers("condition", looked)
    assert not permit.covers("condition", replace(looked, measured="damaged"))


def test_a_release_ends_with_the_first_of_its_permissions_and_one_stop_left_blocks_it() -> None:
    second = replace(PERMIT, subject="head 2", until=NOON + timedelta(hours=1))
    both = judged(tension("5.0 bar"), tension("5.0 bar", subject="head 2"))
    found = release(both, [PERMIT, second], NOON)
    assert (found.allowed, found.until) == (True, second.until)
    assert [check for check, _ in release(both, [PERMIT], NOON).blocked] == ["tension"]
