"""`preflight people`: found the shop, admit, renew, change, retire, list; and the heads to keep elsewhere."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.people import PersonError, require_name, require_new_name
from preflight.checklist.register import RegisterError, founder_of, read_register, registers
from preflight.checklist.register_alarm import accept_register, known_founders, remember
from preflight.checklist.register_record import RegisterBook, person_table
from preflight.checklist.shop_check import heads_of
from preflight.checklist.signatory import admitted, secret_word
from preflight.checklist.store import prepare_shop
from preflight.cli.asked import new_person, now, say, signing, token
from preflight.cli.shop_path import shop_path

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from preflight.checklist.people import Person
    from preflight.checklist.register import Register
    from preflight.checklist.signing import Ed25519Signer
    from preflight.checklist.store import Saved

NOBODY = "nobody"
"""In place of a founder's key: a shop without people."""
FAILED = 2
"""Exit status for a register with an alarm, as of a failed verification."""


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked. Raises `PreflightError` when it was not done."""
    shop = shop_path(arguments.shop).needed
    doing = {"found": _found, "add": _add, "list": _list, "retire": _retire, "renew": _renew, "role": _role}
    if arguments.what == "head":
        print(heads_of(shop, now()).text, end="")
        return 0
    if arguments.what == "founder":
        return _founder(shop, arguments.accept)
    doing[arguments.what](shop, KeyFolder(key_folder(arguments.keys)), arguments)
    if arguments.what != "list" and (trouble := remember(read_register(shop), now())):
        say(trouble)
    return 0


def _found(shop: Path, keys: KeyFolder, arguments: argparse.Namespace) -> None:
    register = read_register(shop)
    register.require_sound()
    if register.founded:
        raise RegisterError("This shop was founded already.", "Leads add people with: preflight people add")
    prepare_shop(shop)
    founder, signer = new_person(arguments.name, "lead")
    path = keys.keep(founder)
    saved = RegisterBook(shop, now, token).found(founder, signer)
    print(f"{founder.name} founded this shop as its first lead: record {saved.head.sequence} of {saved.head.machine}.")
    print(f"The sealed key is {path}; keep a copy where only {founder.name} gets at it.")
    print("Admit a second lead: a shop whose only lead forgets the passphrase can admit nobody any more.")
    print("Sign the profiles as they are now: preflight profiles approve ID")
    print("Print the head and keep it elsewhere: preflight people head")


def _add(shop: Path, keys: KeyFolder, arguments: argparse.Namespace) -> None:
    register = _founded(shop)
    require_name(arguments.name, arguments.role)
    require_new_name(arguments.name)
    register.require_free_name(arguments.name)
    by = signing(register, keys, arguments.by, lead=True)
    person, _ = new_person(arguments.name, arguments.role)
    saved = _admit(shop, keys, "enrolment", person, by.name, by.signer)
    print(f"{person.name} admitted as {person.role} by {by.name}: record {saved.head.sequence}.")


def _renew(shop: Path, keys: KeyFolder, arguments: argparse.Namespace) -> None:
    register = _founded(shop)
    member = register.members.get(arguments.name) or admitted(register, arguments.name)
    by = signing(register, keys, arguments.by, lead=True)
    person, _ = new_person(member.name, member.role)
    saved = _admit(shop, keys, "renewal", person, by.name, by.signer, register)
    print(f"{member.name} has a new key, admitted by {by.name}: record {saved.head.sequence}. The old one has ended.")


def _role(shop: Path, keys: KeyFolder, arguments: argparse.Namespace) -> None:
    register = _founded(shop)
    member, role = admitted(register, arguments.name), arguments.role
    if member.role == role:
        raise PersonError(f"{member.name} is {role} already.")
    if [one.name for one in register.leads] == [member.name]:
        raise PersonError(f"{member.name} is the only lead here.", "Make somebody else lead first.")
    by = signing(register, keys, arguments.by, lead=True)
    book = RegisterBook(shop, now, token)
    if role == "lead":  # a PIN would be too weak for what a lead may do
        say(f"A lead signs with a {secret_word(role)}: {member.name} gets a new key.")
        person, _ = new_person(member.name, role)
        saved = _admit(shop, keys, "renewal", person, by.name, by.signer, register)
    else:
        tables = person_table("role", member.name, role=role)
        saved = book.add("role", tables, by.name, _signer(by.signer), member.reference)
    print(f"{member.name} is {role} from now on, by {by.name}: record {saved.head.sequence}.")


def _retire(shop: Path, keys: KeyFolder, arguments: argparse.Namespace) -> None:
    register = _founded(shop)
    member = admitted(register, arguments.name)
    if [one.name for one in register.leads] == [member.name]:
        raise PersonError(f"{member.name} is the only lead here.", "Make somebody else lead first.")
    by = signing(register, keys, arguments.by, lead=True)
    tables = person_table("retirement", member.name)
    saved = RegisterBook(shop, now, token).add("retirement", tables, by.name, _signer(by.signer), member.reference)
    print(f"{member.name} signs no more, by {by.name}: record {saved.head.sequence}. Older signatures stay valid.")


def _list(shop: Path, keys: KeyFolder, arguments: argparse.Namespace) -> None:
    register = read_register(shop)
    rows = [
        {
            "name": one.name,
            "role": one.role,
            "since": one.since.isoformat(timespec="seconds"),
            "until": one.until.isoformat(timespec="seconds") if one.until else None,
            "key_id": one.key_id,
            "key_here": keys.holds(one.key_id),
        }
        for one in register.members.values()
    ]
    if arguments.json:
        faults = [{"sequence": number, "statement": text} for number, text in register.faults]
        alarm = register.alarm.statement if register.alarm else None
        print(json.dumps({"register": register.chain, "alarm": alarm, "people": rows, "faults": faults}, indent=2))
        return
    if register.alarm:
        print(f"ALARM: {register.alarm}")
    elif not rows:
        print("This shop has no people yet: its records are saved unsigned. Begin with: preflight people found NAME")
    for row in rows:
        state = (
            f"until {row['until']}" if row["until"] else "key here" if row["key_here"] else "key not on this terminal"
        )
        print(f"{row['name']:<24} {row['role']:<9} since {row['since']}  {state}")
    for number, text in register.faults:
        print(f"Record {number} of the register changes nothing: {text}")


def _founder(shop: Path, accept: str | None) -> int:
    """Say which register lies here and which this terminal knows; with `accept` take the one that lies here."""
    there = [founder_of(name) for name in registers(shop)]
    lies = " and ".join(there) or NOBODY
    if accept is not None:
        if accept != lies:
            raise RegisterError(
                f"What lies here is the register of {lies}, not of {accept}.",
                "Compare the key with the head that was kept elsewhere, and give it in full.",
            )
        accept_register(shop, now())
    print(f"Here lies the register of: {lies}")
    for one in known_founders(shop):
        print(f"This terminal knows: {one.key_id}, {one.name}; newest record {one.sequence}, seen on {one.seen}")
    register = read_register(shop)
    print(f"ALARM: {register.alarm}" if register.alarm else "Nothing stands against it.")
    return FAILED if register.alarm else 0


def _founded(shop: Path) -> Register:
    register = read_register(shop)
    register.require_sound()
    if not register.founded:
        raise RegisterError("This shop has no people yet.", "The first lead begins: preflight people found NAME")
    return register


def _admit(
    shop: Path,
    keys: KeyFolder,
    kind: str,
    person: Person,
    by: str,
    signer: Ed25519Signer | None,
    register: Register | None = None,
) -> Saved:
    """Keep the key first: a key without a record is only a file, a record without its key a person who cannot sign."""
    keys.keep(person)
    refers = register.members[person.name].reference if register else None
    tables = person_table(kind, person.name, role=person.role, public=person.public)
    return RegisterBook(shop, now, token).add(kind, tables, by, _signer(signer), refers)


def _signer(signer: Ed25519Signer | None) -> Ed25519Signer:
    assert signer is not None  # only a shop without people has none
    return signer
