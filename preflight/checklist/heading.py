"""The heading that every record prints: kind, who signed as what, when, and what the signature means."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping


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


@dataclass(frozen=True, slots=True)
class Heading:
    """What a saved record prints of itself: the `[record]` table, read."""

    kind: str
    id: str
    name: str
    role: str
    utc: datetime
    """When it was signed; the local time stands beside it in the record."""


def heading_of(table: Mapping[str, Any]) -> Heading:
    """The inverse of `heading`, of a table that was found to be one."""
    return Heading(table["kind"], table["id"], table["name"], table["role"], datetime.fromisoformat(table["utc"]))
