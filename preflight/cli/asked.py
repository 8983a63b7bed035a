"""Secrets and people asked for at the terminal: never an argument, never echoed, never logged."""

from __future__ import annotations

import getpass
import secrets
import sys
from typing import TYPE_CHECKING

from preflight import clock
from preflight.checklist.people import Person, PersonError, enrol, secret_fault, secret_rule
from preflight.checklist.register_alarm import remember
from preflight.checklist.secret import Secret
from preflight.checklist.signatory import Signatory, admitted, secret_word, signatory, unsigned
from preflight.checklist.signing import Ed25519Signer

if TYPE_CHECKING:
    from datetime import datetime

    from preflight.checklist.key_folder import KeyFolder
    from preflight.checklist.register import Register


def now() -> datetime:
    """Local time with its offset, whole seconds."""
    return clock.now().replace(microsecond=0)


def token() -> str:
    """A random word for record ids and temporary files."""
    return secrets.token_hex(16)


def ask(prompt: str) -> str:
    """A secret, not echoed. PersonError where nothing can be typed."""
    try:
        return getpass.getpass(prompt)
    except EOFError as error:
        raise PersonError("A PIN or passphrase is typed at a terminal; there is none here.") from error


def new_person(name: str, role: str) -> tuple[Person, Ed25519Signer]:
    """A new key, sealed under a secret typed twice, and the signer of that key.

    PersonError when the secret will not do, said before it is asked for a second time.
    """
    word = secret_word(role)
    say(f"{secret_rule(role)} It is not shown while it is typed.")
    secret = ask(f"New {word} of {name}: ")
    if fault := secret_fault(role, secret):
        raise PersonError(fault, "Nothing was changed. Run it again.")
    if ask(f"The same {word} once more: ") != secret:
        raise PersonError(f"The two {word}s differ.", "Nothing was changed. Run it again.")
    say("Sealing the key; this takes about a second.")
    seed = secrets.token_bytes(32)
    person = enrol(name, role, secret, seed=seed, salt=secrets.token_bytes(16), nonce=secrets.token_bytes(12))
    return person, Ed25519Signer(seed)


def named(
    register: Register, keys: KeyFolder, name: str | None, *, lead: bool = False, role: str | None = None
) -> Signatory:
    """The person who is going to sign: the one named, else the only one whose key is on this terminal. Asks nothing.

    A shop without people signs nothing: then the name alone, as operator or in the `role` that is stated. PersonError
    else.
    """
    register.require_sound()
    if not register.founded:
        if lead or not name:
            raise PersonError("This shop has no people yet." if lead else "Say who: --by NAME.")
        return unsigned(register, name, role or "operator")
    if role:
        raise PersonError("This shop has people: the register says who is what.", "Leave --role away.")
    member = admitted(register, name or _only(register, keys, lead=lead))
    if lead and member.role != "lead":
        raise PersonError(f"Only a lead can do this; {member.name} is {member.role}.")
    return Signatory(member.name, member.role, None)


def signing(
    register: Register, keys: KeyFolder, name: str | None, *, lead: bool = False, role: str | None = None
) -> Signatory:
    """The same person with an opened key: asks for the secret. PersonError when it does not open it."""
    by = named(register, keys, name, lead=lead, role=role)
    if not register.founded:
        return by
    word = secret_word(by.role)
    secret = Secret(ask(f"{word[0].upper()}{word[1:]} of {by.name}: "))
    say("Opening the key; this takes about a second.")
    signs = signatory(register, keys, by.name, secret, now())
    if trouble := remember(register, now()):
        say(trouble)
    return signs


def say(text: str) -> None:
    """A sentence beside the output, for whoever sits there."""
    print(text, file=sys.stderr, flush=True)


def _only(register: Register, keys: KeyFolder, *, lead: bool) -> str:
    here = [one.name for one in (register.leads if lead else register.active) if keys.holds(one.key_id)]
    if len(here) != 1:
        raise PersonError("Say who signs: --by NAME.", f"Keys on this terminal: {', '.join(here) or 'none'}.")
    return here[0]
