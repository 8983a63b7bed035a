"""What earlier records of a machine say: the newest start-ups, as the checks' history and the next run's facts.

Made of records that count alone (`machine_records`): in a shop with people of signed and intact ones.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.corrected import corrections, masked
from preflight.checklist.document import sheet_of
from preflight.checklist.machine_records import MachineRecords
from preflight.checklist.wear_maps import wear_maps
from preflight.checks.running.repairs import CLEARED, NEED_REPAIR
from preflight.history import History, OpenStop, RunLog
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from preflight.checklist.body_memory import BodyMemory
    from preflight.checklist.machine_records import Kept
    from preflight.checklist.reference import Reference
    from preflight.checklist.register import Register

MOST = 60
"""Newest records that are looked at; older ones are the audit's."""
SHOWN = 3
"""Numbers of strangers that are named."""
START_UPS = ("startup", "held")
RUN, REPAIR, CORRECTION = "run", "repair", "correction"
TOLD = ("record", "held", REPAIR)
"""Tables whose words are told at the next start."""


@dataclass(frozen=True, slots=True)
class Past:
    """The newest records, newest first."""

    records: tuple[Mapping[str, Any], ...] = ()
    strangers: tuple[tuple[int, str], ...] = field(default=())
    """Numbers of records that count for nothing, and why: unsigned ones since there are people, wrong ones."""
    runs: tuple[Mapping[str, Any], ...] = ()
    """Run records between them, newest first."""
    references: tuple[Reference, ...] = ()
    """Number and digest of each of `records`."""
    repairs: tuple[Mapping[str, Any], ...] = ()
    """Repair records between them, newest first."""
    signed: frozenset[int] = frozenset()
    """Numbers of those that are signed and intact; the others are from before this shop had people."""

    @property
    def last(self) -> Mapping[str, Any] | None:
        """The newest start-up that was released."""
        return next((r for r in self.records if r["record"].get("kind") == "startup"), None)

    @property
    def notice(self) -> str:
        """What is to be said of records that count for nothing; empty without any."""
        if not self.strangers:
            return ""
        numbers = sorted(number for number, _ in self.strangers)
        shown, more = ", ".join(map(str, numbers[-SHOWN:])), len(numbers) - SHOWN
        shown += f" and {more} more" if more > 0 else ""
        said = f"Record {shown} counts" if len(numbers) == 1 else f"Records {shown} count"
        return f"{said} for nothing, unsigned or wrong: a lead looks with preflight verify."

    def facts(self) -> dict[str, str]:
        """Answers of the newest start-up by key; the caller carries over those that are facts."""
        newest_one = next(iter(self.records), None)
        return {entry["key"]: entry["text"] for entry in newest_one.get("entries", ())} if newest_one else {}

    def history(self) -> History:
        """As the checks want it, oldest first."""
        rows = [(_signed_at(r), sheet_of(r)) for r in reversed(self.records)]
        logs = (_run_log(record) for record in reversed(self.runs))
        belts, drums = wear_maps(sorted((*self.records, *self.runs, *self.repairs), key=_signed_at))
        return History(
            sheets=tuple(sheet for _, sheet in rows),
            times=tuple(at for at, _ in rows),
            belt_wear=belts,
            drum_wear=drums,
            runs=tuple(log for log in logs if log is not None),
            open_stops=self._open_stops(),
        )

    def _open_stops(self) -> tuple[OpenStop, ...]:
        """Stops that need a repair entry and that no later start-up cleared by one, in the order they came."""
        standing: dict[tuple[str, str], OpenStop] = {}
        for record in sorted((*self.records, *self.repairs), key=_signed_at):
            for found in record.get("findings", ()):
                check, subject = found.get("check", ""), found.get("subject", "")
                own = (check, subject.removeprefix(CLEARED))
                if check not in NEED_REPAIR:
                    continue
                if subject.startswith(CLEARED) and found.get("verdict") == "ok":
                    standing.pop(own, None)
                elif found.get("verdict") == "stop" and found.get("takes_override") is False:
                    was = standing.get(own)
                    since = was.since if was is not None else _signed_at(record)
                    fresh = own[1] == subject  # a new bad reading, not the old stop that still waits for its entry
                    if was is None or fresh:
                        standing[own] = OpenStop(*own, str(found.get("statement", "")), since)
            repaired = record.get(REPAIR, {})
            own = (str(repaired.get("check", "")), str(repaired.get("subject", "")))
            if own in standing:
                done, by = str(repaired.get("what", "")), str(repaired.get("who", ""))
                standing[own] = replace(standing[own], done=done, by=by)
        return tuple(standing.values())


def _signed_at(record: Mapping[str, Any]) -> datetime:
    return datetime.fromisoformat(str(record["record"]["utc"]))


def _run_log(record: Mapping[str, Any]) -> RunLog | None:
    """Hours and area of a run record; None when it states no hours."""
    table = record.get(RUN, {})
    try:
        hours = parse(str(table["hours"]), Kind.HOURS).value
        area = parse(str(table["area"]), Kind.AREA).value if "area" in table else 0.0
    except (KeyError, QuantityError):
        return None
    return RunLog(_signed_at(record), hours, area)


def _as_shown(document: Mapping[str, Any], later: Sequence[Kept]) -> Mapping[str, Any]:
    """The document without the words that a correction hides: they are told to whoever starts next. Readings stay."""
    made = corrections(later)
    if not any(one.hides for one in made):
        return document
    shown = masked(document, made)
    return {**document, **{table: shown[table] for table in TOLD if table in document}}


def past(shop: Path, machine: str, register: Register, memory: BodyMemory | None = None, most: int = MOST) -> Past:
    """The newest start-ups of a machine that count, with the runs and repairs between them.

    memory: of what bodies say; with it the records are as short as it keeps them.
    """
    started: list[Mapping[str, Any]] = []
    references: list[Reference] = []
    others: dict[str, list[Mapping[str, Any]]] = {RUN: [], REPAIR: []}
    signed: set[int] = set()
    corrected: dict[Reference | None, list[Kept]] = {}
    with MachineRecords(shop, machine, register, memory) as chain:
        for kept in chain.walk(frozenset({*START_UPS, RUN, REPAIR, CORRECTION})):
            if not kept.counts:
                continue
            if kept.heading.kind == CORRECTION:
                corrected.setdefault(kept.refers, []).append(kept)
                continue
            if kept.signed:
                signed.add(kept.reference.sequence)
            document = _as_shown(kept.document, corrected.get(kept.reference, ()))
            if kept.heading.kind not in START_UPS:
                others[kept.heading.kind].append(document)
                continue
            started.append(document)
            references.append(kept.reference)
            if len(started) == most:
                break
    return Past(
        tuple(started),
        tuple(chain.strangers),
        tuple(others[RUN]),
        tuple(references),
        tuple(others[REPAIR]),
        frozenset(signed),
    )
