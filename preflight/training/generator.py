"""Drills without end: faults of the library planted into varied sound set-ups, the same for the same seed."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

from preflight.quantities import Kind, show
from preflight.training.drill import STATIONS, Drill
from preflight.training.faults import FAULTS
from preflight.training.setup import SOUND, Change, moved_board, sound

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.training.drill import Planted
    from preflight.training.fault import Fault
    from preflight.training.setup import Setup

LEVELS = (1, 2, 3)
MOST_FAULTS = {1: 1, 2: 2, 3: 3}
STATIONS_ASKED = {1: 3, 2: 6, 3: len(STATIONS)}
NOTHING_WRONG = 0.15
"""Share of drills without any fault: somebody who always finds one has not looked."""

_MORNINGS = (
    "First shift; the stock came in last night.",
    "After the break; another hand set the machine up.",
    "The lead wants the first board in ten minutes.",
    "A quiet morning, nobody waiting.",
    "The belts went on yesterday afternoon.",
    "You take over from somebody who had to leave.",
)


def generated(seed: int, level: int = 2, lean: Mapping[str, float] | None = None) -> Drill:
    """The drill of a seed at a level of 1 to 3; ValueError for another level.

    lean: weight per kind of fault, 1 for kinds not named; what this person misses comes more often.
    """
    if level not in LEVELS:
        raise ValueError(f"a level is one of 1, 2, 3, not {level}")
    random = Random(f"{seed}/{level}")
    setup = varied(sound(random.choice(SOUND)), random)
    count = 0 if random.random() < NOTHING_WRONG else random.randint(1, MOST_FAULTS[level])
    faults: list[Fault] = []
    planted: list[Planted] = []
    while len(planted) < count:
        fault = _next_fault(random, level, faults, lean or {})
        faults.append(fault)
        planting = fault.plant(setup, random)
        if planting is not None:
            setup = setup.changed(planting.changes)
            planted.append(fault.planted(planting))
    order = {check: at for at, check in enumerate(STATIONS)}
    planted.sort(key=lambda one: order[one.check])
    job = setup.job["name"]
    return Drill(
        id=f"g{level}-{seed}",
        title=f"{setup.machine.name}: {job}",
        situation=f"{random.choice(_MORNINGS)} Job: {job}. Judge what was read before the first board.",
        scene=setup.scene(),
        planted=tuple(planted),
        why=" ".join(one.why for one in planted) or "Nothing was planted: to leave a sound machine alone is right too.",
        asked=_asked(random, level, {one.check for one in planted}),
    )


def _next_fault(random: Random, level: int, tried: list[Fault], lean: Mapping[str, float]) -> Fault:
    """A fault not tried yet that meets no earlier one at any station."""
    taken = {station for fault in tried for station in fault.stations}
    free = [fault for fault in FAULTS if fault.level <= level and not fault.stations & taken]
    return random.choices(free, [max(0.01, lean.get(fault.kind, 1.0)) for fault in free])[0]


def _asked(random: Random, level: int, faulty: set[str]) -> tuple[str, ...]:
    """The stations to judge in working order: those with faults among others."""
    others = [check for check in STATIONS if check not in faulty]
    random.shuffle(others)
    chosen = {*faulty, *others[: max(0, STATIONS_ASKED[level] - len(faulty))]}
    return tuple(check for check in STATIONS if check in chosen)


def varied(setup: Setup, random: Random) -> Setup:
    """Another day at the same machine: readings moved, each well inside its limits."""
    units, sheet = setup.machine.units, setup.sheet
    changes = [
        Change("sheet", "glue.hours_since_clamps", random.randint(26, 70)),
        Change("sheet", "extraction.bin_full", random.randint(10, 40) / 100),
    ]
    for head in setup.machine.heads:
        band, stop = head.tension.get(setup.cards[head.id]["backing"]), head.run_down
        if band is not None and band.floor is not None and band.ceiling is not None:
            value = band.floor + random.uniform(0.3, 0.7) * (band.ceiling - band.floor)
            changes.append(Change("sheet", f"tension.{head.id}", show(value, Kind.PRESSURE, units)))
        if stop is not None and stop.ceiling is not None:
            seconds = f"{stop.ceiling * random.uniform(0.55, 0.75):.1f} s"
            changes.append(Change("sheet", f"running.stop.seconds.{head.id}", seconds))
        if head.motor is not None and head.motor.idle_current is not None:
            amps = f"{head.motor.idle_current.value * random.uniform(0.96, 1.1):.1f} A"
            changes.append(Change("sheet", f"running.idle_current.{head.id}", amps))
    step = 5e-6 if units == "inch" else 10e-6
    for at, reading in enumerate(sheet["test_board"]["readings"], 1):
        other = moved_board(reading, random.randint(-1, 1) * step, units)
        changes.append(Change("sheet", f"test_board.readings.{at}", other))
    return setup.changed(changes)
