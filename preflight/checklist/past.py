"""What earlier records of a machine say: the newest start-ups, as the checks' history and the next run's facts."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from preflight.checklist.body import read_body
from preflight.checklist.chain import Chain, newest
from preflight.checklist.document import sheet_of
from preflight.checklist.reference import Reference, reference_to
from preflight.checklist.seal import read_seal
from preflight.checks.repairs import CLEARED, NEED_REPAIR
from preflight.errors import PreflightError
from preflight.history import History, OpenStop, RunLog
from preflight.quantities import Kind, QuantityError, parse

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

MOST = 60
"""Newest records that are looked at; older ones are the audit's."""
START_UPS = ("startup", "held")
RUN = "run"


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
        rows = [(datetime.fromisoformat(str(r["record"]["utc"])), sheet_of(r)) for r in reversed(self.records)]
        logs = (_run_log(record) for record in reversed(self.runs))
        return History(
            sheets=tuple(sheet for _, sheet in rows),
            times=tuple(at for at, _ in rows),
            runs=tuple(log for log in logs if log is not None),
            open_stops=self._open_stops(),
        )

    def _open_stops(self) -> tuple[OpenStop, ...]:
        """Stops that need a repair entry and that no later start-up cleared by one, in the order they came."""
        standing: dict[tuple[str, str], OpenStop] = {}
        for record in reversed(self.records):
            for found in record.get("findings", ()):
                check, subject = found.get("check", ""), found.get("subject", "")
                if check not in NEED_REPAIR:
                    continue
                if subject.startswith(CLEARED) and found.get("verdict") == "ok":
                    standing.pop((check, subject.removeprefix(CLEARED)), None)
                elif found.get("verdict") == "stop" and found.get("takes_override") is False:
                    own = (check, subject.removeprefix(CLEARED))
                    since = datetime.fromisoformat(str(record["record"]["utc"]))
                    standing.setdefault(own, OpenStop(*own, str(found.get("statement", "")), since))
        return tuple(standing.values())


def _run_log(record: Mapping[str, Any]) -> RunLog | None:
    """Hours and area of a run record; None when it states no hours."""
    table = record.get(RUN, {})
    try:
        hours = parse(str(table["hours"]), Kind.HOURS).value
        area = parse(str(table["area"]), Kind.AREA).value if "area" in table else 0.0
    except (KeyError, QuantityError):
        return None
    return RunLog(datetime.fromisoformat(str(record["record"]["utc"])), hours, area)


def past(shop: Path, machine: str, most: int = MOST) -> Past:
    """The newest start-up records of a machine. A file that cannot be read is passed over and named."""
    chain = Chain(shop, machine)
    found: list[Mapping[str, Any]] = []
    runs: list[Mapping[str, Any]] = []
    references: list[Reference] = []
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
    return Past(tuple(found), tuple(unread), tuple(runs), tuple(references))
