"""The run: what has been typed so far, the sheet it makes, and the verdicts, as one value after each key.

No Textual here; the run screen owns one `Run` and replaces it. Station modules give the rows, `assess` the
findings.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from preflight.checks.finding import CheckResult, Finding, Verdict, worst
from preflight.tui.rows import Row, answers, place

if TYPE_CHECKING:
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.view import ShopView


@dataclass(frozen=True, slots=True)
class Station:
    """One view of the start-up run."""

    id: str
    """Also the check's name: "stock", "test_board"."""
    title: str
    """At most 16 characters."""
    purpose: str
    """One line under the title: what this station settles, at most 58 characters."""
    rows: Callable[[Run], Sequence[Row]]
    caution: tuple[str, str] | None = None
    """Signal word and one sentence, shown on a row of its own."""


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
    sheet: SetupSheet | None = None
    results: Mapping[str, CheckResult] = field(default_factory=dict)
    unread: Mapping[str, str] = field(default_factory=dict)
    """Row key to message, for answers that cannot be read."""

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

    def verdict(self, station_id: str) -> Verdict:
        """A station's verdict; an answer that cannot be read keeps it at least open."""
        found = worst(finding.verdict for finding in self.findings(station_id))
        if any(row.key in self.unread for row in self.rows(station_id)):
            found = max(found, Verdict.OPEN)
        return found

    def typing(self, key: str, text: str) -> Run:
        """The run after the answer `key` became `text`, judged."""
        return replace(self, typed={**self.typed, key: text}).judged()

    def judged(self) -> Run:
        """The run with sheet and findings made anew from what is typed."""
        if self.view is None:
            return self
        from preflight.checks.route import assess
        from preflight.sheet import SetupSheet

        raw: dict[str, Any] = dict(self.base)
        unread: dict[str, str] = {}
        for station in self.stations:
            written, bad = answers(station.rows(self), self.typed)
            unread.update(bad)
            for path, value in written:
                place(raw, path, value)
        sheet = SetupSheet.model_validate(raw)
        assessment = assess(sheet, self.view, self.history)
        results = {result.check: result for result in assessment.checks}
        return replace(self, sheet=sheet, results=results, unread=unread)
