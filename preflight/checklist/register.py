"""The register: what the shop's own chain says. Who may sign, as what and when, and which profiles a lead approved.

The chain is named after the founder's key, `shop-` and the digits of its key id: whoever knows the name cannot be shown
another founder. Public keys stand in these signed records and nowhere else, so a copy of `checklists/` verifies by
itself. A record that no lead of its time signed changes nothing and is named as a fault.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preflight.checklist.chain import FOLDER, Chain, ChainError, Head, newest
from preflight.checklist.seal import NO_PREVIOUS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.reference import Reference
    from preflight.checklist.signing import AdmittedKey

PREFIX = "shop-"
"""Begins the name of a register's chain; machines' chains begin with `m-`."""
LEAD = "lead"
_CHAIN = re.compile(r"shop-[0-9a-f]{32}")


class RegisterError(ChainError):
    """More than one register in a folder, or a change that the register does not allow."""


@dataclass(frozen=True, slots=True)
class Member:
    """One person."""

    name: str
    role: str
    """The newest role."""
    key_id: str
    """Name of the newest key."""
    since: datetime
    """First admitted."""
    until: datetime | None
    """Retired; None: signs today."""
    reference: Reference
    """The record that last changed anything of this person."""


@dataclass(frozen=True, slots=True)
class Approval:
    """A lead's signature under one state of a profile."""

    profile: str
    """Folder and id: "machines/hall-two"."""
    sha256: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Register:
    """A `Keyring` made from signed records alone. Without records: a shop whose records are not signed."""

    chain: str = ""
    """Name of the chain; empty: the shop was not founded yet."""
    head: Head = field(default=Head("", 0, NO_PREVIOUS))
    members: Mapping[str, Member] = field(default_factory=dict)
    """By name, in the order of admission."""
    keys: Mapping[str, AdmittedKey] = field(default_factory=dict)
    """Every key that was ever admitted, by its id."""
    approvals: Mapping[str, Approval] = field(default_factory=dict)
    """The newest of each profile."""
    faults: tuple[tuple[int, str], ...] = ()
    """Numbers of the records that were passed over, and why."""
    newest_at: datetime | None = None
    """Time of the newest record."""

    def find(self, key_id: str) -> AdmittedKey | None:
        """The key of that name; None when nobody was admitted with it."""
        return self.keys.get(key_id)

    @property
    def founded(self) -> bool:
        """Whether this shop has people, so that its records are signed."""
        return bool(self.chain)

    @property
    def active(self) -> tuple[Member, ...]:
        """Those who sign today."""
        return tuple(member for member in self.members.values() if member.until is None)

    @property
    def leads(self) -> tuple[Member, ...]:
        """The leads among them."""
        return tuple(member for member in self.active if member.role == LEAD)

    def standing(self, profile: str, sha256: str) -> str:
        """What is to be said of a profile as it is now; empty when it is approved, or nobody could approve it."""
        if not self.founded:
            return ""
        approval = self.approvals.get(profile)
        if approval is None:
            return f"No lead has approved {profile}."
        if approval.sha256 != sha256:
            return f"{profile} was changed since {approval.by} approved it on {approval.at:%Y-%m-%d}."
        return ""


def registers(folder: Path) -> list[str]:
    """Names of the register chains in a shop folder, or in a folder of chains itself. Opens no file."""
    root = chains_root(folder)
    try:
        return sorted(entry.name for entry in root.iterdir() if _CHAIN.fullmatch(entry.name) and entry.is_dir())
    except FileNotFoundError:
        return []
    except OSError as error:
        raise RegisterError(f"The folder {root} cannot be read: {error.strerror}.") from error


def chains_root(folder: Path) -> Path:
    """The folder that holds one folder a chain."""
    return folder / FOLDER if (folder / FOLDER).is_dir() else folder


def read_register(folder: Path, founder: str = "") -> Register:
    """The register of a shop folder, or of a copy that holds the chains alone; without people an empty one.

    founder: name of the chain, as a head kept elsewhere pins it; then no other one counts.
    RegisterError when there are two and none is pinned; SigningUnavailableError without the signature library.
    """
    found = registers(folder)
    if founder:
        found = [name for name in found if name == founder]
    if not found:
        return Register()
    if len(found) > 1:
        raise RegisterError(
            f"This folder holds two founded registers: {' and '.join(found)}.",
            "Only the head kept elsewhere tells which one is the shop's. Give it with --head, or remove the other.",
        )
    from preflight.checklist.admission import Admission
    from preflight.checklist.signing import require_library

    require_library()
    root = chains_root(folder)
    chain = Chain(root.parent, found[0]) if root.name == FOLDER else None
    admission = Admission(root / found[0])
    admission.read(range(1, newest(root / found[0]) + 1))
    head = chain.head(accept_damaged=True) if chain else Head(found[0], 0, NO_PREVIOUS)
    return admission.register(head)
