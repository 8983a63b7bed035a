"""One record whole: heading, seal, answers with earlier values, findings with the limits of that day, the limits."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from preflight.audit.queries import referring
from preflight.audit.record_rows import START_UPS
from preflight.audit.report import PAIR
from preflight.audit.sections import Section
from preflight.audit.words import row
from preflight.checklist.corrected import corrections, masked, typed_texts
from preflight.checklist.document import OWN_TABLES
from preflight.checklist.machine_records import Weight, record
from preflight.checklist.register import read_register

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Collection, Iterator, Mapping, Sequence
    from pathlib import Path

    from preflight.audit.queries import Listed
    from preflight.checklist.corrected import Correction
    from preflight.checklist.machine_records import Kept

HEADING = ("kind", "verdict", "name", "role", "meaning", "local", "utc", "id")


def record_sections(
    connection: sqlite3.Connection | None,
    shop: Path,
    machine: str,
    number: int,
    name: str = "",
    *,
    reveal: bool = False,
    how: str = "--reveal",
) -> list[Section]:
    """What later corrections put right, everything that the file says, and what else refers to it.

    ChainError when it cannot be read. The seal is checked on the file now, never taken from the index.
    reveal: also what a correction hides; `how` one asks for that.
    """
    register = read_register(shop)
    kept = record(shop, machine, number, register)
    about = referring(connection, machine, number) if connection is not None else []
    made = corrections(record(shop, machine, one.sequence, register) for one in about if one.kind == "correction")
    sections = _corrected(made, typed_texts(kept.document), reveal, how) if made else []
    if not reveal:
        kept = replace(kept, document=masked(kept.document, made))
    return [*sections, *_as_signed(kept, about, name, {one.key for one in made})]


def _corrected(made: Sequence[Correction], typed: Mapping[str, str], reveal: bool, how: str) -> list[Section]:
    said = [one.sentence(typed.get(one.key, "") if reveal else "") for one in made]
    if any(one.hides for one in made) and not reveal:
        said.append(f"What is hidden stands in the file as it was signed: {how} shows it.")
    return [Section("Corrected", tuple(said))]


def _as_signed(kept: Kept, about: Sequence[Listed], name: str, corrected: Collection[str]) -> list[Section]:
    document = kept.document
    made = [_heading(kept, name)]
    if about:
        made.append(Section("Later records about it", tuple(_later(one) for one in about)))
    stated, sheet = _tables(document)
    made += _pairs("Stated", stated)
    if findings := document.get("findings"):
        columns = ("station", "subject", "verdict", "measured", "limits", "basis", "statement")
        bad = [one for one in findings if one.get("verdict") != "ok"]
        said = [f"{len(findings)} findings, {len(bad)} of them not ok."]
        said += [
            f"{one.get('verdict')}: {one.get('check')}, {one.get('subject')}: {one.get('statement')}" for one in bad
        ]
        made.append(Section("Findings", tuple(said), columns, tuple(_finding(one) for one in findings)))
    if entries := document.get("entries"):
        names = ("answer", "text", "given at", "earlier values")
        made.append(Section("Answers", (), names, tuple(_entry(one, corrected) for one in entries)))
    return [*made, *_pairs("Sheet as signed", sheet), *_pairs("Limits of that day", document.get("limits"))]


def _later(one: Listed) -> str:
    """A record that names this one: when, what, who, and what it says."""
    signed = ", counts for nothing" if one.why else "" if one.key_id else ", unsigned"
    said = f": {one.about}" if one.about else ""
    return f"{row(one)[0]}, record {one.sequence}, {one.kind} by {one.person}, {one.role}{signed}{said}"


def _heading(kept: Kept, name: str) -> Section:
    heading = kept.document["record"]
    said = [f"Seal: {kept.statement}", f"SHA-256 of the file: {kept.reference.sha256}"]
    said += [f"This record {kept.weight.value}."] if not kept.counts else []
    said += [f"It is {kept.weight.value}."] if kept.weight is Weight.HISTORY else []
    said += [str(note) for note in heading.get("notes", ())]
    rows = tuple((key, str(heading[key])) for key in HEADING if key in heading)
    machine = f"{name} ({kept.reference.machine})" if name else kept.reference.machine
    return Section(f"Record {kept.reference.sequence} of {machine}", tuple(said), ("", ""), rows)


def _tables(document: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """What it states, such as held, refers, run, repair, and its sheet; tables as they stand."""
    shown = {"record", "entries", "findings", "limits"}
    first = [key for key in document if key in OWN_TABLES and key not in shown]
    own = {key: document[key] for key in first}
    sheet = {key: value for key, value in document.items() if key not in OWN_TABLES}
    if document["record"].get("kind") not in START_UPS:  # what it states is no sheet
        own, sheet = own | sheet, {}
    return own, sheet


def _pairs(title: str, table: Mapping[str, Any] | None) -> list[Section]:
    return [Section(title, (), PAIR, tuple(_flat(table)))] if table else []


def _entry(one: Mapping[str, Any], corrected: Collection[str]) -> tuple[str, ...]:
    earlier = ", ".join(f"{was.get('text', '')} ({_clock(was.get('at'))})" for was in one.get("earlier", ()))
    text = f"{one['text']} (corrected)" if one["key"] in corrected else str(one["text"])
    return str(one["key"]), text, _clock(one.get("at")), earlier


def _clock(at: object) -> str:
    return str(at)[:19]


def _finding(one: Mapping[str, Any]) -> tuple[str, ...]:
    def text(key: str) -> str:
        quantity = one.get(key)
        return str(quantity.get("text") or quantity.get("value", "")) if isinstance(quantity, dict) else ""

    low, high = text("low"), text("high")
    limits = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}" if high else ""
    basis = f"{one.get('basis', '')} ({one['source']})" if one.get("source") else str(one.get("basis", ""))
    given = (str(one.get(key, "")) for key in ("check", "subject", "verdict"))
    return *given, text("measured"), limits, basis, str(one.get("statement", ""))


def _flat(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _flat(item, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list) and any(isinstance(item, (dict, list)) for item in value):
        for place, item in enumerate(value, 1):
            yield from _flat(item, f"{path}.{place}")
    else:
        yield path, ", ".join(map(_word, value)) if isinstance(value, list) else _word(value)


def _word(value: object) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)
