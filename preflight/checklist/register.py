"""The register: what the shop's own chain says. Who may sign, as what and when, and which profiles a lead approved.

The chain is named after the founder's key, `shop-` and the digits of its key id: whoever knows the name cannot be shown
another founder. Public keys stand in these signed records and nowhere else, so a copy of `checklists/` verifies by
itself. A record that no lead of its time signed changes nothing and is named as a fault. Whether the register that lies
in a folder is the shop's own, `register_alarm` says; the register carries it, so that nobody signs without asking.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from preflight.checklist.chain import FOLDER, Chain, ChainError, Head, chain_folders, chains_root, newest
from preflight.checklist.look_alikes import look_alike
from preflight.checklist.seal import NO_PREVIOUS, is_machine_id

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.founders import Founders
    from preflight.checklist.record import Status
    from preflight.checklist.reference import Reference
    from preflight.checklist.signing import AdmittedKey

PREFIX = "shop-"
"""Begins the name of a register's chain; machines' chains begin with `m-`."""
LEAD = "lead"
_CHAIN = re.compile(r"shop-[0-9a-f]{32}")


CLEAR = "Nothing is founded or signed here until that is cleared: preflight verify, preflight people founder."
"""What follows on every alarm."""


class RegisterError(ChainError):
    """A change that the register does not allow, or a folder of chains that cannot be read."""


class RegisterAlarmError(RegisterError):
    """A register that is not the shop's own: nothing may be founded or signed."""


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
class Alarm:
    """Why a register is not the shop's own, as a sentence with what to look at, and what a verification calls it."""

    statement: str
    status: Status

    def __str__(self) -> str:
        return f"{self.statement} {CLEAR}"


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
    folder: Path | None = None
    """Where it was read."""
    alarm: Alarm | None = None
    """Why it is not the shop's own, so that nothing may be signed by it."""
    notice: str = ""
    """What this terminal cannot read of its memory of founders."""

    def find(self, key_id: str) -> AdmittedKey | None:
        """The key of that name; None when nobody was admitted with it."""
        return self.keys.get(key_id)

    @property
    def founded(self) -> bool:
        """Whether this shop has people, so that its records are signed; also when their register is not to be had."""
        return bool(self.chain or self.alarm)

    @property
    def keyring(self) -> Register | None:
        """The keys to check signatures with; None when there are none at hand."""
        return self if self.keys else None

    @property
    def founder(self) -> str:
        """Key id of the founder; empty before the founding."""
        return founder_of(self.chain)

    def require_sound(self) -> None:
        """RegisterAlarmError when nothing may be founded or signed by it."""
        if self.alarm:
            raise RegisterAlarmError(self.alarm.statement, CLEAR)

    def require_free_name(self, name: str) -> None:
        """RegisterError when somebody is, or was, admitted under that name or one that an eye takes for it."""
        taken = look_alike(name, self.members)
        if taken is not None:
            own = "There is" if taken == name else f"{name} looks like"
            raise RegisterError(
                f"{own} {taken}, who is here already: two people never share a name.",
                "Add a middle letter, or for a new key: preflight people renew",
            )

    @property
    def founded_at(self) -> datetime | None:
        """When the first lead was admitted; None in a shop without people."""
        times = [key.valid_from for key in self.keys.values() if key.valid_from is not None]
        return min(times, default=None)

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


def founder_of(chain: str) -> str:
    """Key id of the founder that a register's chain is named after; empty for no chain."""
    return "k-" + chain.removeprefix(PREFIX) if chain else ""


def is_register(chain: str) -> bool:
    """Whether a chain of that name is a register."""
    return _CHAIN.fullmatch(chain) is not None


def registers(folder: Path) -> list[str]:
    """Names of the register chains that hold a record, in a shop folder or in a folder of chains itself. Opens no file.

    An empty one is none: a kill in the middle of a founding leaves it.
    """
    root = chains_root(folder)
    return [name for name in chain_names(folder) if is_register(name) and newest(root / name)]


def chain_names(folder: Path) -> list[str]:
    """Names of all chains in a shop folder, or in a folder of chains itself, in order. Opens no file."""
    try:
        return [entry.name for entry in chain_folders(folder) if entry.is_folder and is_machine_id(entry.name)]
    except FileNotFoundError:
        return []
    except OSError as error:
        raise RegisterError(f"The folder {chains_root(folder)} cannot be read: {error.strerror}.") from error


def read_register(folder: Path, founders: Founders | None = None) -> Register:
    """The register of a shop folder, or of a copy that holds the chains alone; without people an empty one.

    What this terminal remembers of the shop decides whether it is the shop's own; `alarm` says when it is not.
    SigningUnavailableError without the signature library, RegisterError when the folder cannot be read.
    """
    from preflight.checklist.register_alarm import watched_register  # it reads registers by `pinned_register`

    return watched_register(folder, founders)


def pinned_register(folder: Path, name: str) -> Register:
    """The register whose chain has that name, as a head kept elsewhere pins it; an empty one where it is not there."""
    if name not in registers(folder):
        return Register(folder=folder)
    from preflight.checklist.admission import Admission
    from preflight.checklist.signing import require_library

    require_library()
    root = chains_root(folder)
    chain = Chain(root.parent, name) if root.name == FOLDER else None
    admission = Admission(root / name)
    admission.read(range(1, newest(root / name) + 1))
    head = chain.head(accept_damaged=True) if chain else Head(name, 0, NO_PREVIOUS)
    return replace(admission.register(head), folder=folder)
