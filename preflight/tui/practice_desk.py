"""What the practice view asks of the rest: drills, a sitting, keeping its record, where people stand.

No Textual here. Everything that reads or writes a file is called from a thread of the app.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checklist.heading import Signature
from preflight.checklist.key_folder import KeyFolder, key_folder
from preflight.checklist.register import read_register
from preflight.checklist.signatory import Signatory, secret_word, signatory
from preflight.training.drill_file import written, written_drill
from preflight.training.gate import gate_of
from preflight.training.generator import LEVELS, generated
from preflight.training.instruments import Grid, Instrument, drawn
from preflight.training.leaning import leaning
from preflight.training.records import MEANING, PracticeBook, practice
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

    def keep(self, sitting: Sitting, drawn: bool, signing: Signing) -> str:
        """Save the record of practice and say where. Raises `PreflightError` when it was not saved."""
        now, register = self.clock().replace(microsecond=0), read_register(self.root)
        by = Signatory(signing.name, "operator", None)
        if register.founded:
            by = signatory(register, self.keys or KeyFolder(key_folder()), signing.name, signing.secret, now)
        signature = Signature(by.name, by.role, MEANING, now)
        book = PracticeBook(self.root, self.token)
        how = {"random": drawn, "surprise": sitting.surprise}
        saved = book.save_drill(sitting.drill, sitting.marked, sitting.level, signature, by.signer, **how)
        return f"Kept as practice of {by.name}: record {saved.head.sequence} of {saved.head.machine}."

    def standings(self) -> list[Standing]:
        """Everybody who practised, for the trainer."""
        return standings(practice(self.root, read_register(self.root)), gate_of(self.root), self.clock())
