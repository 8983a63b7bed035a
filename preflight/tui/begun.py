"""Records that are begun, as a draft names them: a save whose answer was lost is recognised and not repeated."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preflight.checklist.chain import Chain, newest

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


def begun(shop: Path, machine: str, record_id: str) -> dict[str, Any]:
    """The note of a record with that id: it can only come after the chain's newest number of now."""
    return {"record": record_id, "since": newest(Chain(shop, machine).folder)}


def saved_as(shop: Path, machine: str, note: Mapping[str, Any]) -> int:
    """Number of the record that a note became before the program ended; 0 when it became none."""
    record, since = note.get("record"), note.get("since")
    if type(record) is not str or type(since) is not int:
        return 0
    found = Chain(shop, machine).find(record, after=since)
    return found.sequence if found else 0
