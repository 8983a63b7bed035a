"""What the audit screen asks: pages of records and whole reports, as plain values. No Textual here.

The index is read on one thread of its own and filled on another, so that lists are usable while records are read.
"""

from __future__ import annotations

import secrets
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

from preflight.audit import queries, sections
from preflight.audit.account_sections import wear_sections
from preflight.audit.patterns import patterns
from preflight.audit.period import LOOK_BACK
from preflight.audit.record_view import record_sections
from preflight.audit.rules import rules_of
from preflight.audit.shop_audit import ShopAudit
from preflight.audit.today import machine_names
from preflight.errors import PreflightError

if TYPE_CHECKING:
    import asyncio
    import sqlite3
    from collections.abc import Callable
    from datetime import datetime, tzinfo
    from pathlib import Path

    from preflight.audit.queries import Filter, Listed
    from preflight.audit.sections import Section
    from preflight.checklist.key_folder import KeyFolder
    from preflight.tui.audit_signing import Attempt, Countersigning

T = TypeVar("T")
COLUMNS = ("machine", "person", "verdict", "kind")
REVEAL_KEY = "F9"
"""Shows what a correction hides."""
READING = "The records are being read."
DRIFTING = "Readings that drift, of all machines. F8, machine: every reading of one machine."


@dataclass(frozen=True, slots=True)
class RecordPage:
    """One page of the list."""

    rows: tuple[Listed, ...]
    total: int
    names: dict[str, str] = field(default_factory=dict)
    nothing: str = ""
    """What is said when there is no record at all."""


class RecordsClosedError(PreflightError):
    """A question that came after the records were let go of."""


class AuditDesk:
    """One terminal's view of the records. Its methods return futures of the reading thread."""

    def __init__(
        self,
        shop: Path,
        clock: Callable[[], datetime],
        cache: Path | None = None,
        keys: KeyFolder | None = None,
        token: Callable[[], str] = lambda: secrets.token_hex(16),
        zone: tzinfo | None = None,
    ) -> None:
        self.shop = shop
        self.zone = zone
        """In which days begin; None: this terminal's."""
        self.changed = False
        """Whether the last filling changed what is to be shown."""
        self._clock = clock
        self._cache = cache
        self._keys = keys
        self._token = token
        self.looked = False
        """Whether every record was looked at once."""
        self._reader = ThreadPoolExecutor(1, "audit-reader")
        self._closed = False
        self._audit: ShopAudit | None = None
        self._names: dict[str, str] = {}
        self._stop = threading.Event()

    async def ask(self, loop: asyncio.AbstractEventLoop, question: Callable[[], T]) -> T:
        """Run one of the methods below on the reading thread. RecordsClosedError once they were let go of."""
        if self._closed:
            raise RecordsClosedError("The records are closed.", "Open them again: Ctrl+R.")
        return await loop.run_in_executor(self._reader, question)

    def fill(self, progress: Callable[[int, int], None]) -> str:
        """Read what the index lacks, on the calling thread, until done or `cancel`; what a person should know."""
        self._stop.clear()
        audit = ShopAudit(self.shop, self._cache)
        try:
            done = audit.fill(progress, self._stop.is_set)
            self.looked = done.left == 0
            self.changed = bool(done.added or done.gone) or audit.ask(queries.count) == 0
            return " ".join(audit.notices)
        finally:
            audit.close()

    def cancel(self) -> None:
        """End a filling after the portion in hand."""
        self._stop.set()

    def close(self) -> None:
        """End the filling and let go of the index; once is enough."""
        if self._closed:
            return
        self._closed = True
        self.cancel()
        self._reader.submit(self._close)
        self._reader.shutdown(wait=False)

    def now(self) -> datetime:
        """This moment, local with its offset, whole seconds."""
        now = self._clock()
        return (now if now.tzinfo else now.astimezone()).replace(microsecond=0)

    # on the reading thread ----------------------------------------------------------------------------------------

    def page(
        self, only: Filter, after: tuple[int, str, int] | None = None, before: tuple[int, str, int] | None = None
    ) -> RecordPage:
        """The page behind or before that record; the first one without either."""
        only = replace(only, strangers=True)
        rows = self._ask(lambda c: queries.page(c, only, after=after, before=before))
        nothing = " ".join(text for one in self.nothing("list") for text in one.sentences)
        return RecordPage(tuple(rows), self._ask(lambda c: queries.count(c, only)), self._known_names(), nothing)

    def values(self, column: str) -> list[str]:
        """What a column can be narrowed to."""
        return self._ask(lambda c: queries.distinct(c, column))

    def names(self) -> dict[str, str]:
        """Printed names of machines."""
        return self._known_names()

    def today(self, *, whole: bool = True) -> list[Section]:
        """What a lead acts on; not `whole`: what the index says at once."""
        rules, nothing = rules_of(self.shop), self.nothing("today")
        if nothing and not self.looked:
            return nothing  # no machine may be said never to have started
        made = self._ask(lambda c: sections.today_sections(c, self.shop, rules, self.now(), whole=whole))
        return [*nothing, *made]

    def patterns(self) -> list[Section]:
        """Flags and shifts of the period."""
        if nothing := self.nothing("patterns"):
            return nothing
        rules, now = rules_of(self.shop), int(self._clock().timestamp())
        flags, shifts = self._ask(lambda c: patterns(c, rules, now - LOOK_BACK, now + 86400))
        names = self._known_names()
        return [sections.flag_section(flags, names), *sections.shift_sections(shifts, names)]

    def trends(self, machine: str) -> list[Section]:
        """Trends and wear over time of one machine, or the drifting trends of all."""
        if nothing := self.nothing("trends"):
            return nothing
        rules, now, names = rules_of(self.shop), int(self._clock().timestamp()), self._known_names()

        def asked(connection: sqlite3.Connection) -> list[Section]:
            span = (now - LOOK_BACK, now + 86400)
            return [
                one
                for of in ([machine] if machine else queries.distinct(connection, "machine"))
                for one in sections.trend_sections(
                    connection, of, names.get(of, of), rules, *span, drifting=not machine
                )
            ]

        made = self._ask(asked)
        if machine:
            name = names.get(machine, machine)
            made += self._ask(lambda c: wear_sections(c, machine, name, now - LOOK_BACK, now + 86400))
        return made if machine else [sections.Section("Trends", (DRIFTING,)), *made]

    def record(self, one: Listed, *, reveal: bool = False) -> list[Section]:
        """One record whole, its seal checked on the file; what a correction hides only on request."""
        name = self._known_names().get(one.machine, "")
        return self._ask(
            lambda c: record_sections(c, self.shop, one.machine, one.sequence, name, reveal=reveal, how=REVEAL_KEY)
        )

    def nothing(self, view: str) -> list[Section]:
        """What the view says while there is no record, or none was read yet; else nothing."""
        why = sections.NOTHING if self.looked else READING
        return self._ask(lambda c: sections.nothing(c, view, why))

    def begin(self, one: Listed) -> Attempt:
        """What a countersignature under that record begins with. Raises `PreflightError`."""
        from preflight.tui.audit_signing import begin

        return begin(self.shop, self._key_folder(), one.machine, one.sequence, self._token())

    def countersign(self, attempt: Attempt, given: Countersigning) -> str:
        """Save it and list it; the sentence that says so. Raises `PreflightError`, and then nothing was saved."""
        from preflight.tui.audit_signing import save

        saved, said = save(self.shop, self._key_folder(), attempt, given, self.now(), self._token())
        audit = self._opened()
        before = len(audit.notices)
        audit.note(saved.head.machine, saved.head.sequence)
        return " ".join([said, *audit.notices[before:]])

    def opens_key(self, text: str) -> bool:
        """Whether a text has the secret of somebody's key at this terminal in it. Call it in a thread."""
        from preflight.checklist.register import read_register

        keys = self._key_folder()
        return any(keys.opened_by(one.key_id, one.name, text) for one in read_register(self.shop).active)

    def _ask(self, question: Callable[[sqlite3.Connection], T]) -> T:
        return self._opened().ask(question)

    def _opened(self) -> ShopAudit:
        if self._audit is None:
            self._audit = ShopAudit(self.shop, self._cache)
        return self._audit

    def _known_names(self) -> dict[str, str]:
        if not self._names:
            self._names = machine_names(self.shop)
        return self._names

    def _key_folder(self) -> KeyFolder:
        if self._keys is None:
            from preflight.checklist.key_folder import KeyFolder, key_folder

            self._keys = KeyFolder(key_folder())
        return self._keys

    def _close(self) -> None:
        if self._audit is not None:
            self._audit.close()
            self._audit = None
