"""The door to the desk: gives the app its callables at once, and loads what is behind them at the first knock.

The first frame is drawn before profiles, checks and records are imported; that is why the desk is opened late.
"""

# ruff: noqa: PLW0108  (the lambdas are the point: they open the desk only when they are called)
from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.voids import EVENTS, again
from preflight.tui.stations import TITLES
from preflight.tui.wiring import Pick, Wiring

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime
    from pathlib import Path

    from preflight.tui.audit_desk import AuditDesk
    from preflight.tui.desk import Desk
    from preflight.tui.practice_desk import PracticeDesk
    from preflight.tui.run import Run


class DeskDoor:
    """Opens the desk of one terminal when it is first needed, from the thread that needs it."""

    def __init__(
        self, root: Path, machine: str, clock: Callable[[], datetime], token: Callable[[], str], host: str, pid: int
    ) -> None:
        self._root = root
        self._machine = machine
        self._clock = clock
        self._token = token
        self._terminal = (host, pid)
        self._opened: Desk | None = None

    def wiring(self) -> Wiring:
        """What the app is given."""
        return Wiring(
            titles=TITLES,
            load=lambda: self._desk.load(),
            machines=lambda: self._desk.machines(),
            open_on=lambda machine: self._desk.open_on(machine),
            clock=self._clock,
            save=lambda *answers: self._desk.keep(*answers),
            sign=lambda run, signing: self._desk.sign(run, signing),
            hold=lambda run, holding: self._desk.hold(run, holding),
            done=lambda run, finished: self._desk.done(run, finished),
            events=[Pick(one.id, one.label, again(one)) for one in EVENTS],
            event_picks=_event_picks,
            voids=_voids,
            happened=lambda run, event: self._desk.happened(run, event),
            taken_back=lambda: self._desk.taken_back(),
            subjects=lambda run: self._desk.subjects(run),
            picks=lambda run, subject: self._desk.picks(run, subject),
            picked=lambda run, subject, chosen: self._desk.picked(run, subject, chosen),
            people=lambda: self._desk.people(),
            secret_word=lambda name: self._desk.secret_word(name),
            second=lambda run, name: self._desk.second(run, name),
            opens_key=lambda text: self._desk.opens_key(text),
            words=_words,
            audit=self._audit,
            practice=self._practice,
        )

    def _practice(self) -> PracticeDesk:
        from preflight.tui.practice_desk import PracticeDesk

        return PracticeDesk(self._root, self._clock, self._token)

    def close(self) -> None:
        """Let go of the draft."""
        if self._opened is not None:
            self._opened.close()

    def _audit(self) -> AuditDesk:
        from preflight.tui.audit_desk import AuditDesk

        return AuditDesk(self._root, self._clock, token=self._token)

    @property
    def _desk(self) -> Desk:
        if self._opened is None:
            from preflight.shop.folder import shop_at
            from preflight.tui.desk import Desk, Terminal

            terminal = Terminal(*self._terminal)
            self._opened = Desk(shop_at(self._root), self._root, self._clock, self._token, terminal, self._machine)
        return self._opened


def _event_picks(run: Run, event_id: str) -> Sequence[Pick]:
    from preflight.tui.events import event_picks

    return event_picks(run, event_id)


def _voids(run: Run, event_id: str) -> str:
    from preflight.tui.events import voids

    return voids(run, event_id)


def _words() -> Sequence[tuple[str, str]]:
    from preflight.glossary import WORDS

    return WORDS
