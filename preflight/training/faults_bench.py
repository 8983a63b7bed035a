"""Faults at the bench: stock, glue, belts, and backing and grit. Common practice, no source, throughout."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Verdict
from preflight.quantities import Kind, show
from preflight.training.drill import Expected
from preflight.training.fault import Fault, Planting
from preflight.training.setup import Change

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

    from preflight.shop.machine import Head
    from preflight.training.setup import Setup

OPEN, CAUTION, STOP = Verdict.OPEN, Verdict.CAUTION, Verdict.STOP


def on_sheet(check: str, subject: str, verdict: Verdict, **values: object) -> Callable[[Setup, Random], Planting]:
    """A fault that is the same on every machine: sheet keys (a double underscore for each dot) and one finding."""
    changes = tuple(Change("sheet", key.replace("__", "."), value) for key, value in values.items())
    return lambda _setup, _random: Planting(changes, (Expected(check, subject, verdict),))


def any_head(setup: Setup, random: Random) -> tuple[int, Head]:
    """One head, with its place counted from 1."""
    at = random.randrange(len(setup.machine.heads))
    return at + 1, setup.machine.heads[at]


def length(setup: Setup, metres: float) -> str:
    """A length as this machine's people read it."""
    return show(metres, Kind.LENGTH, setup.machine.units)


def _metal(_setup: Setup, random: Random) -> Planting:
    count = random.randint(1, 4)
    return Planting((Change("sheet", "stock.metal_found", count),), (Expected("stock", "metal", STOP),))


def _one_piece(setup: Setup, _random: Random) -> Planting:
    one = setup.sheet["stock"]["thickness"][0]
    return Planting((Change("sheet", "stock.thickness", [one]),), (Expected("stock", "thickness", OPEN),))


def _short(setup: Setup, random: Random) -> Planting | None:
    least = setup.machine.conveyor.part_length
    if least is None or least.floor is None:
        return None
    text = length(setup, least.floor * random.uniform(0.55, 0.9))
    return Planting((Change("sheet", "stock.shortest", text),), (Expected("stock", "length", STOP),))


def _smear(setup: Setup, _random: Random) -> Planting:
    verdict = STOP if setup.machine.glue.smear == "stop" else CAUTION
    changes = (Change("sheet", "glue.state", "smeared"), Change("sheet", "glue.by", None))
    return Planting(changes, (Expected("glue", "glue", verdict),))


def _young(_setup: Setup, random: Random) -> Planting:
    hours = random.randint(3, 20)
    return Planting((Change("sheet", "glue.hours_since_clamps", hours),), (Expected("glue", "glue age", CAUTION),))


def _unnamed(setup: Setup, _random: Random) -> Planting:
    changes = (Change("sheet", "glue.state", "scraped"), Change("sheet", "glue.by", ""))
    return Planting(changes, (Expected("glue", "glue", OPEN),))


def _cone(setup: Setup, random: Random) -> Planting | None:
    _, head = any_head(setup, random)
    low, high = head.belt_length.floor, head.belt_length.ceiling
    if low is None or high is None or head.belt_cone is None or head.belt_cone.ceiling is None:
        return None
    middle, half = (low + high) / 2, head.belt_cone.ceiling * random.uniform(0.75, 1.1)
    ends = [middle - half, middle + half]
    random.shuffle(ends)
    changes = (
        Change(f"card {head.id}", "length_left", length(setup, ends[0])),
        Change(f"card {head.id}", "length_right", length(setup, ends[1])),
    )
    return Planting(changes, (Expected("belts", f"head {head.id} cone", STOP),))


def _long(setup: Setup, random: Random) -> Planting | None:
    _, head = any_head(setup, random)
    high, low = head.belt_length.ceiling, head.belt_length.floor
    if high is None or low is None:
        return None
    beyond = (high - low) * random.uniform(0.3, 0.8)
    size = high + beyond if random.random() < 0.6 else low - beyond
    sides = ("left", "right")
    changes = tuple(Change(f"card {head.id}", f"length_{side}", length(setup, size)) for side in sides)
    return Planting(changes, tuple(Expected("belts", f"head {head.id} length {side}", STOP) for side in sides))


def _wide(setup: Setup, random: Random) -> Planting | None:
    _, head = any_head(setup, random)
    high, low = head.belt_width.ceiling, head.belt_width.floor
    if high is None or low is None:
        return None
    width = high + (high - low) * random.uniform(0.1, 0.2)
    found = [Expected("belts", f"head {head.id} width", STOP)]
    if head.drum_width is not None and head.oscillation_stroke is not None:
        room = head.drum_width.value - head.oscillation_stroke.value
        if width > room:
            found.append(Expected("belts", f"head {head.id} swing", CAUTION))
    return Planting((Change(f"card {head.id}", "width", length(setup, width)),), tuple(found))


def _against(setup: Setup, random: Random) -> Planting | None:
    at, head = any_head(setup, random)
    if setup.cards[head.id].get("joint") not in ("lap", "skived lap"):
        return None
    changes = (Change("sheet", f"belts.{at}.arrow", "against"),)
    return Planting(changes, (Expected("belts", f"head {head.id} arrow", STOP),))


def _unlooked(setup: Setup, random: Random) -> Planting:
    at, head = any_head(setup, random)
    looks = [look for look in ("edges", "joint", "arrow", "no glue line") if look != random.choice(("edges", "joint"))]
    if len(looks) == 4:
        looks.remove("joint")
    changes = (Change("sheet", f"belts.{at}.looked", looks),)
    return Planting(changes, (Expected("belts", f"head {head.id} looks", OPEN),))


def _paper_on_steel(setup: Setup, _random: Random) -> Planting | None:
    head = next((one for one in setup.machine.heads if one.has_steel_drum), None)
    if head is None:
        return None
    changes = (
        Change(f"card {head.id}", "backing", "paper"),
        Change(f"card {head.id}", "printed", "F-wt, 4417"),
        Change("sheet", f"tension.{head.id}", "3.4 bar"),
    )
    return Planting(changes, (Expected("backing", f"head {head.id} backing", STOP),))


def _coarse_paper(setup: Setup, _random: Random) -> Planting | None:
    for head in setup.machine.heads:
        grit = str(setup.cards[head.id]["grit"])
        if head.has_steel_drum or head.kind == "platen" or grit not in ("P60", "P80", "P100"):
            continue
        band = head.tension.get("paper")
        if band is None or band.floor is None or band.ceiling is None:
            continue
        middle = show((band.floor + band.ceiling) / 2, Kind.PRESSURE, setup.machine.units)
        changes = (
            Change(f"card {head.id}", "backing", "paper"),
            Change(f"card {head.id}", "printed", "F-wt, 4402"),
            Change("sheet", f"tension.{head.id}", middle),
        )
        return Planting(changes, (Expected("backing", f"head {head.id} backing", CAUTION),))
    return None


def _other_grit(setup: Setup, random: Random) -> Planting | None:
    _, head = any_head(setup, random)
    grit = str(setup.cards[head.id]["grit"])
    other = {"P80": "P100", "P100": "P120", "P120": "P100", "P150": "P180", "P180": "P220"}.get(grit)
    if other is None:
        return None
    changes = (Change("job", f"grits.{head.id}", other),)
    return Planting(changes, (Expected("backing", f"head {head.id} ordered grit", STOP),))


def _lap_on_fine(setup: Setup, random: Random) -> Planting | None:
    at, head = any_head(setup, random)
    if str(setup.cards[head.id]["grit"]) not in ("P150", "P180"):
        return None
    changes = (Change(f"card {head.id}", "joint", "lap"), Change("sheet", f"belts.{at}.arrow", "with"))
    return Planting(changes, (Expected("backing", f"head {head.id} joint", CAUTION),))


def _joint_unknown(setup: Setup, random: Random) -> Planting | None:
    at, head = any_head(setup, random)
    changes = (Change(f"card {head.id}", "joint", None), Change("sheet", f"belts.{at}.arrow", "with"))
    return Planting(changes, (Expected("backing", f"head {head.id} joint", OPEN),))


FAULTS = (
    Fault("metal", "stock", "metal", 1, "metal is still in the wood", "pull it out and scan the piece again",
          "One staple throws sparks that reach the filter in a second or two.", _metal, safety=True),
    Fault("not-scanned", "stock", "metal", 3, "nobody has scanned for metal", "run the wand over every face",
          "No count is not a count of nothing.",
          on_sheet("stock", "metal", OPEN, stock__metal_found=None), safety=True),
    Fault("one-piece", "stock", "measuring", 3, "only one piece is measured", "measure thickest and thinnest too",
          "The thickest piece sets the opening; one piece tells nothing of it.", _one_piece, touches=("removal",)),
    Fault("short-part", "stock", "part size", 2, "a piece is too short for the rollers",
          "carry it in a frame or leave it out", "What the rollers do not hold is thrown back at the infeed.", _short,
          safety=True),
    Fault("beads", "glue", "glue", 1, "glue beads are still standing", "send the lot back to be scraped",
          "Seconds with a scraper against a belt, its change and a stopped machine.",
          on_sheet("glue", "glue", STOP, glue__state="beads standing", glue__by=None)),
    Fault("smear", "glue", "glue", 2, "glue was wiped while it was wet", "scrape the smear, or spend an old belt",
          "A smear is wider than its bead and cannot be snapped off; it loads a strip of the belt.", _smear),
    Fault("young-glue", "glue", "glue", 2, "the clamps came off too lately", "let the lot wait its hours",
          "The joint is still swollen and sinks after sanding.", _young),
    Fault("soft-glue", "glue", "glue", 2, "the glue gives under the nail", "wait until the glue is hard",
          "Soft glue melts into the belt.", on_sheet("glue", "glue under the nail", CAUTION, glue__glue="rubbery")),
    Fault("unnamed-scraper", "glue", "record", 3, "nobody is named for the scraping", "ask who scraped, write it down",
          "A name is who looked; without one nobody did.", _unnamed),
    Fault("cone", "belts", "belt size", 2, "one belt edge is longer than the other", "take it off, it is conical",
          "A conical belt walks whatever the knob does.", _cone),
    Fault("belt-length", "belts", "belt size", 2, "the belt is outside the length window", "fetch a belt of that size",
          "At the end of the take-up the gauge shows air, not tension.", _long),
    Fault("belt-width", "belts", "belt size", 2, "the belt is too wide", "fetch a narrower belt",
          "Its edge rubs on the frame and frays.", _wide),
    Fault("against-arrow", "belts", "belt fitting", 1, "the belt runs against its arrow", "turn the belt round",
          "The lap is peeled open and the belt goes to pieces.", _against),
    Fault("belt-unlooked", "belts", "record", 3, "part of the belt was not looked at", "look at the belt itself",
          "A torn edge or a lifting joint is seen in ten seconds, before it is in the drum.", _unlooked),
    Fault("paper-on-steel", "backing", "backing", 1, "paper on a steel drum", "put on a cloth belt",
          "Paper creases and tears on steel.", _paper_on_steel, touches=("belts", "tension")),
    Fault("coarse-paper", "backing", "backing", 2, "coarse grit on paper", "better cloth at this grit",
          "Woven cloth stands the removal; several coarse paper belts go per cloth belt.", _coarse_paper,
          touches=("belts", "tension")),
    Fault("other-grit", "backing", "grit", 2, "another grit than the job card asks", "fit the grit of the job card",
          "The next head was planned for the scratches of the one ordered.", _other_grit),
    Fault("lap-on-fine", "backing", "joint", 2, "a plain lap joint at a fine grit", "better skived or butt with tape",
          "It prints a line at every turn of the belt.", _lap_on_fine, touches=("belts",)),
    Fault("joint-unknown", "backing", "record", 3, "the kind of joint is not on the card", "look at the joint, note it",
          "Whether it may turn either way hangs on it.", _joint_unknown, touches=("belts",)),
)  # fmt: skip
