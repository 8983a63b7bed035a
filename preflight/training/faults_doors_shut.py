"""Faults from the locked-off looks to the air: condition, tension, extraction. Common practice, no source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.quantities import Kind, show
from preflight.training.drill import Expected
from preflight.training.fault import Fault, Planting
from preflight.training.faults_bench import any_head, on_sheet
from preflight.training.setup import Change

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

    from preflight.shop.limits import Limit
    from preflight.shop.machine import Head
    from preflight.training.setup import Setup

OPEN, CAUTION, STOP = Verdict.OPEN, Verdict.CAUTION, Verdict.STOP


def _look(item: str, words: tuple[str, ...], verdict: Verdict) -> Callable[[Setup, Random], Planting | None]:
    """A word for one look; `item` is "drum" or "platen cover" on any head that has one, or a look of the machine."""

    def plant(setup: Setup, random: Random) -> Planting | None:
        looks = [key for key in setup.sheet["condition"]["looks"] if key.startswith(item)]
        if not looks:
            return None
        key, word = random.choice(looks), random.choice(words)
        change = Change("sheet", f"condition.looks.{key}", word or None)
        return Planting((change,), (Expected("condition", key, verdict),))

    return plant


def _run_out(setup: Setup, random: Random) -> Planting | None:
    drums = [head for head in setup.machine.heads if f"drum {head.id}" in setup.sheet["condition"]["looks"]]
    if not drums:
        return None
    key = f"drum {random.choice(drums).id} run-out"
    text = show(random.uniform(0.12e-3, 0.2e-3), Kind.LENGTH, setup.machine.units)
    return Planting((Change("sheet", f"condition.looks.{key}", text),), (Expected("condition", key, STOP),))


def _band(setup: Setup, head: Head) -> Limit | None:
    band = head.tension.get(setup.cards[head.id]["backing"])
    return band if band is not None and band.floor is not None and band.ceiling is not None else None


def _gauge(low: float, high: float, verdict: Verdict) -> Callable[[Setup, Random], Planting | None]:
    """A gauge at that share of its band: 0 is its lower, 1 its upper end."""

    def plant(setup: Setup, random: Random) -> Planting | None:
        _, head = any_head(setup, random)
        band = _band(setup, head)
        if band is None or band.floor is None or band.ceiling is None:
            return None
        share = random.uniform(low, high)
        text = show(band.floor + share * (band.ceiling - band.floor), Kind.PRESSURE, setup.machine.units, more=1)
        return Planting(
            (Change("sheet", f"tension.{head.id}", text),), (Expected("tension", f"head {head.id}", verdict),)
        )

    return plant


def _unread_gauge(setup: Setup, random: Random) -> Planting:
    _, head = any_head(setup, random)
    return Planting((Change("sheet", f"tension.{head.id}", None),), (Expected("tension", f"head {head.id}", OPEN),))


def _weak_supply(setup: Setup, random: Random) -> Planting | None:
    supply = setup.machine.air.supply
    if supply is None or supply.floor is None:
        return None
    text = show(supply.floor * random.uniform(0.75, 0.95), Kind.PRESSURE, setup.machine.units)
    return Planting((Change("sheet", "tension.supply", text),), (Expected("tension", "supply", STOP),))


def _leak(setup: Setup, random: Random) -> Planting | None:
    limit = setup.machine.air.leak_fall
    if limit is None or limit.ceiling is None:
        return None
    text = show(limit.ceiling * random.uniform(1.4, 2.5), Kind.PRESSURE, setup.machine.units, more=1)
    return Planting((Change("sheet", "tension.leak_fall", text),), (Expected("tension", "leak", STOP),))


def _no_spark_watch(setup: Setup, _random: Random) -> Planting | None:
    if setup.sheet["extraction"].get("spark_detection") != "healthy":
        return None
    change = Change("sheet", "extraction.spark_detection", "fault")
    return Planting((change,), (Expected("extraction", "spark detection", STOP),))


def _shut_gate(setup: Setup, _random: Random) -> Planting | None:
    """The brush gate of the large machine: its air goes to the others, so that nothing else changes its verdict."""
    if "three-brush" not in setup.sheet["extraction"]["open"]:
        return None
    readings = [one for one in setup.sheet["extraction"]["readings"] if one["gate"] != "three-brush"]
    opened = [gate for gate in setup.sheet["extraction"]["open"] if gate != "three-brush"]
    changes = (Change("sheet", "extraction.open", opened), Change("sheet", "extraction.readings", readings))
    return Planting(changes, (Expected("extraction", "gate three-brush", STOP),))


def _other_gate(setup: Setup, random: Random) -> Planting | None:
    """The saw's gate of the small system, which is made for one gate at a time."""
    if setup.sheet["extraction"]["open"] != ["annex-sander"]:
        return None
    reading = {"gate": "annex-sander", "hood_static": f"{random.uniform(1.9, 2.3):.2f} in wg"}
    changes = (
        Change("sheet", "extraction.open", ["annex-sander", "annex-saw"]),
        Change("sheet", "extraction.readings", [reading]),
    )
    starved = Expected("extraction", "gate annex-sander", STOP)
    return Planting(changes, (starved, Expected("extraction", "run saw-drop", CAUTION)))


def _slow_main(setup: Setup, _random: Random) -> Planting | None:
    """The two-head machine without its make-up gate: more air at its own gates, too little along the main."""
    if "make-up" not in setup.sheet["extraction"]["open"]:
        return None
    readings = [{"gate": "two-1", "velocity": "41.4 m/s"}, {"gate": "two-2", "velocity": "42.6 m/s"}]
    changes = (
        Change("sheet", "extraction.open", ["two-1", "two-2"]),
        Change("sheet", "extraction.readings", readings),
        Change("sheet", "extraction.filter_drop", "340 Pa"),
    )
    return Planting(changes, (Expected("extraction", "run main", CAUTION),))


def _full_bin(_setup: Setup, random: Random) -> Planting:
    share = random.choice((0.95, 0.96, 0.97, 0.98, 1.0))
    return Planting((Change("sheet", "extraction.bin_full", share),), (Expected("extraction", "bin", STOP),))


FAULTS = (
    Fault("drum-damaged", "condition", "condition", 1, "the drum is damaged", "have the drum mended first",
          "Every turn prints the damage on every board.", _look("drum", ("cut", "damaged"), STOP)),
    Fault("drum-worn", "condition", "condition", 2, "the drum is wearing", "check run-out and hardness this week",
          "It shows in the finish before it shows on the drum.", _look("drum", ("worn", "shiny"), CAUTION)),
    Fault("run-out", "condition", "measuring", 2, "the drum runs out of round", "have the drum ground",
          "It prints an even chatter that shows under the finish.", _run_out),
    Fault("cover-torn", "condition", "condition", 1, "the platen cover is torn", "change the graphite cloth",
          "Bare felt burns a line into every board.", _look("platen cover", ("torn", "folded"), STOP)),
    Fault("cover-worn", "condition", "condition", 2, "the platen cover is wearing", "change the cover soon",
          "Faint streaks come first.", _look("platen cover", ("worn", "streaked"), CAUTION)),
    Fault("conveyor-cracked", "condition", "condition", 1, "the conveyor belt is cracked", "have the conveyor mended",
          "It lets a board go.", _look("conveyor", ("cracked", "joint lifting"), STOP), safety=True),
    Fault("conveyor-slippery", "condition", "condition", 2, "the conveyor has lost its grip", "clean it, locked off",
          "Boards slip and are marked; dressing is the second step, lightly.",
          _look("conveyor", ("shiny", "not tacky", "flat"), CAUTION)),
    Fault("eye-blocked", "condition", "condition", 1, "the tracking eye is blocked", "clear the eye before it runs",
          "The belt is not steered and runs off.", _look("tracking eye", ("blocked",), STOP)),
    Fault("eye-dusty", "condition", "condition", 2, "the tracking eye is dusty", "wipe the eye, watch ten swings",
          "A dusty eye makes a belt wander, and knobs are turned for nothing.",
          _look("tracking eye", ("dusty",), CAUTION)),
    Fault("dust-heaps", "condition", "fire", 1, "dust lies in heaps inside", "clear it with brush and vacuum",
          "Heaps smoulder unseen.", _look("dust inside", ("heaps", "offcuts"), STOP), safety=True),
    Fault("look-forgotten", "condition", "record", 3, "one of the looks was left out", "do the look, locked off",
          "No note is not no fault.", _look("", ("",), OPEN)),
    Fault("tension-high", "tension", "tension", 2, "too much tension for this backing", "let it down, read it again",
          "Over-tension spoils the tracking long before anything tears.", _gauge(1.3, 2.4, STOP)),
    Fault("tension-low", "tension", "tension", 2, "too little tension for this backing", "turn it up, read it again",
          "The belt slips, burns and creases.", _gauge(-1.4, -0.3, STOP)),
    Fault("tension-near", "tension", "tension", 3, "tension close to the end of its band", "bring it to the middle",
          "It drifts out during the shift.", _gauge(0.93, 0.97, CAUTION)),
    Fault("gauge-unread", "tension", "record", 3, "a gauge was not read", "read that head's own gauge",
          "Yesterday's figure belongs to yesterday's belt.", _unread_gauge),
    Fault("weak-supply", "tension", "air supply", 2, "the air supply is too weak", "find who draws the air",
          "The gauge falls in the middle of a board.", _weak_supply),
    Fault("air-leak", "tension", "air supply", 2, "the tensioning air leaks", "find the leak before belts run",
          "Tension is lost when the supply stumbles.", _leak),
    Fault("fan-off", "extraction", "air", 1, "the extraction fan is off", "start extraction first",
          "Dust fills the machine in a minute, and it burns.",
          on_sheet("extraction", "fan", STOP, extraction__fan="off"), safety=True),
    Fault("spark-watch", "extraction", "fire", 1, "the spark detector shows a fault", "do not sand, call maintenance",
          "Nobody watches the duct.", _no_spark_watch, safety=True),
    Fault("no-air-reading", "extraction", "air", 3, "no air reading was taken", "take the reading at the hood",
          "Air by ear is no reading.", on_sheet("extraction", "reading", OPEN, extraction__readings=[]), safety=True),
    Fault("own-gate-shut", "extraction", "air", 2, "a gate of this machine is shut", "open it, read the air again",
          "That hood sucks nothing; its dust stays in the machine.", _shut_gate, safety=True),
    Fault("other-gate-open", "extraction", "air", 2, "a gate that nobody uses is open", "shut it, read the air again",
          "The air is shared: every open gate takes some from this machine.", _other_gate, safety=True),
    Fault("slow-main", "extraction", "air", 3, "too few gates: the main is slow", "open the make-up gate",
          "Dust settles in the main pipe, where nobody looks.", _slow_main, safety=True),
    Fault("bin-full", "extraction", "fire", 2, "the bin takes no more", "empty the bin first",
          "A full bin blinds the filter and the air is gone in the middle of the run.", _full_bin, safety=True),
)  # fmt: skip
