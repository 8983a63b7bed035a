"""Arguments of the commands that sign: `people`, `record` and `profiles approve`. Imports nothing but argparse."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    Command = Callable[..., argparse.ArgumentParser]

ROLES = ("operator", "trainer", "lead")
BY = "who signs; default: the only one whose key is on this terminal"


def add_people(commands: Any, command: Command) -> None:
    """`preflight people ...`."""
    people = commands.add_parser("people", help="who may sign: found, admit, renew, change, retire, list; heads")
    kinds = people.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def one(what: str, about: str, *, name: bool = True, by: bool = True) -> argparse.ArgumentParser:
        made = command(kinds, what, "people", about)
        made.set_defaults(what=what)
        if name:
            made.add_argument("name", metavar="NAME", help="printed name")
        if by:
            made.add_argument("--by", metavar="NAME", help="lead who signs; default: the only one with a key here")
        _keys(made)
        return made

    one("found", "begin the shop's register with its first lead; asks for a passphrase", by=False)
    one("add", "admit a person; asks for the lead's passphrase and the new secret").add_argument(
        "--role", choices=ROLES, default="operator", help="default: operator"
    )
    one("renew", "give a person a new key, also one who comes back; the old key ends")
    one("role", "change a person's role").add_argument("role", choices=ROLES)
    one("retire", "end a person's key; what it signed stays signed")
    one(
        "founder",
        "whose register lies here, whose this terminal knows, and what stands against it",
        name=False,
        by=False,
    ).add_argument(
        "--accept",
        metavar="KEY",
        help="take the register that lies here as the shop's: its founder's key, or \"nobody\"",
    )
    one("list", "who may sign, and whose keys are on this terminal", name=False, by=False).add_argument(
        "--json", action="store_true", help="print one JSON document instead of lines"
    )
    one("head", "print the newest record of every chain and the founder's key, to keep elsewhere", name=False, by=False)


def add_record(commands: Any, command: Command) -> None:
    """`preflight record ...`."""
    record = commands.add_parser("record", help="show a saved record, or save one that adds to it")
    kinds = record.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def one(what: str, about: str, *, number: bool = True, by: bool = True) -> argparse.ArgumentParser:
        made = command(kinds, what, "record", about)
        made.set_defaults(what=what)
        made.add_argument("machine", metavar="MACHINE", help="machine profile: an id or a file")
        if number:
            made.add_argument("number", metavar="NUMBER", type=int, help="number of the record it is about")
        if by:
            made.add_argument("--by", metavar="NAME", help=BY)
            _keys(made)
        return made

    one("show", "print a record with name, time and meaning", by=False).add_argument(
        "--reveal", action="store_true", help="also what a correction hides"
    )
    for what, about in (
        ("override", "a lead lets a start-up go on past one stop of a held record, for a time"),
        ("repair", "say what was put right after a stop, with the new reading"),
    ):
        made = one(what, about)
        made.add_argument("--check", metavar="STATION", required=True, help='station of the stop, as in "tension"')
        made.add_argument("--subject", metavar="TEXT", required=True, help='what stopped, as in "head 1"')
        if what == "override":
            made.add_argument("--reason", metavar="TEXT", required=True, help="why it may go on")
            made.add_argument(
                "--until", metavar="TIME", required=True, help="14:30 today, or 2026-11-30T14:30; at most 31 days"
            )
        else:
            made.add_argument("--done", metavar="TEXT", required=True, help="what was put right")
            made.add_argument("--who", metavar="NAME", required=True, help="who put it right")
            made.add_argument("--measured", metavar="TEXT", required=True, help="the new reading")
    second = one("countersign", "a lead or trainer signs a record of somebody else")
    second.add_argument("--remark", metavar="TEXT", default="", help="one sentence; may be left away")
    second.add_argument(
        "--role", choices=("lead", "trainer"), help="only in a shop without people, which knows no roles"
    )
    correct = one("correct", "put the right answer beside one that was recorded wrongly")
    correct.add_argument("--key", metavar="KEY", required=True, help='what was typed, as in "tension.1" or "held.told"')
    correct.add_argument("--text", metavar="TEXT", required=True, help="the right answer")
    correct.add_argument("--reason", metavar="TEXT", required=True, help="how the wrong one came about")
    correct.add_argument("--hide", action="store_true", help="pages show the wrong one only on request")
    late = one("late", "save a start-up that was written on paper", number=False)
    late.add_argument("sheet", metavar="SHEET", help="setup sheet (a TOML file) with the time it happened")
    late.add_argument("--why", metavar="TEXT", required=True, help="why it comes late")


def add_approve(kinds: Any, command: Command) -> None:
    """`preflight profiles approve`."""
    made = command(kinds, "approve", "approve", "a lead signs machine and extraction profiles as they are now")
    made.add_argument("refs", nargs="+", metavar="ID", help="machine or extraction profile of the shop")
    made.add_argument("--by", metavar="NAME", help=BY)
    _keys(made)


def _keys(made: argparse.ArgumentParser) -> None:
    made.add_argument("--keys", metavar="DIR", help="folder of sealed keys; else PREFLIGHT_KEYS, else the user's own")
