"""What a release reckons with besides the findings: who may sign, overrides in force, profiles that were changed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preflight.checklist.approval import unapproved
from preflight.checklist.chain import Chain, newest
from preflight.checklist.override import permits
from preflight.checklist.register import Register, read_register
from preflight.checklist.seal import SealError, read_seal

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from preflight.checks.permit import Permit
    from preflight.shop.view import ShopView


REGISTER_GONE = "The records here are signed, and the register of people is gone. Is the shop folder whole?"


@dataclass(frozen=True, slots=True)
class Standing:
    """One machine's, at one moment. The empty one is that of a shop without people."""

    register: Register = field(default_factory=Register)
    permits: tuple[Permit, ...] = ()
    """Overrides in force."""
    profiles: tuple[str, ...] = ()
    """A sentence for each profile that is not as a lead approved it."""
    register_gone: bool = False
    """The machine's newest record is signed and there is no register: nothing may be saved unsigned after it."""

    @property
    def notice(self) -> str:
        """What the operator is told on opening."""
        if self.register_gone:
            return REGISTER_GONE
        said = [f"{text} A lead has to release." for text in self.profiles]
        said += [
            f"Override in force until {permit.until.astimezone():%Y-%m-%d %H:%M}, by {permit.by}: {permit.subject}."
            for permit in self.permits
        ]
        if self.register.faults:
            said.append("The register of people holds records that do not count: run preflight verify.")
        return " ".join(said)


def standing(shop: Path, view: ShopView, now: datetime) -> Standing:
    """Read what is in force for this machine now. Raises `PreflightError` when the register cannot be read."""
    register = read_register(shop)
    if not register.founded:
        return Standing(register_gone=is_signed(Chain(shop, view.machine.id)))
    return Standing(register, permits(shop, view.machine.id, register, now), unapproved(register, view))


def is_signed(chain: Chain) -> bool:
    """Whether the newest record of a chain carries a signature."""
    number = newest(chain.folder)
    try:
        return bool(number and read_seal(chain.path(number).read_bytes()).key_id)
    except (OSError, SealError):
        return False
