"""The looks of the condition station: what to look at, the words that answer it, and what each word asks for."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from preflight.quantities import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preflight.shop.machine import Head, Machine


@dataclass(frozen=True, slots=True)
class ItemKind:
    """One kind of part, with the words that judge it."""

    group: str
    """Key of one answer for all parts of the kind."""
    look: str
    """How to look at it."""
    good: tuple[str, ...]
    fair: Mapping[str, str]
    """Words of a caution, each with what it does to the work."""
    bad: Mapping[str, str]
    """Words of a stop, each with what it does."""
    care: str
    """What to do about a caution."""
    mend: str
    """What to do about a stop."""
    actions: tuple[str, ...]
    reads: tuple[Kind, ...] = field(default=())
    """Kinds of reading that may stand in place of a word."""


@dataclass(frozen=True, slots=True)
class Item:
    """One part of one machine."""

    key: str
    """Key in the sheet, "drum 1"."""
    kind: ItemKind
    head: Head | None = None

    @property
    def name(self) -> str:
        """At the start of a sentence."""
        return self.key[0].upper() + self.key[1:]


ITEM_KINDS: Final[Mapping[str, ItemKind]] = MappingProxyType(
    {
        "drum": ItemKind(
            group="drums",
            look="Locked off: turn it by hand under a lamp, feel from end to end for cuts, chunks and shiny patches.",
            good=("sound", "clean"),
            fair={
                "worn": "it shows in the finish before it shows on the drum",
                "shiny": "glazed rubber is harder than it was and cuts unevenly",
                "hollow": "boards come out thicker in the middle",
            },
            bad={
                "damaged": "every turn prints the damage on the board",
                "cut": "every turn prints the cut on the board",
                "loose": "loose rubber comes off under load",
            },
            care="Check run-out and hardness this week; look at the feed places if the middle is worn.",
            mend="Do not run it and do not fill it with glue: have the drum reground or changed.",
            actions=("run-out put on today's list", "strip kept off show faces", "lead told"),
            reads=(Kind.HARDNESS, Kind.LENGTH),
        ),
        "platen cover": ItemKind(
            group="platen covers",
            look="Locked off: is the graphite cloth even, without hole, fold or streak; does the felt or cork give?",
            good=("sound", "clean"),
            fair={
                "worn": "it soon leaves faint streaks",
                "streaked": "faint streaks show on every board",
            },
            bad={
                "damaged": "bare felt or a fold burns a line into every board",
                "torn": "bare felt burns a line into every board",
                "folded": "the fold prints a line on every board",
            },
            care="Change the graphite cloth soon: slippery side away from the felt, seam off the working line, smooth.",
            mend="Change the cover before running: slippery side away from the felt, seam off the working line.",
            actions=("cover put on order", "cover to be changed after this job", "lead told"),
            reads=(Kind.HOURS,),
        ),
        "conveyor": ItemKind(
            group="conveyors",
            look="Locked off: is the belt rough and tacky; is it shiny, flat or cracked; is its joint flat?",
            good=("sound", "clean"),
            fair={
                "worn": "it pulls badly",
                "shiny": "it pulls badly and boards slip",
                "flat": "it pulls badly and boards slip",
                "not tacky": "it pulls badly and boards slip",
                "dusty": "boards slip on dust",
            },
            bad={
                "damaged": "it may let a board go",
                "cracked": "a crack runs on and lets a board go",
                "joint lifting": "the joint catches and tears",
            },
            care=(
                "Light spray of water-based cleaner, let it dwell, wipe locked off. "
                "No grip yet: a competent person dresses it, 120 or finer, lightest touch, other heads raised."
            ),
            mend="Do not feed: have the conveyor belt repaired or changed. More hold-down pressure does not cure it.",
            actions=("cleaned, locked off", "dressing asked for", "grip tried with a board", "lead told"),
            reads=(Kind.LENGTH,),
        ),
        "tracking eye": ItemKind(
            group="tracking eyes",
            look="Locked off: wipe the eye or the nozzle of the air jet, and see that its gap is free.",
            good=("sound", "clean"),
            fair={
                "worn": "the belt may swing unevenly",
                "dusty": "a dusty eye makes a belt wander",
            },
            bad={
                "damaged": "the belt is not steered and runs off",
                "blocked": "the belt is not steered and runs off",
            },
            care="Wipe it, locked off, and watch ten swings before feeding.",
            mend="Clear it or have it mended before the belt runs.",
            actions=("wiped, locked off", "ten swings watched", "lead told"),
        ),
        "dust inside": ItemKind(
            group="insides",
            look="Locked off: look under the heads and behind the drums for heaps of dust and offcuts.",
            good=("clean", "sound"),
            fair={
                "worn": "dust has gathered",
                "some": "dust has gathered",
                "dusty": "dust has gathered",
            },
            bad={
                "damaged": "something inside is broken",
                "heaps": "heaps of dust smoulder unseen",
                "offcuts": "an offcut is thrown into the belt",
            },
            care="Brush and vacuum it out, locked off; do not blow it about with compressed air.",
            mend="Clear it out, locked off, with brush and vacuum, and look why it gathers there.",
            actions=("vacuumed out, locked off", "put on today's clean-out", "lead told"),
        ),
    }
)
"""Common practice, no source, throughout."""


def items_of(machine: Machine) -> list[Item]:
    """The looks that this machine needs, in walking order."""
    items: list[Item] = []
    for head in machine.heads:
        if head.kind != "platen":
            items.append(Item(f"drum {head.id}", ITEM_KINDS["drum"], head))
        if head.has_platen:
            items.append(Item(f"platen cover {head.id}", ITEM_KINDS["platen cover"], head))
    items += [Item(name, ITEM_KINDS[name]) for name in ("conveyor", "tracking eye", "dust inside")]
    return items
