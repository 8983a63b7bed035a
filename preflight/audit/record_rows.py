"""One saved record as rows of the index. Pure: a record in, tuples out."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checks.running.repairs import CLEARED, NEED_REPAIR
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from preflight.checklist.machine_records import Kept

READ_STATIONS = ("stock", "tension", "extraction", "running", "test_board")
"""Stations whose measured figures are kept as series."""
START_UPS = ("startup", "held", "late")
"""Kinds that hold a setup sheet."""

OUTLINED = ("startup", "held", "run", "repair")
"""Kinds that `checklist.past` reads."""

Row = tuple[Any, ...]


@dataclass(slots=True)
class RecordRows:
    """Rows by table, of one record or of many."""

    records: list[Row] = field(default_factory=list)
    readings: list[Row] = field(default_factory=list)
    answers: list[Row] = field(default_factory=list)
    faults: list[Row] = field(default_factory=list)
    belts: list[Row] = field(default_factory=list)
    runs: list[Row] = field(default_factory=list)
    outlines: list[Row] = field(default_factory=list)
    strangers: list[Row] = field(default_factory=list)
    unread: list[Row] = field(default_factory=list)
    out_of_reach: list[str] = field(default_factory=list)
    """Files that could not be opened just now, and why: no table, they are tried again."""


def add_record(rows: RecordRows, kept: Kept) -> None:
    """Add the rows of one record; of one that counts for nothing that it is there, and why it does not count."""
    machine, sequence, document = kept.reference.machine, kept.reference.sequence, kept.document
    heading, when, kind = document["record"], moment(document), kept.heading.kind
    at, refers = int(when.timestamp()), kept.refers
    row = (
        at,
        machine,
        sequence,
        kind,
        heading["name"],
        heading["role"],
        heading.get("verdict", ""),
        when.isoformat(timespec="seconds"),
        when.date().isoformat(),
        _job(document),
        about(document),
        f"{refers.machine}/{refers.sequence}" if refers else "",
        kept.key_id,
        kept.reference.sha256,
    )
    if not kept.counts:
        rows.strangers.append((*row, kept.statement))
        return
    rows.records.append((*row, int(document.get("correction", {}).get("hides", False))))
    if kind in OUTLINED:
        rows.outlines.append((machine, sequence, json.dumps(_outline(document), default=str, separators=(",", ":"))))
    rows.runs.extend([(machine, sequence, at, json.dumps(document["run"], default=str))] if "run" in document else [])
    if kind in START_UPS:
        entries = list(_entries(document))
        rows.answers.append((machine, sequence, json.dumps(entries, separators=(",", ":"))))
        rows.readings.extend((machine, *series, at, sequence, *rest) for series, rest in _readings(document))
        rows.belts.extend((machine, sequence, at, *belt) for belt in _belts(document))
        rows.faults.extend((machine, sequence, *fault) for fault in _faults(document))


def moment(document: Mapping[str, Any]) -> datetime:
    """When it happened, local with offset: the signature's time, for a late entry the time it is about."""
    late = document.get("late")
    return datetime.fromisoformat(late["happened"] if late else document["record"]["local"])


def about(document: Mapping[str, Any]) -> str:
    """The one line that a list shows of a record that is no plain start-up; empty for those."""
    parts: dict[str, tuple[str, ...]] = {
        "held": ("what", "told"),
        "override": ("check", "subject", "reason"),
        "repair": ("check", "subject", "what", "who"),
        "correction": ("key", "was", "text", "reason"),
        "countersign": ("remark",),
        "late": ("why",),
        "run": ("hours", "area"),
    }
    for kind, keys in parts.items():
        table = document.get(kind)
        if isinstance(table, dict):
            said = (f"told {table[key]}" if key == "told" else str(table[key]) for key in keys if table.get(key))
            return "; ".join(text.rstrip(".") for text in said)
    return ""


def _job(document: Mapping[str, Any]) -> str:
    job = document.get("job", "")
    return job if isinstance(job, str) else str(job.get("name", "")) if isinstance(job, dict) else ""


def _entries(document: Mapping[str, Any]) -> Iterator[list[Any]]:
    """[key, text, seconds, [[seconds, text], ...]] of each answer, by time."""
    found: list[tuple[int, list[Any]]] = []
    for entry in _tables(document, "entries"):
        at = _seconds(entry.get("at"))
        if at is not None:
            earlier = [[_seconds(was.get("at")) or at, str(was.get("text", ""))] for was in entry.get("earlier", ())]
            found.append((at, [str(entry.get("key", "")), str(entry.get("text", "")), at, earlier]))
    yield from (row for _, row in sorted(found, key=lambda pair: pair[0]))


def _readings(document: Mapping[str, Any]) -> Iterator[tuple[tuple[str], tuple[Any, ...]]]:
    seen: set[str] = set()
    for finding in _tables(document, "findings"):
        measured = finding.get("measured")
        if finding.get("check") not in READ_STATIONS or not isinstance(measured, dict):
            continue
        value, unit = measured.get("value"), measured.get("unit")
        series = f"{finding['check']}: {finding.get('subject', '')}"
        number = _number(value)
        if number is not None and unit and series not in seen:
            seen.add(series)
            bounds = (_number(finding.get(name, {}).get("value")) for name in ("low", "high"))
            yield (series,), (number, *bounds, str(unit), str(measured.get("text", "")))
    extraction = document.get("extraction")
    if isinstance(extraction, dict):
        named = {f"hood static {r.get('gate')}": r.get("hood_static") for r in extraction.get("readings", ())}
        for subject, text in (*named.items(), ("filter drop", extraction.get("filter_drop"))):
            series = f"extraction: {subject}"
            if isinstance(text, str) and series not in seen:
                try:
                    value = parse(text, Kind.DUCT_PRESSURE).value
                except QuantityError:
                    continue
                yield (series,), (value, None, None, "Pa", text)


def _outline(document: Mapping[str, Any]) -> dict[str, Any]:
    """What stops that stand and due items follow from: a record short of everything else."""
    condition, run = document.get("condition"), document.get("run")
    heading = document["record"]
    made = {
        "record": {"kind": heading.get("kind"), "utc": heading.get("utc")},
        "findings": [
            {key: one[key] for key in ("check", "subject", "verdict", "statement", "takes_override") if key in one}
            for one in _tables(document, "findings")
            if one.get("check") in NEED_REPAIR
            and (one.get("verdict") == "stop" or str(one.get("subject", "")).startswith(CLEARED))
        ],
        "condition": {"done": condition["done"]} if isinstance(condition, dict) and "done" in condition else None,
        "run": {key: run[key] for key in ("hours", "area") if key in run} if isinstance(run, dict) else None,
        "repair": document.get("repair"),
    }
    return {key: value for key, value in made.items() if value}


def _belts(document: Mapping[str, Any]) -> Iterator[Row]:
    limits = document.get("limits", {})
    for on in _tables(document, "belts"):
        card = on.get("card")
        if card and on.get("head"):
            table = card if isinstance(card, dict) else limits.get(f"belts/{card}", {})
            name = str(card.get("id", "new")) if isinstance(card, dict) else str(card)
            yield str(on["head"]), name, str(table.get("backing", "")), str(table.get("grit", ""))


def _faults(document: Mapping[str, Any]) -> Iterator[Row]:
    worst: dict[tuple[str, str, str], Row] = {}
    for finding in _tables(document, "findings"):
        verdict = str(finding.get("verdict", ""))
        if verdict in ("stop", "caution"):
            key = (str(finding.get("check", "")), str(finding.get("subject", "")), verdict)
            may = int(finding.get("takes_override") is not False)
            worst.setdefault(key, (*key, str(finding.get("statement", "")), may))
    yield from worst.values()


def _tables(document: Mapping[str, Any], key: str) -> Iterator[dict[str, Any]]:
    rows = document.get(key)
    yield from (row for row in rows if isinstance(row, dict)) if isinstance(rows, list) else ()


def _number(value: object) -> float | None:
    """A finite number, which is all that SQLite and a chart can take."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    number = float(value)
    return number if math.isfinite(number) else None


def _seconds(at: object) -> int | None:
    return int(at.timestamp()) if isinstance(at, datetime) else None
