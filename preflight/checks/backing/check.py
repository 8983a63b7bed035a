"""Station 4, backing: backing, joint and grit suit the head as it stands, platen down or lifted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from preflight.checks.backing.drum_order import hardness_order
from preflight.checks.backing.grit_sequence import sequence
from preflight.checks.backing.head_cap import platen_coarsest, platen_is_down
from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.engine.abrasives import steps_between
from preflight.quantities import Kind, show
from preflight.shop import defaults
from preflight.shop.fields import BACKINGS, CLOTH

if TYPE_CHECKING:
    from preflight.engine.abrasives import Grit
    from preflight.history import History
    from preflight.sheet import BeltOnHead, SetupSheet
    from preflight.shop.cards import BeltCard, JobCard
    from preflight.shop.machine import Head, Machine
    from preflight.shop.view import ShopView

HEAVY_ENOUGH: Final = ("cloth X", "cloth heavier")
"""Backings that stand the cut of a steel drum."""
ACTIONS = ("other belt put on", "test board looked at first", "lead told")


def check(sheet: SetupSheet, shop: ShopView, history: History | None) -> list[Finding]:
    """Findings of the backing station, head by head, then the grit sequence over the heads that cut."""
    job = shop.job(sheet)
    found: list[Finding] = []
    for index, head in enumerate(shop.machine.heads, start=1):
        on = sheet.belt_on(head.id)
        if head.has_platen and not (on and on.lifted):
            found += _platen_state(head, on)
        card = shop.belt(on)
        if on is None or card is None:
            what = f"Backing and grit on head {head.id} are not known yet."
            found.append(missing(f"head {head.id}", what, "Pick its belt card first.", f"belts.{head.id}.card"))
            continue
        found.append(_backing(index, head, card, shop.machine))
        found += _grit_limits(index, head, card, shop.machine)
        if platen_is_down(head, on):
            found += _under_platen(index, head, card, shop.machine)
        found.append(_joint(head, on, card))
        if not on.lifted:
            found += _as_ordered(head, card, job)
    found += sequence(sheet, shop)
    found += hardness_order(shop.machine)
    return found


def _platen_state(head: Head, on: BeltOnHead | None) -> list[Finding]:
    if on is not None and on.platen is not None:
        return []
    return [
        missing(
            f"head {head.id} platen",
            f"Whether the platen of head {head.id} is down or lifted is not said.",
            "Look at it and choose down or lifted.",
            f"belts.{head.id}.platen",
        )
    ]


def _finding(
    head: Head, card: BeltCard, verdict: Verdict, statement: str, remedy: str, basis: str, source: str
) -> Finding:
    return Finding(
        f"head {head.id} backing",
        verdict,
        statement,
        remedy,
        measured=card.backing,
        allowed=HEAVY_ENOUGH if head.has_steel_drum else CLOTH if head.paper_from is None else BACKINGS,
        basis=basis,
        source=source,
        actions=ACTIONS if verdict is Verdict.CAUTION else (),
    )


def _backing(index: int, head: Head, card: BeltCard, machine: Machine) -> Finding:
    where, field = f"Head {head.id}", f"heads.{index}.kind"
    book = machine.source
    if head.has_steel_drum:
        if card.backing == "paper":
            statement = f"{where} has a steel drum and carries paper ({card.grit}): paper creases and tears on steel."
            remedy = "Put on a cloth belt: a steel drum needs cloth at every grit."
            return _finding(head, card, Verdict.STOP, statement, remedy, field, defaults.PRACTICE)
        if card.backing not in HEAVY_ENOUGH:
            statement = f"{where} has a steel drum and carries light cloth: too weak for the cut of a steel drum."
            remedy = "Put on X cloth or heavier."
            return _finding(head, card, Verdict.STOP, statement, remedy, field, defaults.PRACTICE)
        statement = f"{where}: {card.backing} on a steel drum is right."
        return _finding(head, card, Verdict.OK, statement, "", field, defaults.PRACTICE)
    paper_field = f"heads.{index}.paper_from"
    if card.backing == "paper":
        if head.paper_from is None:
            statement = f"{where} carries paper, and its profile allows no paper on this head."
            return _finding(head, card, Verdict.STOP, statement, "Put on a cloth belt.", paper_field, book)
        if card.grit.coarser_than(head.paper_from):
            statement = f"{where} carries paper in {card.grit}; here paper is for {head.paper_from} and finer."
            remedy = (
                "Better cloth: woven cloth stands removal, flat paper gives the finish; "
                "several coarse paper belts go per cloth belt."
            )
            return _finding(head, card, Verdict.CAUTION, statement, remedy, paper_field, book)
        statement = f"{where}: paper in {card.grit} is right (from {head.paper_from})."
        return _finding(head, card, Verdict.OK, statement, "", paper_field, book)
    if card.backing == "cloth heavier" and card.grit.finer_than(defaults.HEAVY_CLOTH_FINEST):
        statement = f"{where} carries heavy cloth in {card.grit}; it is for {defaults.HEAVY_CLOTH_FINEST} and coarser."
        remedy = (
            "Better X or light cloth, or paper where the head takes it: heavy cloth does not lie flat at this grit."
        )
        return _finding(head, card, Verdict.CAUTION, statement, remedy, field, defaults.PRACTICE)
    statement = f"{where}: {card.backing} in {card.grit} is right."
    if head.paper_from is not None and not card.grit.coarser_than(head.paper_from):
        statement = f"{where}: {card.backing} in {card.grit} will do; paper would lie flatter at this grit."
    return _finding(head, card, Verdict.OK, statement, "", field, defaults.PRACTICE)


def _grit_limits(index: int, head: Head, card: BeltCard, machine: Machine) -> list[Finding]:
    """The head's own coarsest and finest grit, where the profile names them."""
    book = machine.source
    found = []
    for field, limit, wrong, word in (
        ("coarsest_grit", head.coarsest_grit, "coarser", "coarsest"),
        ("finest_grit", head.finest_grit, "finer", "finest"),
    ):
        if limit is None:
            continue
        out = card.grit.coarser_than(limit) if wrong == "coarser" else card.grit.finer_than(limit)
        found.append(
            Finding(
                f"head {head.id} {word} grit",
                Verdict.STOP if out else Verdict.OK,
                f"Head {head.id} carries {card.grit}, {beyond(card.grit, limit)} than {limit}, its {word}."
                if out
                else f"Head {head.id}: {card.grit} is no {wrong} than {limit}.",
                f"Put on {limit} or {'finer' if wrong == 'coarser' else 'coarser'}." if out else "",
                measured=str(card.grit),
                allowed=(str(limit),),
                basis=f"heads.{index}.{field}",
                source=book,
            )
        )
    return found


def beyond(grit: Grit, limit: Grit) -> str:
    """How far a grit lies beyond another: "1 grade coarser", or by grain size when the scales differ."""
    word = "coarser" if grit.coarser_than(limit) else "finer"
    if grit.scale == limit.scale:
        steps = abs(steps_between(grit, limit))
        return f"{steps} grade{'s' if steps != 1 else ''} {word}"
    sizes = [show(size, Kind.LENGTH, unit="µm") for size in (grit.grain_size, limit.grain_size)]
    return f"{word} ({sizes[0]} grains against {sizes[1]})"


def _under_platen(index: int, head: Head, card: BeltCard, machine: Machine) -> list[Finding]:
    """Rules that hold only while the platen is down: fine grits, light backing; it finishes, it does not remove."""
    coarsest, source = platen_coarsest(machine, head)
    coarse = card.grit.coarser_than(coarsest)
    found = [
        Finding(
            f"head {head.id} platen grit",
            Verdict.STOP if coarse else Verdict.OK,
            f"Platen of head {head.id} is down on {card.grit}, {beyond(card.grit, coarsest)} than {coarsest}: "
            "nothing is gained."
            if coarse
            else f"Platen of head {head.id} is down on {card.grit}: fine enough ({coarsest} or finer).",
            f"Lift the platen and finish on the drum, or put on {coarsest} or finer: its longer scratches and softer, "
            "wider contact are for finishing, it does not remove."
            if coarse
            else "",
            measured=str(card.grit),
            allowed=(f"{coarsest} or finer",),
            basis=f"heads.{index}.platen.coarsest_grit",
            source=source,
        )
    ]
    if card.backing in ("cloth X", "cloth heavier"):
        found.append(
            Finding(
                f"head {head.id} platen backing",
                Verdict.CAUTION,
                f"Platen of head {head.id} is down on {card.backing}: a stiff back prints its weave into the finish.",
                "Better paper or light cloth under a platen, or lift the platen.",
                measured=card.backing,
                allowed=("paper", "cloth light"),
                basis=f"heads.{index}.platen",
                source=defaults.PRACTICE,
                actions=ACTIONS,
            )
        )
    return found


def _joint(head: Head, on: BeltOnHead, card: BeltCard) -> Finding:
    subject, basis = f"head {head.id} joint", f"belt card {card.id}.joint"
    if card.joint is None:
        what = f"Joint of belt {card.id} on head {head.id} is not on its card."
        remedy = "Look at the joint: lap, skived lap or butt with tape."
        return missing(subject, what, remedy, f"belts.{head.id}.card", basis=basis)
    hardness = head.hardness_shore_a
    soft = not head.has_steel_drum and hardness is not None and hardness < defaults.SOFT_RUBBER
    general = not head.has_steel_drum and hardness is not None and hardness < defaults.HARD_RUBBER
    down = platen_is_down(head, on)
    fine = card.grit.finer_than(defaults.LAP_FINEST)
    reason = ""
    if card.joint == "lap" and (down or fine or (general and not card.grit.coarser_than(defaults.LAP_FINEST))):
        reason = "under a platen" if down else f"at {card.grit}" if fine else "on rubber this soft"
        better = "a skived lap or a butt with thin tape"
    elif card.joint == "skived lap" and soft and not down:
        reason, better = f"on soft rubber ({hardness:g} Shore A)", "a butt with thin tape"
    if not reason:
        statement = f"Head {head.id}: joint {card.joint} suits head and grit."
        return Finding(subject, Verdict.OK, statement, measured=card.joint, basis=basis, source=defaults.PRACTICE)
    return Finding(
        subject,
        Verdict.CAUTION,
        f"Head {head.id}: joint {card.joint} {reason} leaves a mark at every turn of the belt.",
        f"Better {better}; look for evenly spaced lines on the test board.",
        measured=card.joint,
        basis=basis,
        source=defaults.PRACTICE,
        actions=ACTIONS,
    )


def _as_ordered(head: Head, card: BeltCard, job: JobCard | None) -> list[Finding]:
    """The job card's grit for this head against the belt's; P and ANSI are two scales."""
    wanted = job.grits.get(head.id) if job is not None else None
    if wanted is None:
        return []
    subject, basis = f"head {head.id} ordered grit", f"job.grits.{head.id}"
    if wanted == card.grit:
        statement = f"Head {head.id} carries {card.grit}, as the job card asks."
        verdict, remedy = Verdict.OK, ""
    elif wanted.scale != card.grit.scale and _near(wanted, card.grit):
        verdict = Verdict.CAUTION
        size = show(card.grit.grain_size, Kind.LENGTH, unit="µm")
        ordered = show(wanted.grain_size, Kind.LENGTH, unit="µm")
        statement = (
            f"Head {head.id} carries {card.grit}, the job card asks {wanted}: "
            f"two scales, {size} grains against {ordered}."
        )
        remedy = "Near, but not the same grit: use the scale of the job card, or have the lead accept it."
    else:
        verdict = Verdict.STOP
        same = "; P and ANSI are two scales" if wanted.scale != card.grit.scale else ""
        statement = (
            f"Head {head.id} carries {card.grit}, {beyond(card.grit, wanted)} than the {wanted} of the job card{same}."
        )
        remedy = f"Put on {wanted}, or have the lead change the job card."
    return [
        Finding(
            subject,
            verdict,
            statement,
            remedy,
            measured=str(card.grit),
            allowed=(str(wanted),),
            basis=basis,
            source="job card",
            actions=ACTIONS if verdict is Verdict.CAUTION else (),
        )
    ]


def _near(one: Grit, other: Grit) -> bool:
    coarse, fine = max(one, other), min(one, other)
    return coarse.grain_size / fine.grain_size < defaults.GRIT_STEP_LEAST
