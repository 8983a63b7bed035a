"""Which kinds of fault one person's next drill leans to, by what is on record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.training.faults import FAULTS
from preflight.training.spacing import lean, shelves

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from preflight.training.records import PracticeRecord


def leaning(records: Iterable[PracticeRecord], name: str, now: datetime) -> Mapping[str, float]:
    """Weight of each kind for the person of that name; records oldest first, of anybody."""
    own = [one for one in records if one.trainee == name and one.what == "drill"]
    known = shelves((one.at, mark) for one in own for mark in one.marks)
    return lean(known, {fault.kind for fault in FAULTS}, now)
