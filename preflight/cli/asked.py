"""Secrets and people asked for at the terminal: never an argument, never echoed, never logged."""

from __future__ import annotations

import getpass
import secrets
import sys
from typing import TYPE_CHECKING

from preflight import clock
from preflight.checklist.key_folder import TooSoonError
from preflight.checklist.people import Person, PersonError, WrongSecretError, enrol, secret_fault, secret_rule
from preflight.checklist.register_alarm import remember
from preflight.checklist.secret import Secret
from preflight.checklist.signatory import Signatory, admitted, secret_word, signatory, unsigned
from preflight.checklist.signing import Ed25519Signer
from preflight.checklist.stray_secret import holds_secret, looks_like_secret
from preflight.cli.terminal import unheard
from preflight.errors import PreflightError
from preflight.file_rights import keys_notice

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from preflight.checklist.key_folder import KeyFolder
    from preflight.checklist.register import Register


TRIES = 3
"""How often a secret is asked for before the command ends: `_again` says so in words."""
UNCHANGED = "Nothing was changed."
IN_HISTORY = "Nothing was saved. The shell's history has it now: a lead gives a new key, preflight people renew."


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

    A secret that will not do, or was typed differently, is asked for again; PersonError after the last try.
    """
    word = secret_word(role)
    say(f"{secret_rule(role)} It is not shown while it is typed.")
    for left in reversed(range(TRIES)):
        secret = ask(f"New {word} of {name}: ")
        fault = secret_fault(role, secret)
        if not fault and ask(f"The same {word} once more: ") == secret:
            break
        _again(fault or f"The two {word}s differ.", left, UNCHANGED)
    seed = secrets.token_bytes(32)
    with unheard():
        say("Sealing the key; this takes about a second.")
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
    register: Register,
    keys: KeyFolder,
    name: str | None,
    *,
    lead: bool = False,
    role: str | None = None,
    texts: Mapping[str, str] | None = None,
) -> Signatory:
    """The same person with an opened key: asks for the secret, again when it does not open it.

    texts: what else was given, by option; none of them may hold a secret. PersonError after the last try, and where
    this person may not sign.
    """
    by = named(register, keys, name, lead=lead, role=role)
    texts = texts or {}
    _require_no_secret(register, keys, texts)
    if not register.founded:
        return by
    if notice := keys_notice(keys.path):
        say(notice)
    word = secret_word(by.role)
    for left in reversed(range(TRIES)):
        secret = Secret(ask(f"{word[0].upper()}{word[1:]} of {by.name}: "))
        _require_none_holds(texts, secret)
        try:
            with unheard():
                say("Opening the key; this takes about a second.")
                signs = signatory(register, keys, by.name, secret, now())
            break
        except (WrongSecretError, TooSoonError) as error:
            _again(str(error), left, "Nothing was saved.")
        except PreflightError:
            with unheard(until_quiet=True):
                raise
    if trouble := remember(register, now()):
        say(trouble)
    return signs


def _again(fault: str, left: int, unchanged: str) -> None:
    """Say what is wrong before it is asked again. PersonError when that was the last try."""
    if left:
        say(f"{fault} Type it once more.")
        return
    with unheard(until_quiet=True):  # whoever does not read that it was the last types it once more
        say(f"{fault} That was the third try.")
        raise PersonError(unchanged, "Run it again.")


def _require_no_secret(register: Register, keys: KeyFolder, texts: Mapping[str, str]) -> None:
    """PersonError for a text that looks like a PIN, or opens a key on this terminal."""
    for option, text in texts.items():
        if looks_like_secret(text):
            raise PersonError(f"{option} looks like a PIN.", "Nothing was saved. A PIN is typed when it is asked for.")
        if any(keys.opened_by(one.key_id, one.name, text) for one in register.active):
            raise PersonError(f"{option} holds somebody's PIN or passphrase.", IN_HISTORY)


def _require_none_holds(texts: Mapping[str, str], secret: Secret) -> None:
    held = next((option for option, text in texts.items() if holds_secret(text, [secret])), "")
    if held:
        with unheard(until_quiet=True):
            raise PersonError(f"{held} holds what was typed as PIN or passphrase.", IN_HISTORY)


def say(text: str) -> None:
    """A sentence beside the output, for whoever sits there."""
    print(text, file=sys.stderr, flush=True)


def _only(register: Register, keys: KeyFolder, *, lead: bool) -> str:
    here = [one.name for one in (register.leads if lead else register.active) if keys.holds(one.key_id)]
    if len(here) != 1:
        raise PersonError("Say who signs: --by NAME.", f"Keys on this terminal: {', '.join(here) or 'none'}.")
    return here[0]
