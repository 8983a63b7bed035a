"""Typing and moving in the run: what an answer changes, where the cursor goes, and where Enter stays to be sure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preflight.tui.attention import Look, row_in_the_way, to_look_at
from preflight.tui.modes.run_dialogues import RunDialogues
from preflight.tui.run import FED

if TYPE_CHECKING:
    from preflight.checks.finding import Finding


class RunMoves(RunDialogues):
    """The keys that the entries take."""

    left_at: dict[str, str]
    """By station the row that was current last."""

    def typed(self, key: str, text: str) -> None:
        """An answer changed: judge, show, keep. What was accepted stands again once its re-read is cleared."""
        if self.busy:
            self.show_row(self.entries.key)
            self.app.bell()
            return
        self.entries.refused = ""
        row = self.entries.row
        cleared = self.run.typed.get(key, "").strip() and not text.strip()
        if cleared and self.run.before(key) and row is not None and not row.long:
            self._restore(key)
            return
        self.why.notice = ""
        self.run = self.run.typing(key, text, self.wiring.clock())
        self.show_row(key)
        self.keep()

    def _restore(self, key: str) -> None:
        self.why.notice = ""
        self.run = self.run.restoring(key)
        self.show_row(key)
        self.entries.mark_all()
        self.keep()

    def action_restore(self) -> None:
        """Give up a re-read: the answer before it stands again."""
        if self.run.signed is None and self.run.before(self.entries.key):
            self._restore(self.entries.key)

    def refused(self, why: str) -> None:
        """A key that means nothing here is heard, and the reason is said."""
        self.say(why)
        self.app.bell()

    def accept(self) -> None:
        """The current answer is left standing."""
        if self.run.signed is not None:
            return
        before = self.run
        self.run = self.run.accepting(self.entries.key)
        if self.run is not before:
            self.keep()

    def go_row(self, key: str) -> None:
        """Go to a row of this station."""
        if self.busy:
            return
        self.accept()
        self.why.notice = ""
        self.show_row(key)

    def go(self, station_id: str, key: str = "") -> None:
        """Go to a station: to that row, or to what stands in the way there, else to the row left last."""
        self.accept()
        self.why.notice = ""
        self.station_id = station_id
        self.show_row(key or self.first_row())

    def first_row(self) -> str:
        """Where the cursor stands on coming to the station that is shown."""
        keys = [row.key for row in self.run.rows(self.station_id)]
        if self.run.signed is not None:
            return FED if FED in keys else next(iter(keys), "")
        left = self.left_at.get(self.station_id, "")
        return row_in_the_way(self.run, self.station_id) or (left if left in keys else next(iter(keys), ""))

    def looks_at(self) -> Finding | None:
        """The finding for which Enter stays at the current row now: it goes on at the second time."""
        look = self.entries.look
        if look is None or not self.entries.held:
            return None
        findings = to_look_at(self.run, self.station_id, self.entries.row)
        return next((finding for finding in findings if finding.subject in look.subjects[-1:]), None)

    def _step_row(self, step: int) -> bool:
        keys = [row.key for row in self.entries.rows]
        at = keys.index(self.entries.key) + step if self.entries.key in keys else 0
        if not 0 <= at < len(keys):
            return False
        self.go_row(keys[at])
        return True

    def _step_station(self, step: int) -> bool:
        ids = [station.id for station in self.run.stations]
        at = ids.index(self.station_id) + step
        if not 0 <= at < len(ids):
            return False
        self.go(ids[at])
        return True

    def action_accept(self) -> None:
        """Next entry that is asked. Enter accepts an answer: without one, or at an unreadable one, it stays.

        At a stop, and at each caution without an action, it stays once, so that the reason is read. Behind keys that
        were refused it stays too: it was typed with them. What is only shown, may stay empty, or stands as before is
        passed over. The arrows go anywhere.
        """
        key, row = self.entries.key, self.entries.row
        answer = self.run.typed.get(key, "").strip()
        if self.run.signed is not None:
            self._next_asked()
        elif self.entries.refused:
            self.accept()
            self._explain_refused()
        elif row is not None and not row.choices and key in self.run.half:
            self.entries.mark_all()
            self.refused(self.run.unread[key])
        elif key in self.run.unread and row is not None and not row.choices:  # a choice waits for the rows below it
            self.accept()
            self._stay(Look(key, answer))
        elif row is not None and self.run.asks(row) and not answer:
            what = "Nothing is chosen here yet: Space chooses" if row.choices else "Nothing is typed here yet"
            self.refused(f"{what}. The arrows and PageDown go on, but nothing is released without it.")
        elif not self._stays_to_look():
            self._next_asked()

    def _explain_refused(self) -> None:
        """Say what was not taken, and why Enter stays here; the next Enter counts again."""
        refused, self.entries.refused = self.entries.refused_text, ""
        finding = self.looks_at()
        why = f" {finding.statement}" if finding is not None else ""
        then = "" if self.entries.key in self.run.unread else " Enter again goes on."
        self.refused(f"{refused[:1].upper()}{refused[1:]} was not taken, nor Enter behind it.{why}{then}")

    def _stays_to_look(self) -> bool:
        """Stay at the answer for the first thing to look at that was not shown here yet, if there is one."""
        key = self.entries.key
        if key in self.run.half:  # a choice is whole: Enter accepts it as it stands
            self.run = self.run.typing(key, self.run.typed[key], self.wiring.clock())
        self.accept()
        look = self.entries.look
        if look is None or not self.entries.held:
            look = Look(key, self.run.typed.get(key, "").strip())
        findings = to_look_at(self.run, self.station_id, self.entries.row)
        finding = next((one for one in findings if one.subject not in look.subjects), None)
        if finding is not None:
            self._stay(replace(look, subjects=(*look.subjects, finding.subject)))
        return finding is not None

    def _stay(self, look: Look) -> None:
        self.entries.look = look
        self.why.notice = ""
        self.show_row(look.key)
        self.entries.mark_all()
        self.app.bell()
        self.rests()

    def _next_asked(self) -> None:
        rows = list(self.entries.rows)
        at = next((n for n, row in enumerate(rows) if row.key == self.entries.key), -1)
        asked = next((row.key for row in rows[at + 1 :] if self.run.asks(row)), "")
        if asked:
            self.go_row(asked)
        elif not self._step_station(1):
            self.action_review()

    def action_row_down(self) -> None:
        """Next row of this station."""
        self._step_row(1)

    def action_row_up(self) -> None:
        """Row before."""
        self._step_row(-1)

    def action_next_station(self) -> None:
        """Next station."""
        self._step_station(1)

    def action_previous_station(self) -> None:
        """Station before."""
        self._step_station(-1)
