"""Emergency-stop stations in rotation, so that every one of them is proven within a week."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from preflight.checks.judge import missing
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.checks.finding import Finding
    from preflight.history import History
    from preflight.sheet import SetupSheet
    from preflight.shop.machine import Machine


def station_of_the_day(machine: Machine, day: date, history: History | None = None) -> str | None:
    """The stop station to try that day; None when the profile lists none.

    The one that has waited longest by the records; without records the next one each day, in walking order.
    """
    stops = machine.emergency_stops
    if not stops:
        return None
    turn = day.toordinal() % len(stops)
    tried = last_tried(history)
    return min((*stops[turn:], *stops[:turn]), key=lambda stop: tried.get(stop, date.min))


def last_tried(history: History | None) -> dict[str, date]:
    """Day on which each station was last tried, by the records."""
    found: dict[str, date] = {}
    for when, sheet in zip(history.times, history.sheets, strict=False) if history is not None else ():
        stop = sheet.get("running", {}).get("stop", {})
        for station in (stop.get("station"), *stop.get("also", ())):
            if station:
                found[str(station)] = when.date()
    return found


def overdue(sheet: SetupSheet, machine: Machine, history: History | None) -> tuple[str, ...]:
    """Stations that no record of the last seven days has tried; none until records go back that far."""
    week_ago = sheet.at.date() - timedelta(days=defaults.WEEK_DAYS)
    if history is None or not history.times or history.times[0].date() > week_ago:
        return ()
    tried = last_tried(history)
    return tuple(station for station in machine.emergency_stops if tried.get(station, date.min) <= week_ago)


def waiting(sheet: SetupSheet, machine: Machine, history: History | None) -> tuple[str, ...]:
    """Those of them that wait besides today's own."""
    own = station_of_the_day(machine, sheet.at.date(), history)
    return tuple(station for station in overdue(sheet, machine, history) if station != own)


def rotation(sheet: SetupSheet, machine: Machine, history: History | None) -> list[Finding]:
    """An open finding while a station's week is over and it is not tried today; today's too, when another was tried."""
    test = sheet.running.stop
    if test is None:  # today's own is asked for already
        late = list(waiting(sheet, machine, history))
    else:
        late = [one for one in overdue(sheet, machine, history) if one not in (test.station, *test.also)]
    if not late:
        return []
    return [
        missing(
            "stop rotation",
            f"Not proven for {defaults.WEEK_DAYS} days or more: the emergency stop at {', '.join(late)}.",
            "Try it too: the heads must stop. Each station is to be proven every week.",
            "running.stop.also",
            basis="emergency_stops",
            source=defaults.PRACTICE,
        )
    ]
