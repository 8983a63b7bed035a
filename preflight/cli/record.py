"""`preflight record`: show a saved record, or save one about it: override, repair, countersign, correct, late."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.checklist.addition import MEANINGS, correction, countersign, repair, save_addition, saved_sentence
from preflight.checklist.body import write_body
from preflight.checklist.document import Late, StartUp, document
from preflight.checklist.heading import Signature
from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.machine_records import Kept, record, records
from preflight.checklist.override import MEANING, override, stop_of
from preflight.checklist.record_text import lines
from preflight.checklist.register import read_register
from preflight.cli.asked import named, now, signing, token
from preflight.cli.machine_ref import records_of
from preflight.cli.shop_path import shop_path
from preflight.errors import PreflightError
from preflight.outside_text import joined

if TYPE_CHECKING:
    import argparse

    from preflight.checklist.register import Register
    from preflight.checklist.signatory import Signatory

ABOUT_OTHERS = frozenset({"startup", "override", "repair", "countersign", "correction"})
WORDED = ("reason", "done", "who", "measured", "remark", "text", "why")
"""Options whose words stand in the record."""
LATE_MEANING = "This start-up was written down on paper at the time given and typed in later."


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked and say which record it made. Raises `PreflightError` when none was made."""
    shop = shop_path(arguments.shop).needed
    register = read_register(shop)
    machine = records_of(shop, arguments.machine)
    if arguments.what == "late":
        return _late(shop, machine, register, arguments)
    about = record(shop, machine, arguments.number, register)
    if arguments.what == "show":
        later = records(shop, machine, register, ABOUT_OTHERS)
        own = [one for one in later if one.refers == about.reference]
        print(joined(lines(about, own, reveal=arguments.reveal)))
        return 0
    about.require_counting()
    record_id, lead, role = token(), arguments.what == "override", getattr(arguments, "role", None)
    if lead:
        stop_of(about, arguments.check, arguments.subject)  # a stop that nobody goes past is said to everybody
    # what is refused is refused before a secret is asked for
    _body(about, record_id, named(register, _keys(arguments), arguments.by, lead=lead, role=role), arguments)
    by = signing(register, _keys(arguments), arguments.by, lead=lead, role=role, texts=_texts(arguments))
    _save(shop, machine, _body(about, record_id, by, arguments), record_id, by)
    if lead:
        about_what = f"{arguments.check}, {arguments.subject} of record {arguments.number}"
        print(f"It covers {about_what} until {_time(arguments.until):%Y-%m-%d %H:%M}.")
    return 0


def _body(about: Kept, record_id: str, by: Signatory, arguments: argparse.Namespace) -> bytes:
    meaning = MEANING if arguments.what == "override" else MEANINGS[KINDS[arguments.what]]
    signature = Signature(by.name, by.role, meaning, now())
    if arguments.what == "override":
        until = _time(arguments.until)
        return override(about, arguments.check, arguments.subject, arguments.reason, until, record_id, signature)
    if arguments.what == "repair":
        return repair(
            about,
            arguments.check,
            arguments.subject,
            arguments.done,
            arguments.who,
            arguments.measured,
            record_id,
            signature,
        )
    if arguments.what == "countersign":
        return countersign(about, record_id, signature, arguments.remark)
    key, text, reason = arguments.key, arguments.text, arguments.reason
    return correction(about, key, text, reason, record_id, signature, hides=arguments.hide)


KINDS = {"repair": "repair", "countersign": "countersign", "correct": "correction"}


def _late(shop: Path, machine: str, register: Register, arguments: argparse.Namespace) -> int:
    from preflight.cli.assess import judge_file
    from preflight.shop.folder import shop_at

    path = Path(arguments.sheet)
    file, view, judged = judge_file(path, shop_at(shop), shop, arguments.machine)
    if not arguments.why.strip():
        raise PreflightError("A late entry says why it is late.", "--why TEXT")
    if file.value.at > now():
        raise PreflightError(f"The sheet is dated {file.value.at}, which is still to come: that is no late entry.")
    by = signing(register, _keys(arguments), arguments.by, texts=_texts(arguments))
    signature = Signature(by.name, by.role, LATE_MEANING, now())
    made = StartUp(token(), file.raw, judged, view, signature, late=Late(arguments.why, file.value.at))
    _save(shop, machine, write_body(document(made)), made.record_id, by)
    print(f"Its verdict: {judged.verdict.word}.")
    return 0


def _texts(arguments: argparse.Namespace) -> dict[str, str]:
    """What was given in words, by option: it goes into a record for good."""
    return {f"--{name}": text for name in WORDED if (text := getattr(arguments, name, None))}


def _save(shop: Path, machine: str, body: bytes, record_id: str, by: Signatory) -> None:
    print(saved_sentence(save_addition(shop, machine, body, record_id, by, token()), by))


def _keys(arguments: argparse.Namespace) -> KeyFolder:
    return KeyFolder(key_folder(arguments.keys))


def _time(text: str) -> datetime:
    """A time of day today, or a date and time; local unless it has an offset."""
    try:
        moment = datetime.combine(now().date(), datetime.strptime(text, "%H:%M").time())  # noqa: DTZ007 (made local below)
    except ValueError:
        try:
            moment = datetime.fromisoformat(text)
        except ValueError as error:
            raise PreflightError(f"{text!r} is no time.", "Write 14:30, or 2026-11-30T14:30.") from error
    return moment if moment.tzinfo else moment.astimezone()
