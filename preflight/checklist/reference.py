"""What a record refers to: another record, by chain, number and digest, so that it cannot be exchanged later."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from preflight.checklist.seal import Sealed

KEYS = ("machine", "sequence", "sha256")


@dataclass(frozen=True, slots=True)
class Reference:
    """One record of one chain."""

    machine: str
    """Id of the chain."""
    sequence: int
    sha256: str
    """Of the whole file."""

    @property
    def table(self) -> dict[str, Any]:
        """As it stands in a record's body."""
        return {"machine": self.machine, "sequence": self.sequence, "sha256": self.sha256}

    def fits(self, sealed: Sealed) -> bool:
        """Whether it is this very record that is meant."""
        return self == reference_to(sealed)


def reference_to(sealed: Sealed) -> Reference:
    """The reference to a record that was read."""
    return Reference(sealed.machine, sealed.sequence, sealed.sha256)


def reference_in(document: Mapping[str, Any], key: str = "refers") -> Reference | None:
    """The reference that a record's body holds under that key; None when there is none or it is malformed."""
    table = document.get(key)
    if not isinstance(table, Mapping) or set(table) != set(KEYS):
        return None
    machine, sequence, sha256 = (table[name] for name in KEYS)
    if type(machine) is not str or type(sequence) is not int or type(sha256) is not str:
        return None
    return Reference(machine, sequence, sha256)
