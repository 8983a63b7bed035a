"""What is wrong between the fields of a profile or card, once each field by itself can be read.

A second pass over what parsed: `profiles check` shows it, and nothing is judged by a profile that contradicts
itself. Every problem is listed, not only the first.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from preflight.engine.removal import CapTable
from preflight.shop.cards import BeltCard
from preflight.shop.duct_network import network
from preflight.shop.head_names import folded, is_claimed
from preflight.shop.problems import FileProblemsError, Problem

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from preflight.shop.cards import JobCard
    from preflight.shop.extraction import Extraction
    from preflight.shop.files import Loaded
    from preflight.shop.machine import Head, Machine


def refuse_contradictions(profile: Loaded[Machine], ducts: Loaded[Extraction] | None) -> None:
    """Raise `FileProblemsError` for profiles that contradict themselves or each other: no verdict can rest on them."""
    found = [(profile.path, machine_problems(profile.value, ducts.value if ducts else None))]
    if ducts is not None:
        found.insert(0, (ducts.path, extraction_problems(ducts.value)))
    for path, problems in found:
        if problems:
            raise FileProblemsError(str(path), problems)


def machine_problems(machine: Machine, ducts: Extraction | None) -> list[Problem]:
    """Contradictions of a machine profile, and with the extraction profile it names."""
    return [
        *_given_twice("heads", "head", (head.id for head in machine.heads)),
        *_given_twice("due", "item", (due.item for due in machine.due)),
        *_given_twice("emergency_stops", "stop", machine.emergency_stops),
        *(problem for place, head in enumerate(machine.heads, 1) for problem in _head_problems(f"heads.{place}", head)),
        *_bed_problems(machine),
        *_gate_problems(machine, ducts),
    ]


def extraction_problems(ducts: Extraction) -> list[Problem]:
    """Contradictions of an extraction profile: the tree of runs, the fan's points, the filter."""
    found = [
        *_alike("runs", "run", (run.id for run in ducts.runs)),
        *_alike("gates", "gate", (gate.id for gate in ducts.gates)),
    ]
    try:
        network(ducts)
    except ValueError as error:
        found += [Problem("", sentence) for sentence in str(error).split("; ")]
    clean, change, at_flow = ducts.filter.clean_drop, ducts.filter.change_drop, ducts.filter.at_flow
    if (clean or change) and at_flow is None:
        found.append(Problem("filter.at_flow", "is missing: clean_drop and change_drop hold at a stated flow"))
    if clean and change and change.value <= clean.value:
        found.append(Problem("filter.change_drop", f"({change}) must be above clean_drop ({clean})"))
    return found


def belt_problems(card: BeltCard, stem: str) -> list[Problem]:
    """Contradictions of a belt card; `stem` is its file's name without the ending, which sheets use as its id."""
    if card.id == stem:
        return []
    return [Problem("id", f"is {card.id!r}, but the file is named {stem!r}; sheets find a belt by the file's name")]


def unknown_heads(card: JobCard | BeltCard, known: Collection[str]) -> list[Problem]:
    """Heads that a card names and no machine of the shop has; nothing where no machine is known."""
    if not known:
        return []
    named = [("head", card.head)] if isinstance(card, BeltCard) else [(f"grits.{head}", head) for head in card.grits]
    return [
        Problem(key, f"no machine here has a head {head!r}; their heads: {', '.join(sorted(known))}")
        for key, head in named
        if head is not None and head not in known
    ]


def _head_problems(key: str, head: Head) -> Iterator[Problem]:
    if is_claimed(head.id):
        yield Problem(f"{key}.id", f"{head.id!r} is taken, or too near to a word that is: call the head 1, 2, top")
    for backing, band in head.tension.items():
        if band.high is None:
            yield Problem(f"{key}.tension.{backing}", "has no upper end; `high` is required")
    coarsest, finest, paper = head.coarsest_grit, head.finest_grit, head.paper_from
    if coarsest and finest and finest.coarser_than(coarsest):
        yield Problem(f"{key}.finest_grit", f"({finest}) is coarser than coarsest_grit ({coarsest})")
    if head.has_steel_drum and paper:
        yield Problem(f"{key}.paper_from", "does not belong on a steel drum, which runs cloth only")
    if head.platen and not head.has_platen:
        yield Problem(f"{key}.platen", f"does not belong on a {head.kind}")
    if head.brake == "none" and head.run_down is None:
        yield Problem(f"{key}.run_down", "is missing: without a brake the time to still comes from the machine book")
    widest, drum = head.belt_width.high, head.drum_width
    if widest and drum and widest.value > drum.value:
        yield Problem(f"{key}.belt_width.high", f"({widest}) is wider than the drum ({drum})")


def _bed_problems(machine: Machine) -> Iterator[Problem]:
    bed = machine.conveyor
    if 2 * bed.edge_margin.value >= bed.working_width.value:
        yield Problem("conveyor.edge_margin", f"({bed.edge_margin}) leaves nothing of the width {bed.working_width}")
    if machine.removal_caps:
        try:
            CapTable({grit: cap.value for grit, cap in machine.removal_caps.items()})
        except ValueError as error:
            yield Problem("removal_caps", str(error))


def _gate_problems(machine: Machine, ducts: Extraction | None) -> Iterator[Problem]:
    if machine.sander_gates and machine.extraction is None:
        yield Problem("extraction", "is missing: sander_gates are gates of an extraction profile")
    if ducts is None:
        return
    known = [gate.id for gate in ducts.gates]
    for gate in machine.sander_gates:
        if gate not in known:
            message = f"is no gate of extraction profile {machine.extraction!r}; its gates: {', '.join(known)}"
            yield Problem(f"sander_gates.{gate}", message)


def _given_twice(key: str, what: str, names: Iterable[str]) -> Iterator[Problem]:
    counted = Counter(names)
    for name, times in counted.items():
        if times > 1:
            yield Problem(key, f"{what} {name!r} is given {times} times")
    yield from _alike(key, what, counted)


def _alike(key: str, what: str, names: Iterable[str]) -> Iterator[Problem]:
    """Names that somebody takes for each other."""
    known: dict[str, str] = {}
    for name in dict.fromkeys(names):
        if (other := known.setdefault(folded(name), name)) != name:
            yield Problem(key, f"{what} {name!r} differs from {other!r} in nothing but case")
