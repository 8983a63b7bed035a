"""A shop's audit, open: index, rules and names together, and a way to ask that survives a damaged index."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, TypeVar

from preflight.audit.filling import Filled, fill, read_portion
from preflight.audit.index import Index, index_path, is_busy, is_damage, open_index, renewed
from preflight.checklist.register import read_register

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

T = TypeVar("T")


def _nothing(_done: int, _all: int) -> None:
    """No progress is shown."""


def _never() -> bool:
    return False


class ShopAudit:
    """One opener of the index. Use it from one thread, and close it."""

    def __init__(self, shop: Path, cache: Path | None = None) -> None:
        self.shop = shop
        self.index: Index = open_index(index_path(shop, cache))

    @property
    def notices(self) -> list[str]:
        """What a person should know, oldest first."""
        return self.index.notices

    def close(self) -> None:
        """Close the index."""
        self.index.close()

    def fill(
        self,
        progress: Callable[[int, int], None] = _nothing,
        cancelled: Callable[[], bool] = _never,
        *,
        anew: bool = False,
        processes: int | None = None,
    ) -> Filled:
        """Read the records that the index lacks, with `anew` every one. A damaged index is begun again, once."""

        def filling() -> Filled:
            if anew:
                self.index.clear()
            return fill(self.shop, self.index, progress=progress, cancelled=cancelled, processes=processes)

        try:
            done = filling()
        except sqlite3.DatabaseError as error:
            if is_damage(error):
                self._renew()
                done = filling()
            elif not is_busy(error):
                raise
            else:
                self.notices.append("Another program is writing the index: newer records are listed the next time.")
                done = Filled(0, elsewhere=True)
        if done.notice:
            self.notices.append(done.notice)
        return done

    def note(self, machine: str, sequence: int) -> None:
        """List one record that was saved just now, while another filling may be under way."""
        try:
            self.index.add(read_portion(str(self.shop), read_register(self.shop), ((machine, sequence),)))
        except sqlite3.Error:
            self.notices.append("Another program is writing the index: the new record is listed the next time.")

    def ask(self, question: Callable[[sqlite3.Connection], T]) -> T:
        """What the question returns; when the index turns out damaged it is made anew and asked again, once."""
        try:
            return question(self.index.connection)
        except sqlite3.DatabaseError as error:
            if not is_damage(error):
                raise
            self._renew()
            fill(self.shop, self.index)
            return question(self.index.connection)

    def _renew(self) -> None:
        self.index.connection.close()
        said = self.notices
        self.index = renewed(
            self.index.path, "The index was damaged and is made anew from the records.", self.index.mark
        )
        self.index.notices[:0] = said
