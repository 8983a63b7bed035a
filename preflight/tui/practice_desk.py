"""What the practice view asks of the rest: drills, a sitting, keeping its record, where people stand.

No Textual here. Everything that reads or writes a file is called from a thread of the app.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.register import read_register
from preflight.checklist.signatory import secret_word, signatory, unsigned
from preflight.training.drill_file import written, written_drill
from preflight.training.gate import gate_of
from preflight.training.generator import LEVELS, generated
from preflight.training.instruments import Grid, Instrument, drawn
from preflight.training.kept_drill import KeptDrill, begin_on_record
from preflight.training.leaning import leaning
from preflight.training.records import PracticeBook, practice
from preflight.training.sitting import Sitting, begin
from preflight.training.standing import Standing, standings
from preflight.training.surprise import is_due, surprise
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from preflight.tui.wiring import Signing

DRAWN = ""
"""In place of a written drill's id: one drawn for this person."""


@dataclass(frozen=True, slots=True)
class PracticeDesk:
    """Practice at one terminal."""

    root: Path
    clock: Callable[[], datetime]
    token: Callable[[], str]
    keys: KeyFolder | None = None

    def drills(self) -> list[Pick]:
        """The written drills."""
        found = [written_drill(drill_id) for drill_id in written()]
        return [Pick(one.id, one.title, one.machine) for one in found]

    def names(self) -> list[str]:
        """Who may be practising: those who did before, and the people of the shop."""
        register = read_register(self.root)
        before = [one.trainee for one in practice(self.root, register)]
        return list(dict.fromkeys([*reversed(before), *(one.name for one in register.active)]))

    def start(self, drill_id: str, level: int, name: str) -> Sitting:
        """A sitting of a written drill, or of one drawn that leans to what `name` misses."""
        if drill_id != DRAWN:
            return begin(written_drill(drill_id), level)
        return begin(generated(self._seed(), level, leaning(practice(self.root), name, self.clock())), level)

    def surprise(self, name: str) -> Sitting | None:
        """The surprise drill of that person, when it is due."""
        records = practice(self.root, read_register(self.root))
        if not is_due(records, name, gate_of(self.root), self.clock()):
            return None
        return begin(surprise(self._seed(), leaning(records, name, self.clock())), LEVELS[-1], surprise=True)

    def _seed(self) -> int:
        return int(self.token()[:8], 16)

    def instrument(self, name: str) -> tuple[Instrument, float, Grid]:
        """An instrument of that id, a value, and its drawing."""
        return drawn(name, self._seed())

    def secret_word(self, name: str) -> str:
        """What the person types to sign; empty in a shop without people."""
        register = read_register(self.root)
        member = register.members.get(name)
        return secret_word(member.role if member else "operator") if register.founded else ""

    def opens_key(self, text: str) -> bool:
        """Whether a text has the secret of somebody's key at this terminal in it. Call it in a thread."""
        keys = self.keys or KeyFolder(key_folder())
        return any(keys.opened_by(one.key_id, one.name, text) for one in read_register(self.root).active)

    def begin(self, sitting: Sitting, drawn: bool, signing: Signing) -> KeptDrill:
        """Put the drill on record before it is shown. Raises `PreflightError` when it was not: it must not begin."""
        now, register = self._now(), read_register(self.root)
        if register.founded:
            by = signatory(register, self.keys or KeyFolder(key_folder()), signing.name, signing.secret, now)
        else:
            by = unsigned(register, signing.name, "operator")
        return begin_on_record(PracticeBook(self.root, self.token), sitting, by, now, drawn=drawn)

    def end(self, kept: KeptDrill, sitting: Sitting) -> str:
        """Save how it ended and say where. Raises `PreflightError` when it was not saved; it can be tried again."""
        head = kept.end(sitting, self._now()).head
        given_up = "" if sitting.done else ", given up"
        return f"Kept as practice of {kept.by.name}{given_up}: record {head.sequence} of {head.machine}."

    def _now(self) -> datetime:
        return self.clock().replace(microsecond=0)

    def standings(self) -> list[Standing]:
        """Everybody who practised, for the trainer."""
        return standings(practice(self.root, read_register(self.root)), gate_of(self.root), self.clock())
