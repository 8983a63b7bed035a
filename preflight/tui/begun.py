"""Records that are begun, as a draft names them: a save whose answer was lost is recognised and not repeated."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preflight.checklist.chain import Chain, newest
from preflight.checklist.machine_records import find

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from preflight.checklist.register import Register


def begun(shop: Path, machine: str, record_id: str) -> dict[str, Any]:
    """The note of a record with that id: it can only come after the chain's newest number of now."""
    return {"record": record_id, "since": newest(Chain(shop, machine).folder)}


def saved_as(shop: Path, machine: str, note: Mapping[str, Any], register: Register) -> int:
    """Number of the record that a note became before the program ended; 0 when it became none."""
    record, since = note.get("record"), note.get("since")
    if type(record) is not str or type(since) is not int:
        return 0
    saved = find(shop, machine, record, register, after=since)
    return saved.sequence if saved else 0
