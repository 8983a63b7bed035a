"""What the audit screen asks: pages of records and whole reports, as plain values. No Textual here.

The index is read on one thread of its own and filled on another, so that lists are usable while records are read.
"""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from preflight.audit import queries, sections
from preflight.audit.patterns import patterns
from preflight.audit.record_view import record_sections
from preflight.audit.rules import rules_of
from preflight.audit.shop_audit import ShopAudit
from preflight.audit.today import machine_names

if TYPE_CHECKING:
    import asyncio
    import sqlite3
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from preflight.audit.queries import Filter, Listed
    from preflight.audit.sections import Section

T = TypeVar("T")
LOOK_BACK = 400 * 86400
"""Seconds that patterns and trends look back."""
COLUMNS = ("machine", "person", "verdict", "kind")


@dataclass(frozen=True, slots=True)
class RecordPage:
    """One page of the list."""

    rows: tuple[Listed, ...]
    total: int
    names: dict[str, str] = field(default_factory=dict)


class AuditDesk:
    """One terminal's view of the records. Its methods return futures of the reading thread."""

    def __init__(self, shop: Path, clock: Callable[[], datetime], cache: Path | None = None) -> None:
        self.shop = shop
        self._clock = clock
        self._cache = cache
        self._reader = ThreadPoolExecutor(1, "audit-reader")
        self._audit: ShopAudit | None = None
        self._names: dict[str, str] = {}
        self._stop = threading.Event()

    async def ask(self, loop: asyncio.AbstractEventLoop, question: Callable[[], T]) -> T:
        """Run one of the methods below on the reading thread."""
        return await loop.run_in_executor(self._reader, question)

    def fill(self, progress: Callable[[int, int], None]) -> str:
        """Read what the index lacks, on the calling thread, until done or `cancel`; what a person should know."""
        self._stop.clear()
        audit = ShopAudit(self.shop, self._cache)
        try:
            audit.fill(progress, self._stop.is_set)
            return " ".join(audit.notices)
        finally:
            audit.close()

    def cancel(self) -> None:
        """End a filling after the portion in hand."""
        self._stop.set()

    def close(self) -> None:
        """End the filling and let go of the index."""
        self.cancel()
        self._reader.submit(self._close)
        self._reader.shutdown(wait=False)

    # on the reading thread ----------------------------------------------------------------------------------------

    def page(
        self, only: Filter, after: tuple[int, str, int] | None = None, before: tuple[int, str, int] | None = None
    ) -> RecordPage:
        """The page behind or before that record; the first one without either."""
        rows = self._ask(lambda c: queries.page(c, only, after=after, before=before))
        return RecordPage(tuple(rows), self._ask(lambda c: queries.count(c, only)), self._known_names())

    def values(self, column: str) -> list[str]:
        """What a column can be narrowed to."""
        return self._ask(lambda c: queries.distinct(c, column))

    def names(self) -> dict[str, str]:
        """Printed names of machines."""
        return self._known_names()

    def today(self, *, whole: bool = True) -> list[Section]:
        """What a lead acts on; not `whole`: what the index says at once."""
        rules = rules_of(self.shop)
        return self._ask(lambda c: sections.today_sections(c, self.shop, rules, self._clock(), whole=whole))

    def patterns(self) -> list[Section]:
        """Flags and shifts of the period."""
        rules, now = rules_of(self.shop), int(self._clock().timestamp())
        flags, shifts = self._ask(lambda c: patterns(c, rules, now - LOOK_BACK, now + 86400))
        return [sections.flag_section(flags, self._known_names()), sections.shift_section(shifts)]

    def trends(self, machine: str) -> list[Section]:
        """Trends of one machine, or the drifting ones of all."""
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

        return self._ask(asked)

    def record(self, one: Listed) -> list[Section]:
        """One record whole, its seal checked on the file."""
        made = self._ask(lambda c: record_sections(c, self.shop, one.machine, one.sequence))
        hint = f"A lead or trainer signs beneath it with: preflight record countersign MACHINE {one.sequence}"
        return [*made, sections.Section("Countersign", (hint,))]

    def _ask(self, question: Callable[[sqlite3.Connection], T]) -> T:
        if self._audit is None:
            self._audit = ShopAudit(self.shop, self._cache)
        return self._audit.ask(question)

    def _known_names(self) -> dict[str, str]:
        if not self._names:
            self._names = machine_names(self.shop)
        return self._names

    def _close(self) -> None:
        if self._audit is not None:
            self._audit.close()
            self._audit = None
