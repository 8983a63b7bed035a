"""The run: what has been typed so far, the sheet it makes, and the verdicts, as one value after each key.

No Textual here; the run screen owns one `Run` and replaces it. Station modules give the rows, `assess` the
findings.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import islice
from typing import TYPE_CHECKING, Any

from preflight.checks.finding import CheckResult, Finding, Verdict, worst
from preflight.tui.rack import Rack
from preflight.tui.rows import Path, Row, answers, place

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import datetime

    from preflight.checks.permit import Permit
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView
    from preflight.tui.charset import Charset
    from preflight.tui.painting import Picture
    from preflight.tui.signed import SignedOff

FED = "feed.fed"
"""The tally kept while feeding, for the run record: it is no part of the start-up and stays open after the release."""
TEST_BOARD = "test_board"
"""The station behind the first gate."""


@dataclass(frozen=True, slots=True)
class Station:
    """One view of the start-up run."""

    id: str
    """Also the check's name: "stock", "test_board"."""
    title: str
    """At most 10 characters, so that mark, title and the longest word of a verdict share a line of 20."""
    purpose: str
    """One line under the title: what this station settles, at most 58 characters."""
    rows: Callable[[Run], Sequence[Row]]
    caution: tuple[str, str] | None = None
    """Signal word and one sentence, shown on a row of its own."""
    picture: Callable[[Run, int, int, Charset], Picture] | None = None
    """Draws what the station is about in at most that many columns and rows."""


@dataclass(frozen=True, slots=True)
class Run:
    """Everything the run screen shows, derived from what was typed."""

    stations: tuple[Station, ...]
    view: ShopView | None = None
    """None until profiles are loaded."""
    history: History | None = None
    typed: Mapping[str, str] = field(default_factory=dict)
    base: Mapping[str, Any] = field(default_factory=dict)
    """Sheet keys that are not typed: schema, machine, at."""
    raw: Mapping[str, Any] = field(default_factory=dict)
    """The sheet as plain tables, quantities as typed: what a record keeps."""
    sheet: SetupSheet | None = None
    results: Mapping[str, CheckResult] = field(default_factory=dict)
    unread: Mapping[str, str] = field(default_factory=dict)
    """Row key to message, for answers that cannot be read."""
    entered: Mapping[str, datetime] = field(default_factory=dict)
    """When each answer was last typed."""
    accepted: Mapping[str, tuple[datetime | None, str]] = field(default_factory=dict)
    """Answers that were left standing, with their time."""
    earlier: Mapping[str, tuple[tuple[datetime | None, str], ...]] = field(default_factory=dict)
    """Accepted answers that were replaced by others, oldest first."""
    half: frozenset[str] = frozenset()
    """Rows whose answer was typed and not accepted when the app ended: it counts for nothing and is asked again."""

    permits: tuple[Permit, ...] = ()
    """Overrides in force; sign-off looks them up once more."""
    signed: SignedOff | None = None
    """The record that these answers became: they are read only until an event asks something again."""
    rack: Rack = field(default_factory=Rack, compare=False, repr=False)
    """Belts judged for the view: what follows from the cards alone is worked out once a run, not once a key."""

    def rows(self, station_id: str) -> Sequence[Row]:
        """The rows of a station for what is typed so far."""
        return self.station(station_id).rows(self)

    def station(self, station_id: str) -> Station:
        """The station of that id."""
        return next(station for station in self.stations if station.id == station_id)

    def findings(self, station_id: str) -> tuple[Finding, ...]:
        """Findings of a station, worst first."""
        result = self.results.get(station_id)
        return tuple(sorted(result.findings, key=lambda f: -f.verdict)) if result else ()

    def finding(self, row: Row, station_id: str) -> Finding | None:
        """The worst finding that a row answers for."""
        return next((found for found in self.findings(station_id) if row.answers_for(found.subject)), None)

    def verdict(self, station_id: str) -> Verdict:
        """A station's verdict; open before anything is judged, and at least open with an answer that cannot be read."""
        if station_id not in self.results:
            return Verdict.OPEN
        found = self.results[station_id].verdict
        if self.unread and any(row.key in self.unread for row in self.rows(station_id)):
            found = max(found, Verdict.OPEN)
        return found

    @property
    def overall(self) -> Verdict:
        """The worst station."""
        return worst(self.verdict(station.id) for station in self.stations)

    @property
    def ready_for_test_board(self) -> bool:
        """First gate: nothing open and nothing stopped before the test board."""
        return not any(self.blocks(station.id) for station in self.stations if station.id != TEST_BOARD)

    @property
    def releasable(self) -> bool:
        """Second gate: nothing open, and nothing stopped that no override covers."""
        return not any(self.blocks(station.id) for station in self.stations)

    def blocks(self, station_id: str) -> bool:
        """Whether a station is open, or stopped by something that no override in force covers."""
        if self.verdict(station_id) <= Verdict.CAUTION:
            return False
        from preflight.checks.permit import permit_for

        judged = [found for found in self.findings(station_id) if found.verdict > Verdict.CAUTION]
        unread = any(row.key in self.unread for row in self.rows(station_id)) if self.unread else False
        return unread or not judged or any(permit_for(self.permits, station_id, found) is None for found in judged)

    @property
    def used_permits(self) -> tuple[Permit, ...]:
        """The overrides that a release would rest on."""
        from preflight.checks.permit import permit_for

        found = (permit_for(self.permits, one.id, f) for one in self.stations for f in self.findings(one.id))
        return tuple(dict.fromkeys(permit for permit in found if permit is not None))

    def action(self, station_id: str, finding: Finding) -> str:
        """What was chosen to be done about a caution; empty when nothing yet."""
        return self.typed.get(action_key(station_id, finding), "")

    def cautions(self, station_id: str) -> tuple[Finding, ...]:
        """Findings of a station that ask for an action."""
        return tuple(found for found in self.findings(station_id) if found.verdict is Verdict.CAUTION and found.actions)

    @property
    def undone(self) -> tuple[Finding, ...]:
        """Cautions of all stations that still ask for an action."""
        asking = ((station.id, found) for station in self.stations for found in self.cautions(station.id))
        return tuple(found for station_id, found in asking if not self.action(station_id, found))

    def takes(self, row: Row) -> bool:
        """Whether a row takes an answer now; of a released sheet only the tally of what is fed is still open."""
        return row.asked and (self.signed is None or row.key == FED)

    def asks(self, row: Row) -> bool:
        """Whether a row wants an answer today: not what is shown, may stay empty, or stands as a fact."""
        return row.asked and not row.optional and not (row.fact and bool(self.typed.get(row.key)))

    def typing(self, key: str, text: str, at: datetime | None = None) -> Run:
        """The run after the answer `key` became `text` at that time, judged."""
        entered = {**self.entered, key: at} if at else self.entered
        return replace(self, typed={**self.typed, key: text}, entered=entered, half=self.half - {key}).judged()

    def before(self, key: str) -> str:
        """What was accepted in a row whose answer is being given anew; empty when none is."""
        accepted = self.accepted_text(key)
        return accepted if accepted != self.typed.get(key, "").strip() else ""

    def accepted_text(self, key: str) -> str:
        """What was accepted in that row last."""
        return self.accepted.get(key, (None, ""))[1]

    def restoring(self, key: str) -> Run:
        """The run in which the answer that was accepted before stands again."""
        at, text = self.accepted.get(key, (None, ""))
        others = {name: when for name, when in self.entered.items() if name != key}
        return replace(self, entered=others).typing(key, text, at)

    @property
    def unaccepted(self) -> Mapping[str, tuple[datetime | None, str]]:
        """By row of an answer that nobody has accepted yet what was accepted there before it, if anything."""
        return {
            key: self.accepted.get(key, (None, ""))
            for key, text in self.typed.items()
            if key in self.half or text.strip() != self.accepted_text(key)
        }

    def accepting(self, key: str) -> Run:
        """The run after the answer `key` was left standing; another one accepted before is kept as an earlier value."""
        text = self.typed.get(key, "").strip()
        before = self.accepted.get(key)
        if key in self.half or text == (before[1] if before else ""):
            return self
        accepted = {**self.accepted, key: (self.entered.get(key), text)}
        if before is None or not before[1]:
            return replace(self, accepted=accepted)
        earlier = {**self.earlier, key: (*self.earlier.get(key, ()), before)}
        row = next((row for station in self.stations for row in station.rows(self) if row.key == key), None)
        run = replace(self, accepted=accepted, earlier=earlier)
        # judged again: a stop that stood here may need a repair entry, however good the new reading is
        return run.renewed(row.renews if row is not None else {}).judged()

    def renewed(self, answers: Mapping[str, str]) -> Run:
        """The run in which these rows have other answers because another one ended theirs; empty: asked again."""
        changed = {key: text for key, text in answers.items() if self.typed.get(key, "") != text}
        gone = {key: self.accepted[key] for key in changed if self.accepted_text(key)}
        at = max((when for when, _ in gone.values() if when is not None), default=None)
        return replace(
            self,
            typed={**self.typed, **changed},
            accepted={**self.accepted, **{key: (at, text) for key, text in changed.items()}},
            earlier={**self.earlier, **{key: (*self.earlier.get(key, ()), was) for key, was in gone.items()}},
        )

    def voiding(self, left: Mapping[str, str]) -> Mapping[str, tuple[tuple[datetime | None, str], ...]]:
        """The earlier values of a run that goes on with only the answers `left`: what is voided is not forgotten."""
        gone = {key: before for key, before in self.accepted.items() if before[1] and key not in left}
        return {
            key: (*self.earlier.get(key, ()), *((gone[key],) if key in gone else ()))
            for key in dict.fromkeys([*self.earlier, *gone])
        }

    def resumed(
        self,
        typed: Mapping[str, str],
        entered: Mapping[str, datetime],
        earlier: Mapping[str, tuple[tuple[datetime | None, str], ...]],
        unaccepted: Mapping[str, tuple[datetime | None, str]] | None = None,
    ) -> Run:
        """The run with a draft's answers, judged; all of them taken as accepted but those `unaccepted`."""
        before = unaccepted or {}
        accepted = {key: (entered.get(key), text) for key, text in typed.items() if key not in before}
        accepted |= {key: answer for key, answer in before.items() if answer[1]}
        half = frozenset(key for key in before if typed.get(key, "").strip())
        run = replace(self, typed=typed, entered=entered, earlier=earlier, accepted=accepted, half=half)
        # twice: which rows a station asks depends on the sheet, and all answers come at once here
        return run.judged().judged()

    def judged(self) -> Run:
        """The run with sheet and findings made anew from what is typed."""
        if self.view is None:
            return self
        from preflight.checks.route import assess
        from preflight.tui.unfinished import beyond_instruments, sheet_from

        raw: dict[str, Any] = dict(self.base)
        unread: dict[str, str] = {}
        whole = {key: text for key, text in self.typed.items() if key not in self.half}
        for station in self.stations:
            rows = station.rows(self)
            written, bad = answers(rows, whole)
            unread.update(bad)
            unread.update({row.key: row.doubt for row in rows if row.doubt and whole.get(row.key, "").strip()})
            unread.update({row.key: half_typed(row, self) for row in rows if row.key in self.half})
            for path, value in written:
                place(raw, path, value)
        for key, text in whole.items():
            parts = key.split(":", 2)
            if parts[0] == "action" and len(parts) > 2 and text:
                place(raw, ("actions", *parts[1:]), text)
        sheet, unfinished = sheet_from(raw)
        unread.update({row.key: text for path, text in unfinished for row in self._writers(path)})
        assessment = assess(sheet, self.view, self.history)
        results = {result.check: result for result in assessment.checks}
        judged = replace(self, raw=raw, sheet=sheet, results=results, unread=unread)
        return judged.asking(beyond_instruments(raw))

    def asking(self, impossible: list[tuple[Path, str]]) -> Run:
        """The run that asks for these readings again, but for those that a finding asks about already."""
        sentences = {row.key: text for path, text in impossible for row in self._writers(path)}
        if not sentences:
            return self
        for station in self.stations:
            questions = [finding for finding in self.findings(station.id) if finding.verdict is Verdict.OPEN]
            for row in station.rows(self):
                if any(row.answers_for(question.subject) for question in questions):
                    sentences.pop(row.key, None)
        return replace(self, unread={**self.unread, **sentences})

    def _writers(self, path: Path) -> list[Row]:
        """The first answered row that writes at or below a path of the sheet."""
        rows = (row for station in self.stations for row in station.rows(self) if self.typed.get(row.key, "").strip())
        found = (row for row in rows if any(at[: len(path)] == path for at in row.places))
        return list(islice(found, 1))


def half_typed(row: Row, run: Run) -> str:
    """Why an answer that was typed before the app ended does not count."""
    before = run.accepted_text(row.key)
    back = f" Esc: back to {row.as_read(before)}." if before else ""
    if row.choices:
        return f"Chosen when the app ended, and not accepted. Enter accepts it, Space changes it.{back}"
    return f"Half typed when the app ended: {run.typed[row.key].strip()} counts for nothing. Type it anew.{back}"


def action_key(station_id: str, finding: Finding) -> str:
    """Key of the typed answer that holds the action chosen for a caution."""
    return f"action:{station_id}:{finding.subject}"
