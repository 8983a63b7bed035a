"""Stops that nobody may override: after one, only a repair entry and a new good reading of the same thing clear it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from preflight.checks.finding import Finding, Verdict
from preflight.history import OpenStop
from preflight.quantities import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preflight.history import History
    from preflight.sheet import SetupSheet

NEED_REPAIR: Final = ("running",)
"""Stations whose no-override stops need an entry: brakes, stops, interlocks, restart, limit bar. A missing
extraction reading clears by a reading, metal by a new scan, an overdue safety item by being done."""

MISTYPED: Final = "mistyped"
"""Entered for what was done where nothing was: the reading was only typed wrongly."""

CLEARED: Final = "repair "
"""Before the subject of a stop, the subject of the finding that clears it."""


def still_stopped(check: str, sheet: SetupSheet | None, history: History | None) -> list[OpenStop]:
    """Stops of a station that earlier records left behind, then those read earlier in this start-up."""
    found = [stop for stop in (history.open_stops if history is not None else ()) if stop.check == check]
    if sheet is None or check != "running":
        return found
    for failed in sheet.running.failed:
        # also after an earlier repair: that one has not held
        found = [stop for stop in found if stop.subject != failed.subject]
        found.append(OpenStop(check, failed.subject, f"read as {failed.reading}", sheet.at, reading=failed.reading))
    return found


def clearing(check: str, sheet: SetupSheet, history: History | None, today: Iterable[Finding]) -> list[Finding]:
    """One finding for each stop left behind: cleared by its repair entry and today's reading, else still a stop."""
    judged = {finding.subject: finding for finding in today}
    return [
        _cleared(stop, *_entry(stop, sheet), judged.get(stop.subject)) for stop in still_stopped(check, sheet, history)
    ]


def _entry(stop: OpenStop, sheet: SetupSheet) -> tuple[str, str]:
    """What was done and by whom, by today's sheet, else by a repair record since the stop; both empty without one."""
    entry = next((r for r in sheet.repairs if r.check == stop.check and r.subject == stop.subject), None)
    return (entry.what, entry.who) if entry is not None else (stop.done, stop.by)


def _cleared(stop: OpenStop, done: str, by: str, now: Finding | None) -> Finding:
    proven = now is not None and now.verdict <= Verdict.CAUTION
    since = f"{stop.since:%Y-%m-%d}"
    reading = now.measured if now is not None else None
    shown = reading.text if isinstance(reading, Quantity) else reading
    name = stop.subject[:1].upper() + stop.subject[1:]
    slip = done.casefold().startswith(MISTYPED)
    if not done:
        statement = f"{name} stopped the machine on {since}, and no repair is entered."
        if stop.reading:
            statement = f"{name} was {stop.reading} earlier in this run: repaired or mistyped, nobody has said."
        remedy = (
            "Have it repaired and tagged free; enter what was done and by whom, and measure it again. "
            "Only mistyped? Enter that."
        )
    elif not proven:
        entry = "typing slip" if slip else "repair"
        statement = f"{name}: the {entry} by {by} is entered, but a good new reading is missing."
        remedy = "Measure it again now. Not good: tag the machine out and call maintenance."
    elif slip:
        was = stop.reading or f"what stopped it on {since}"
        statement, remedy = f"{name}: {was} was a typing slip, by {by}; {shown} read again.", ""
    else:
        when = f"{stop.reading} earlier in this run" if stop.reading else f"stopped on {since}"
        statement, remedy = f"{name}, {when}: repaired by {by}, now {shown}.", ""
    return Finding(
        f"{CLEARED}{stop.subject}",
        Verdict.OK if done and proven else Verdict.STOP,
        statement,
        remedy,
        measured=reading,
        basis="repairs",
        source="earlier value of this run" if stop.reading else "record of " + since,
        workings=f"then: {stop.statement}" + (f" Done: {done}" if done else ""),
        takes_override=False,
    )
