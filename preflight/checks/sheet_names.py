"""The heads, gates and places that a sheet names, held against the machine, its ducts and the job.

For sheets that come from files: a second entry for one head, or one for a head that is not there, would be judged by
nobody. The screens ask by the profile, so they name nothing else.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from preflight.checks.route import ROUTE
from preflight.shop import defaults
from preflight.shop.problems import FileProblemsError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from preflight.sheet import AirReading, ExtractionReadings, Fed, FedBoard, SetupSheet
    from preflight.shop.view import ShopView


def refuse_strange_names(file: Path, sheet: SetupSheet, shop: ShopView) -> None:
    """Raise `FileProblemsError` for a sheet that names what is not there, or one thing twice."""
    if problems := name_problems(sheet, shop):
        raise FileProblemsError(str(file), problems)


def name_problems(sheet: SetupSheet, shop: ShopView) -> list[Problem]:
    """Names of the sheet that stand for nothing, or that two entries claim, by key."""
    return [*_heads(sheet, shop), *_gates(sheet.extraction, shop), *_places(sheet, shop), *_stations(sheet, shop)]


def _heads(sheet: SetupSheet, shop: ShopView) -> Iterator[Problem]:
    heads = [head.id for head in shop.machine.heads]
    running, tension = sheet.running, sheet.tension
    yield from _twice("belts", "head", (belt.head for belt in sheet.belts))
    named = [(f"belts.{number}.head", belt.head) for number, belt in enumerate(sheet.belts, 1)]
    for key, table in (
        ("tension", tension.gauge),
        ("tension.running", tension.running),
        ("removal.share", sheet.removal.share or {}),
        ("running.stop.seconds", running.stop.seconds if running.stop else {}),
        ("running.tracking", running.tracking),
        ("running.idle_current", running.idle_current),
        ("running.swing", running.swing),
    ):
        named += [(f"{key}.{head}", head) for head in table]
    for key, head in named:
        if head not in heads:
            yield Problem(key, f"{shop.machine.name} has no head {head!r}; its heads: {', '.join(heads)}")


def _gates(air: ExtractionReadings, shop: ShopView) -> Iterator[Problem]:
    lists = {"open": air.open or (), "shut": air.shut or (), "in_use": air.in_use}
    for key, listed in lists.items():
        yield from _twice(f"extraction.{key}", "gate", listed)
    for gate in sorted(set(lists["open"]) & set(lists["shut"])):
        yield Problem("extraction.shut", f"gate {gate!r} is in open too")
    readings = [(reading.gate, _read_with(reading)) for reading in air.readings]
    for (gate, _), times in Counter(readings).items():
        if times > 1:
            yield Problem("extraction.readings", f"gate {gate!r} is given {times} times with one kind of reading")
    if shop.extraction is None:
        return
    gates = [gate.id for gate in shop.extraction.gates]
    named = [(f"extraction.{key}", gate) for key, listed in lists.items() for gate in listed]
    named += [(f"extraction.readings.{number}.gate", gate) for number, (gate, _) in enumerate(readings, 1)]
    for key, gate in named:
        if gate not in gates:
            yield Problem(key, f"{shop.extraction.name} has no gate {gate!r}; its gates: {', '.join(gates)}")


def _read_with(reading: AirReading) -> tuple[str, ...]:
    """What was read at a gate: two readings of different kinds may stand side by side."""
    return tuple(name for name in ("hood_static", "velocity_pressure", "velocity", "flow") if getattr(reading, name))


def _places(sheet: SetupSheet, shop: ShopView) -> Iterator[Problem]:
    marks = shop.machine.conveyor.places
    places = marks.count if marks else defaults.PLACES_UNMARKED
    job = shop.job(sheet)
    feeds: tuple[tuple[str, Sequence[FedBoard | Fed]], ...] = (("boards", sheet.feed.boards), ("fed", sheet.feed.fed))
    for name, boards in feeds:
        for number, board in enumerate(boards, 1):
            if board.place is not None and board.place >= places:
                message = f"there is no place {board.place}; they are 0 to {places - 1}"
                yield Problem(f"feed.{name}.{number}.place", message)
            if job is not None and board.part > len(job.parts):
                message = f"{job.name} has no part {board.part}; it has {len(job.parts)}"
                yield Problem(f"feed.{name}.{number}.part", message)


def _stations(sheet: SetupSheet, shop: ShopView) -> Iterator[Problem]:
    stations = [name for name, _ in ROUTE]
    named = [(f"repairs.{number}.check", repair.check) for number, repair in enumerate(sheet.repairs, 1)]
    named += [(f"actions.{check}", check) for check in sheet.actions]
    for key, check in named:
        if check not in stations:
            yield Problem(key, f"there is no station {check!r}; they are {', '.join(stations)}")

    due = [*(one.item for one in shop.machine.due), *(item for item, _ in defaults.ALWAYS_DUE)]
    for item in sheet.condition.done:
        if item not in due:
            yield Problem("condition.done", f"{shop.machine.name} has no due item {item!r}; they are {', '.join(due)}")
    stops = shop.machine.emergency_stops
    for stop in sheet.running.stop.also if sheet.running.stop else ():
        if stops and stop not in stops:
            yield Problem("running.stop.also", f"{shop.machine.name} has no stop {stop!r}; they are {', '.join(stops)}")


def _twice(key: str, what: str, names: Iterable[str]) -> Iterator[Problem]:
    for name, times in Counter(names).items():
        if times > 1:
            yield Problem(key, f"{what} {name!r} is given {times} times")
