"""Who signs now: an admitted person, with the role of today and an opened key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.look_alikes import look_alike
from preflight.checklist.people import PersonError
from preflight.checklist.register_record import refuse_early
from preflight.errors import OWN_FAILURE, PreflightError

if TYPE_CHECKING:
    from datetime import datetime

    from preflight.checklist.key_folder import KeyFolder
    from preflight.checklist.register import Member, Register
    from preflight.checklist.secret import Secret
    from preflight.checklist.signing import Ed25519Signer


@dataclass(frozen=True, slots=True)
class Signatory:
    """A person at the moment of signing. `signer` None: a shop without people, the record stays unsigned."""

    name: str
    role: str
    signer: Ed25519Signer | None


def unsigned(register: Register, name: str, role: str) -> Signatory:
    """Whoever saves in a shop without people. PreflightError where the shop has people, or had them."""
    register.require_sound()
    if register.founded:
        raise PersonError("This shop has people: whoever saves here signs with a key.", "Nothing was saved.")
    return Signatory(name, role, None)


def admitted(register: Register, name: str) -> Member:
    """The person of that name who signs today. PersonError when there is none, or the register is not the shop's."""
    register.require_sound()
    member = register.members.get(name)
    if member is None:
        known = ", ".join(one.name for one in register.active)
        meant = look_alike(name, (one.name for one in register.active))
        hint = f"Did you mean {meant}?" if meant else f"Admitted: {known}."
        raise PersonError(f"Nobody of the name {name} was admitted to sign here.", hint)
    if member.until is not None:
        raise PersonError(f"{name} has retired and signs no more.", "A lead can renew: preflight people renew")
    return member


def signatory(register: Register, keys: KeyFolder, name: str, secret: Secret, now: datetime) -> Signatory:
    """Open the key of that person. Takes about half a second: call it in a thread. PersonError and RegisterError."""
    member = admitted(register, name)
    refuse_early(register, now)
    try:
        signer = keys.opened(member.key_id, name, secret.reveal(), now)
    except PreflightError:
        raise
    except Exception as error:  # noqa: BLE001  (below here local variables hold the secret: no crash report may have them)
        raise PersonError(f"The key of {name} was not opened: {type(error).__name__}.", "", OWN_FAILURE) from None
    return Signatory(name, member.role, signer)


def secret_word(role: str) -> str:
    """What a person of that role types: "passphrase" or "PIN"."""
    return "passphrase" if role == "lead" else "PIN"
