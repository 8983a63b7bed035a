"""A saved record as plain lines, to show and to print: who, when, what it means, what was found, until when."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.corrected import HIDDEN, corrections, masked, typed_texts
from preflight.checklist.machine_records import Weight

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from preflight.checklist.machine_records import Kept

TITLES = {
    "startup": "Start-up, released for this job",
    "held": "Start-up held: it did not go on",
    "late": "Start-up written on paper, typed in later",
    "override": "Override of a stop",
    "repair": "Repair",
    "countersign": "Countersignature",
    "correction": "Correction",
    "run": "Run: what was fed",
}


def lines(kept: Kept, later: Iterable[Kept] = (), *, reveal: bool = False) -> Iterator[str]:
    """The whole record; what was corrected first, then name, time and meaning, as a print of a signature shows them.

    later: records that refer to this one; each is named, so that nobody reads a corrected answer as the last word.
    reveal: also what a correction hides.
    """
    later = list(later)
    made, typed = corrections(later), typed_texts(kept.document)
    yield from (f"CORRECTED: {one.sentence(typed.get(one.key, '') if reveal else '')}" for one in made)
    if any(one.hides for one in made) and not reveal:
        yield "What it hides is in the file as it was signed: --reveal shows it."
    document, reference = kept.document if reveal else masked(kept.document, made), kept.reference
    head = document["record"]
    kind = str(head.get("kind", ""))
    yield f"{TITLES.get(kind, kind)}: record {reference.sequence} of {reference.machine}"
    yield f"  {head.get('name')}, {head.get('role')}, {head.get('local')} (UTC {head.get('utc')})"
    yield f'  "{head.get("meaning")}"'
    yield f"  {kept.statement}"
    if kept.weight is not Weight.COUNTS:
        yield f"  note: it {'counts for nothing' if not kept.counts else f'is {kept.weight.value}'}"
    yield f"  SHA-256 {reference.sha256}"
    if refers := document.get("refers"):
        yield f"  refers to record {refers.get('sequence')} of {refers.get('machine')}, SHA-256 {refers.get('sha256')}"
    yield from (f"  note: {note}" for note in head.get("notes", ()))
    if released := document.get("released"):
        yield f"  {released_until(released)}"
    for name in ("held", "late", "override", "repair", "countersign", "correction"):
        if table := document.get(name):
            yield from (f"  {key}: {value}" for key, value in table.items() if not isinstance(value, dict))
    yield from (f"  later: {_later(one)}" for one in later)
    if run := document.get("run"):
        yield from _run(run)
    if "verdict" in head:
        yield f"Verdict {head['verdict']}"
        yield from (f"  {_finding(one)}" for one in document.get("findings", ()) if one.get("verdict") != "ok")
        yield from (f"  {one.get('key')}: {_entry(one)}" for one in document.get("entries", ()))


def _later(kept: Kept) -> str:
    head = kept.document["record"]
    kind = str(head.get("kind", ""))
    table = kept.document.get(kind, {})
    said = f": {table['key']} is {table['text']}, not {table.get('was', HIDDEN)}" if kind == "correction" else ""
    trusted = " (counts for nothing)" if not kept.counts else "" if kept.signed else " (unsigned)"
    number = kept.reference.sequence
    return f"{TITLES.get(kind, kind)}, record {number}, {head.get('name')}, {head.get('local')}{said}{trusted}"


def _run(run: Mapping[str, Any]) -> Iterator[str]:
    """What was fed where, and what else was told."""
    job, hours, area = run.get("job"), run.get("hours"), run.get("area")
    yield f"  {job}: {hours} under drive, {area} of wood, {run.get('times')} times through"
    for board in run.get("boards", ()):
        size = f"{board.get('width')} x {board.get('length')}"
        place = f"{board.get('place')} ({board.get('left_edge')})"
        yield f"  part {board.get('part')}, {size}: {board.get('count')} at {place}"
    yield from (
        f"  belt off head {off.get('head')}: {off.get('belt', '')} {off.get('why')}" for off in run.get("off", ())
    )
    yield from (f"  drum of head {one.get('head')}: {one.get('what')}" for one in run.get("drums", ()))
    for read in run.get("readings", ()):
        amps = ", ".join(f"head {head} {amp}" for head, amp in read.get("current", {}).items())
        yield f"  read: {', '.join(read.get('thickness', ()))} {amps}".rstrip()


def released_until(released: Mapping[str, Any]) -> str:
    """The line that stands wherever such a release is shown or printed."""
    until = datetime.fromisoformat(str(released["until"]))
    by = "; ".join(f"{one['subject']}, by {one['by']}, record {one['record']}" for one in released["overrides"])
    return f"Released until {until:%Y-%m-%d %H:%M} under override: {by}"


def _finding(finding: Mapping[str, Any]) -> str:
    limits = ", ".join(
        f"{name} {finding[name].get('text', finding[name].get('value'))}" for name in ("low", "high") if name in finding
    )
    basis = ", ".join(text for text in (limits, finding.get("basis", ""), finding.get("source", "")) if text)
    return f"{finding.get('verdict')}: {finding.get('statement')}" + (f" ({basis})" if basis else "")


def _entry(entry: Mapping[str, Any]) -> str:
    before = ", ".join(str(was.get("text")) for was in entry.get("earlier", ()))
    return f"{entry.get('text')} at {entry.get('at')}" + (f" (before: {before})" if before else "")
