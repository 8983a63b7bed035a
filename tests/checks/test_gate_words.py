"""The one sentence on gates: what it names, how long it gets, and what it does not claim."""

from __future__ import annotations

import pytest

from preflight.checks.extraction.gate_words import LONGEST, advice_sentence
from preflight.engine.gate_advice import GateAdvice, GateChange, NotByGates, Thoroughness

NONE: frozenset[str] = frozenset()


def change(close: str = "", open_: str = "") -> GateChange:
    return GateChange(frozenset(close.split()), frozenset(open_.split()))


def said(*options: GateChange, opened: str = "a b c d", search: Thoroughness = "complete") -> str:
    return advice_sentence(GateAdvice(options, None, search), "metric", opened.split(), ["m"], ["own"])


def test_gates_are_named_in_order_with_what_to_do() -> None:
    assert said(change("saw planer", "m")) == "Shut planer + saw and open m; then read again."


def test_ways_of_one_size_are_joined_by_or_and_the_rest_counted() -> None:
    assert said(change("a"), change("b")) == "Shut a, or shut b; then read again."
    five = said(*(change(name) for name in "abcde"))
    assert five == "Shut a, or shut b, or shut c (2 other ways); then read again."


def test_a_make_up_gate_goes_before_a_strangers_gate_which_is_only_counted() -> None:
    assert said(change(open_="m own"), change(open_="own saw")) == "Open m + own (1 other way); then read again."
    assert said(change(open_="saw")) == "Open saw; then read again."


def test_many_gates_to_shut_are_said_by_those_that_stay_open() -> None:
    names = " ".join(f"g{n}" for n in range(20))
    sentence = said(change(" ".join(f"g{n}" for n in range(18))), opened=names)
    assert sentence == "Of the open gates leave only g18 + g19; then read again."


def test_nothing_to_change_is_no_sentence() -> None:
    assert said(change()) == ""


def test_what_is_not_proven_is_not_claimed() -> None:
    assert said(change("a"), search="size not proven").endswith("Fewer gates may do it too.")
    assert said(change("a"), search="ties cut short").endswith("There may be more ways.")
    assert "may" not in said(change("a"))


def test_long_names_leave_fewer_ways_in_the_sentence() -> None:
    ways = [change(f"{'long-name-of-a-gate-' * 3}{n}") for n in range(5)]
    sentence = said(*ways)
    assert len(sentence) <= LONGEST
    assert "other ways" in sentence


@pytest.mark.parametrize(
    ("reason", "sentence"),
    [
        (NotByGates("flow", "two-1", 0.5, 0.7), "Not by gates: two-1 gets 1800 m3/h at most."),
        (NotByGates("velocity", "main", 12.3, 17.8), "Not by gates: run main reaches 12.3 m/s at most."),
        (NotByGates("combination"), "Not by gates."),
    ],
)
def test_when_no_set_helps_it_says_why_and_whom_to_ask(reason: NotByGates, sentence: str) -> None:
    said = advice_sentence(GateAdvice((), reason, "complete"), "metric", [])
    assert said.startswith(sentence)
    assert said.endswith("Clean the filter, split the job, or ask the system's designer.")


def test_a_search_cut_short_without_a_find_does_not_claim_that_there_is_none() -> None:
    said = advice_sentence(GateAdvice((), NotByGates("not found"), "size not proven"), "metric", [])
    assert "Not by gates" not in said
    assert "short search" in said
    assert len(said) <= LONGEST
