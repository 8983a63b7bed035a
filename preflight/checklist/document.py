"""The body of a saved start-up: the sheet as typed, who and when, the findings, and the limits of that day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from preflight.checklist.heading import Signature, heading
from preflight.checks.finding import Finding, as_json

if TYPE_CHECKING:
    from datetime import datetime

    from preflight.checklist.reference import Reference
    from preflight.checks.permit import Permit
    from preflight.checks.route import Assessment
    from preflight.shop.view import ShopView

OWN_TABLES = ("record", "refers", "held", "late", "released", "entries", "findings", "profiles", "limits")
"""Tables of a record that are not the sheet's."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One answer: what stands, when it was given, and what stood there before."""

    key: str
    text: str
    at: datetime
    earlier: tuple[tuple[datetime, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Held:
    """Why a start-up does not go on."""

    what: str
    told: str
    tried: str


@dataclass(frozen=True, slots=True)
class Late:
    """A start-up that was written on paper and typed in later."""

    why: str
    happened: datetime


@dataclass(frozen=True, slots=True)
class StartUp:
    """Everything that one record of a start-up holds."""

    record_id: str
    sheet: Mapping[str, Any]
    """As plain tables, quantities as typed."""
    assessment: Assessment
    view: ShopView
    signature: Signature
    entries: Sequence[Entry] = ()
    held: Held | None = None
    notes: Sequence[str] = field(default=())
    """Sentences the record must show, such as a clock that ran backwards."""
    permits: Sequence[Permit] = ()
    """Overrides that the release rests on."""
    refers: Reference | None = None
    """The held record that this start-up goes on from."""
    late: Late | None = None


def document(start_up: StartUp) -> dict[str, Any]:
    """The record's tables, ready for `body.write_body`; kind "startup", "held" when it does not go on, or "late"."""
    assessment = start_up.assessment
    kind = "late" if start_up.late else "held" if start_up.held else "startup"
    record = {**heading(kind, start_up.record_id, start_up.signature), "verdict": assessment.verdict.word}
    if start_up.notes:
        record["notes"] = list(start_up.notes)
    made: dict[str, Any] = {"record": record, **_plain(start_up.sheet)}
    if start_up.refers:
        made["refers"] = start_up.refers.table
    if start_up.held:
        made["held"] = {"what": start_up.held.what, "told": start_up.held.told, "tried": start_up.held.tried}
    if start_up.late:
        made["late"] = {"why": start_up.late.why, "happened": start_up.late.happened.isoformat(timespec="seconds")}
    if start_up.permits:
        made["released"] = {
            "until": min(permit.until for permit in start_up.permits).isoformat(timespec="seconds"),
            "overrides": [_permit(permit) for permit in start_up.permits],
        }
    made["profiles"] = {"machine_sha256": assessment.profile_sha256, "extraction_sha256": assessment.extraction_sha256}
    made["entries"] = [_entry(entry) for entry in start_up.entries]
    made["findings"] = [_finding(result.check, finding) for result in assessment.checks for finding in result.findings]
    made["limits"] = {name: _plain(table) for name, table in start_up.view.raw.items()}
    return made


def sheet_of(record: Mapping[str, Any]) -> dict[str, Any]:
    """The setup sheet that a record holds: the inverse of what `document` put in."""
    return {key: value for key, value in record.items() if key not in OWN_TABLES}


def _permit(permit: Permit) -> dict[str, Any]:
    return {
        "record": permit.record,
        "check": permit.check,
        "subject": permit.subject,
        "by": permit.by,
        "until": permit.until.isoformat(timespec="seconds"),
    }


def _entry(entry: Entry) -> dict[str, Any]:
    made: dict[str, Any] = {"key": entry.key, "text": entry.text, "at": entry.at}
    if entry.earlier:
        made["earlier"] = [{"at": at, "text": text} for at, text in entry.earlier]
    return made


def _finding(check: str, finding: Finding) -> dict[str, Any]:
    table = as_json(finding)
    kept: dict[str, Any] = {"check": check}
    for key, value in table.items():
        if value not in (None, "", []):
            kept[key] = {k: v for k, v in value.items() if v is not None} if isinstance(value, dict) else value
    return kept


def _plain(value: Any) -> Any:
    """Mappings and tuples as the plain dicts and lists that a record holds."""
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return value
