"""Reading one machine's records: the newest first, and one by its number, with its reference and whether it counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from preflight.checklist.body import read_body, record_word
from preflight.checklist.chain import Chain, ChainError, newest
from preflight.checklist.record_check import Status, check_record
from preflight.checklist.reference import Reference, reference_to
from preflight.errors import PreflightError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from preflight.checklist.record_check import RecordResult
    from preflight.checklist.register import Register


@dataclass(frozen=True, slots=True)
class Kept:
    """One record as it lies in the chain."""

    reference: Reference
    document: Mapping[str, Any]
    signed: bool
    """Signed by somebody admitted then, and intact."""
    statement: str
    """What its verification says."""


def records(shop: Path, machine: str, register: Register, kinds: frozenset[str]) -> Iterator[Kept]:
    """The records of these kinds, newest first; those that cannot be read are passed, verification names them."""
    chain = Chain(shop, machine)
    for number in range(newest(chain.folder), 0, -1):
        result = check_record(chain.path(number), machine, number, register if register.founded else None)
        # Found without parsing: most records are start-ups, which take milliseconds to parse.
        if result.sealed is None or record_word(result.sealed.record, "kind") not in kinds:
            continue
        if kept := _kept(result):
            yield kept


def record(shop: Path, machine: str, number: int, register: Register) -> Kept:
    """The record of that number. ChainError when there is none that can be read."""
    chain = Chain(shop, machine)
    if not 1 <= number <= (last := newest(chain.folder)):
        there = f"The newest is {last}." if last else "It has none yet."
        raise ChainError(f"There is no record {number} of {machine}.", there)
    result = check_record(chain.path(number), machine, number, register if register.founded else None)
    kept = _kept(result)
    if kept is None:
        raise ChainError(f"Record {number} of {machine}: {result.statement}", "Look with: preflight verify")
    return kept


def _kept(result: RecordResult) -> Kept | None:
    if result.sealed is None:
        return None
    try:
        document = read_body(result.sealed.body)
    except PreflightError:
        return None
    if not isinstance(document.get("record"), dict):
        return None
    return Kept(reference_to(result.sealed), document, result.status is Status.INTACT, result.statement)
