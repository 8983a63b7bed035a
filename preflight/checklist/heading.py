"""The heading that every record prints: kind, who signed as what, when, and what the signature means."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signs, as what, and what the signature means."""

    name: str
    role: str
    meaning: str
    at: datetime
    """Local time with its offset."""


def heading(kind: str, record_id: str, signature: Signature) -> dict[str, Any]:
    """The `[record]` table: the time in UTC beside the local one with its offset."""
    return {
        "kind": kind,
        "id": record_id,
        "name": signature.name,
        "role": signature.role,
        "meaning": signature.meaning,
        "utc": signature.at.astimezone(UTC).isoformat(timespec="seconds"),
        "local": signature.at.isoformat(timespec="seconds"),
    }
