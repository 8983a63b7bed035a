"""What earlier records of a machine say: the newest start-ups, as the checks' history and the next run's facts."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.body import read_body
from preflight.checklist.chain import Chain, newest
from preflight.checklist.document import sheet_of
from preflight.checklist.reference import Reference, reference_to
from preflight.checklist.seal import read_seal
from preflight.checklist.wear_maps import wear_maps
from preflight.checks.running.repairs import CLEARED, NEED_REPAIR
from preflight.errors import PreflightError
from preflight.history import History, OpenStop, RunLog
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

MOST = 60
"""Newest records that are looked at; older ones are the audit's."""
START_UPS = ("startup", "held")
RUN, REPAIR = "run", "repair"


@dataclass(frozen=True, slots=True)
class Past:
    """The newest records, newest first."""

    records: tuple[Mapping[str, Any], ...] = ()
    unread: tuple[Path, ...] = field(default=())
    """Files that could not be read; verification says why."""
    runs: tuple[Mapping[str, Any], ...] = ()
    """Run records between them, newest first."""
    references: tuple[Reference, ...] = ()
    """Number and digest of each of `records`."""
    repairs: tuple[Mapping[str, Any], ...] = ()
    """Repair records between them, newest first."""

    @property
    def last(self) -> Mapping[str, Any] | None:
        """The newest start-up that was released."""
        return next((r for r in self.records if r["record"].get("kind") == "startup"), None)

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


def past(shop: Path, machine: str, most: int = MOST) -> Past:
    """The newest start-up records of a machine. A file that cannot be read is passed over and named."""
    chain = Chain(shop, machine)
    found: list[Mapping[str, Any]] = []
    runs: list[Mapping[str, Any]] = []
    references: list[Reference] = []
    repairs: list[Mapping[str, Any]] = []
    unread: list[Path] = []
    if not chain.folder.is_dir():
        return Past()
    for number in range(newest(chain.folder), 0, -1):
        if len(found) == most:
            break
        path = chain.path(number)
        try:
            sealed = read_seal(path.read_bytes())
            record = read_body(sealed.body)
        except (OSError, PreflightError):
            unread.append(path)
            continue
        if record.get("record", {}).get("kind") in START_UPS:
            found.append(record)
            references.append(reference_to(sealed))
        elif record.get("record", {}).get("kind") == RUN:
            runs.append(record)
        elif record.get("record", {}).get("kind") == REPAIR:
            repairs.append(record)
    return Past(tuple(found), tuple(unread), tuple(runs), tuple(references), tuple(repairs))
