"""Whether a run can be signed, in one sentence for list, header and review, and what is read once more before it is.

Pure functions on a `Run`. No Textual here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.checks.running.repairs import CLEARED, MISTYPED
from preflight.quantities import Kind, QuantityError, parse
from preflight.tui.attention import row_of, undone_cautions

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preflight.tui.rows import Row
    from preflight.tui.run import Run, Station

READY = "ready to sign"
COARSEST, FINEST = 0.0002, 0.0000005
"""In m: scale intervals outside of which no caliper or gauge for thickness lies."""
SHORTEST_NAME = 2
"""Letters; fewer are nobody's name."""
NAMES = ("by", "who")
"""Keys of the sheet that hold somebody's name."""


def readiness(run: Run) -> str:
    """What keeps the run from being signed, or that nothing does, or what became of it."""
    if run.signed is not None:
        return f"released, record {run.signed.number}"
    missing = why_not_signed(run)
    return f"not ready: {missing}" if missing else READY


def why_not_signed(run: Run) -> str:
    """What stands between the run and a signature, in numbers; empty when nothing does."""
    verdicts = [run.verdict(station.id) for station in run.stations if run.blocks(station.id)]
    stopped, still_open = verdicts.count(Verdict.STOP), verdicts.count(Verdict.OPEN)
    undone = len(run.undone)
    parts = [f"{stopped} stopped"] if stopped else []
    parts += [f"{still_open} open"] if still_open else []
    parts += [f"{undone} caution{'s' if undone > 1 else ''} without action"] if undone else []
    return ", ".join(parts)


def by_name(run: Run) -> str:
    """The same by the names of the stations: "stopped: tension; open: running"."""
    parts = []
    for verdict, word in ((Verdict.STOP, "stopped"), (Verdict.OPEN, "open")):
        names = [one.title for one in run.stations if run.blocks(one.id) and run.verdict(one.id) is verdict]
        parts += [f"{word}: {', '.join(names)}"] if names else []
    undone = [one.title for one in run.stations if undone_cautions(run, one.id)]
    return "; ".join([*parts, *([f"no action chosen yet: {', '.join(undone)}"] if undone else [])])


def counted(run: Run) -> str:
    """How many stations stand how: "2 stop, 1 open, 3 caution, 5 ok"."""
    verdicts = [run.verdict(station.id) for station in run.stations]
    return ", ".join(f"{verdicts.count(one)} {one.word}" for one in sorted(Verdict, reverse=True) if one in verdicts)


def released_for(run: Run) -> str:
    """What signing does: a release for the job, or one that an override ends, which a lead signs."""
    until = min((permit.until for permit in run.used_permits), default=None)
    if until is None:
        return "released for this job"
    return f"released until {until.astimezone():%Y-%m-%d %H:%M} under override: a lead signs"


@dataclass(frozen=True, slots=True)
class Reminder:
    """Something that is read once more before it is signed."""

    statement: str
    station_id: str
    key: str
    """Row to go to."""
    grave: bool = True
    """Not only carried over: somebody changed or doubted it today."""


def mistyped(run: Run) -> list[Reminder]:
    """Stops that nobody may pass and that were said to be typing slips, by whom."""
    found = run.results.get("running")
    slips = {repair.subject for repair in run.sheet.repairs if is_slip(repair.what)} if run.sheet is not None else set()
    said = [
        one
        for one in (found.findings if found is not None else ())
        if one.subject.startswith(CLEARED) and one.subject.removeprefix(CLEARED) in slips
    ]
    rows = run.rows("running") if said else ()
    owners = [row_of(run, one, rows) for one in said]
    return [Reminder(one.statement, "running", row.key if row else "") for one, row in zip(said, owners, strict=True)]


def is_slip(done: str) -> bool:
    """Whether what was entered for a repair says that nothing was repaired: the reading was only mistyped."""
    return done.casefold().startswith(MISTYPED)


def reminders(run: Run) -> list[Reminder]:
    """All of them: what replaced a stop, what was called mistyped, what one would doubt, what was carried over."""
    slips = mistyped(run)
    return [*_replaced(run), *slips, *_doubted(run), *_carried(run)]


def _rows(run: Run) -> Iterator[tuple[Station, Row]]:
    for station in run.stations:
        for row in station.rows(run):
            yield station, row


def _replaced(run: Run) -> Iterator[Reminder]:
    """Values in whose place another one stands, and that would stop the run: old, new and when."""
    for station, row in _rows(run):
        for at, text in run.earlier.get(row.key, ()):
            now = run.typed.get(row.key, "").strip()
            if not now or text == now or not _stops(run, station, row, text):
                continue
            when = f" at {at.astimezone():%H:%M}" if at is not None else ""
            again = run.entered.get(row.key)
            since = f", {again.astimezone():%H:%M}" if again is not None else ""
            statement = f"{row.label}: {text}{when} was a stop; {now}{since} stands in its place."
            yield Reminder(statement, station.id, row.key)


def _stops(run: Run, station: Station, row: Row, text: str) -> bool:
    """Whether that answer stops the run, all others as they are now."""
    before = run.typing(row.key, text)
    return any(one.verdict is Verdict.STOP and row.answers_for(one.subject) for one in before.findings(station.id))


def _doubted(run: Run) -> Iterator[Reminder]:
    """Answers that can be read and that nobody believes."""
    for station, row in _rows(run):
        text = run.typed.get(row.key, "").strip()
        if text and row.asked and not row.choices and (doubt := _doubt(row, text)):
            yield Reminder(f"{row.label.strip()}: {text} {doubt}.", station.id, row.key)


def _doubt(row: Row, text: str) -> str:
    """A name of one letter, a caliper that reads whole millimetres; empty: nothing is odd."""
    asks = row.path[-1] if row.path else ""
    if asks in NAMES and sum(map(str.isalpha, text)) < SHORTEST_NAME:
        return "is hardly a name"
    steps = _length(text, row.unit) if asks == "resolution" else None
    return "is an odd scale for thickness" if steps is not None and not FINEST <= steps <= COARSEST else ""


def _length(text: str, unit: str | None) -> float | None:
    try:
        return parse(text, Kind.LENGTH, unit).value
    except QuantityError:
        return None


def _carried(run: Run) -> Iterator[Reminder]:
    """Facts that stand as before: nobody answered them today. One line a station."""
    for station in run.stations:
        rows = [row for row in station.rows(run) if row.fact and row.asked]
        kept = [row for row in rows if run.typed.get(row.key, "").strip() and row.key not in run.entered]
        if kept:
            answers = "; ".join(f"{row.label} {run.typed[row.key].strip()}" for row in kept)
            yield Reminder(f"as before: {answers}", station.id, kept[0].key, grave=False)
