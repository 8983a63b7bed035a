"""What a release reckons with besides the findings: who may sign, overrides in force, profiles that were changed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from preflight.checklist.approval import unapproved
from preflight.checklist.override import permits
from preflight.checklist.register import Register, read_register
from preflight.checklist.register_alarm import remember

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from preflight.checklist.body_memory import BodyMemory
    from preflight.checks.permit import Permit
    from preflight.shop.view import ShopView


@dataclass(frozen=True, slots=True)
class Standing:
    """One machine's, at one moment. The empty one is that of a shop without people."""

    register: Register = field(default_factory=Register)
    permits: tuple[Permit, ...] = ()
    """Overrides in force."""
    profiles: tuple[str, ...] = ()
    """A sentence for each profile that is not as a lead approved it."""
    memory: str = ""
    """What this terminal cannot remember or read of its memory of founders."""

    @property
    def notice(self) -> str:
        """What the operator is told on opening."""
        if self.register.alarm:
            return str(self.register.alarm)
        said = [f"{text} A lead has to release." for text in self.profiles]
        said += [
            f"Override in force until {permit.until.astimezone():%Y-%m-%d %H:%M}, by {permit.by}: {permit.subject}."
            for permit in self.permits
        ]
        if self.register.faults:
            said.append("The register of people holds records that do not count: run preflight verify.")
        return " ".join([*said, self.memory]).strip()


def standing(shop: Path, view: ShopView, now: datetime, bodies: BodyMemory | None = None) -> Standing:
    """Read what is in force for this machine now. Raises `PreflightError` when the register cannot be read.

    From then on this terminal remembers who founded the shop.
    """
    register = read_register(shop)
    memory = remember(register, now)
    if register.alarm or not register.founded:
        return Standing(register, memory=memory)
    return Standing(register, permits(shop, view.machine.id, register, now, bodies), unapproved(register, view), memory)
