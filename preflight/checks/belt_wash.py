"""Washed belts: cloth only, dry only when two weighings hours apart agree, and taped again afterwards."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.quantities import Kind, show, show_beside
from preflight.shop import defaults

if TYPE_CHECKING:
    from preflight.shop.cards import BeltCard, Wash

ACTIONS = ("other belt put on", "belt kept for rough work", "lead told")


def washing(head: str, card: BeltCard) -> list[Finding]:
    """Findings of a belt's washes and fused glue; none for a belt that never saw water."""
    found: list[Finding] = []
    if card.heat_fused:
        found.append(
            Finding(
                f"head {head} fused glue",
                Verdict.CAUTION,
                f"Belt {card.id} carries black glue fused by heat: usually past saving.",
                "Put on another belt; washing seldom brings this one back.",
                measured="heat-fused",
                basis=f"belt card {card.id}.heat_fused",
                source=defaults.PRACTICE,
                actions=ACTIONS,
            )
        )
    if not card.washed:
        return found
    if card.backing == "paper":
        found.append(
            Finding(
                f"head {head} washed",
                Verdict.STOP,
                f"Belt {card.id} is paper and was washed: the backing has lost its strength and tears.",
                "Throw it away. Only cloth belts are washed.",
                measured="paper",
                allowed=("cloth light", "cloth X", "cloth heavier"),
                basis=f"belt card {card.id}.backing",
                source=defaults.PRACTICE,
            )
        )
        return found
    last = max(card.washed, key=lambda wash: wash.hung)
    found.append(_dryness(head, card, last))
    if card.measured is not None and card.measured < last.hung.date():
        found.append(
            missing(
                f"head {head} taped after washing",
                f"Belt {card.id} was last measured {card.measured}, before its wash of {last.hung.date()}.",
                "Tape both edges again: washing may make a belt conical.",
                f"belts.{head}.card",
                basis=f"belt card {card.id}.measured",
            )
        )
    if len(card.washed) > defaults.MOST_WASHES:
        found.append(
            Finding(
                f"head {head} washes",
                Verdict.CAUTION,
                f"Belt {card.id} was washed {len(card.washed)} times; {defaults.MOST_WASHES} is the usual end.",
                "Look at the joint tape and the bond of the grain, or put on another belt.",
                measured=str(len(card.washed)),
                basis=f"belt card {card.id}.washed",
                source=defaults.PRACTICE,
                actions=ACTIONS,
            )
        )
    return found


def _dryness(head: str, card: BeltCard, wash: Wash) -> Finding:
    """Dry when the last weighing agrees with one hours before it; the weight before washing proves nothing."""
    subject, asks = f"head {head} dryness", f"belts.{head}.card"
    field = f"belt card {card.id}.washed"
    weights = sorted((weight for weight in wash.weights if weight.at >= wash.hung), key=lambda weight: weight.at)
    apart = defaults.WEIGHINGS_APART.value
    pair = next(
        ((early, weights[-1]) for early in reversed(weights) if (weights[-1].at - early.at).total_seconds() >= apart),
        None,
    )
    if pair is None:
        hours = show(apart, Kind.HOURS)
        return missing(
            subject,
            f"Belt {card.id} was washed and is not proven dry: two weighings {hours} apart are wanted.",
            f"Leave it hanging; weigh it, wait {hours}, weigh it again, and put both on its card.",
            asks,
            basis=field,
            source=defaults.PRACTICE,
        )
    early, late = pair
    lost = abs(early.mass.value - late.mass.value)
    allowed = defaults.WEIGHINGS_AGREE * early.mass.value
    words = f"{early.mass} and {late.mass}"
    workings = f"|{early.mass} - {late.mass}| against {defaults.WEIGHINGS_AGREE:.1%} of the first"
    if lost <= allowed:
        return Finding(
            subject,
            Verdict.OK,
            f"Belt {card.id} is dry: its last weighings agree ({words}).",
            measured=late.mass,
            basis=field,
            source=defaults.PRACTICE,
            workings=workings,
        )
    over = show_beside(lost - allowed, 0.0, Kind.MASS, unit="g")
    return Finding(
        subject,
        Verdict.STOP,
        f"Belt {card.id} is still wet after its wash: weighings {words} differ by {over} too much.",
        "Hang it up again and weigh it in four hours; a wet belt stretches and its joint creeps.",
        measured=late.mass,
        basis=field,
        source=defaults.PRACTICE,
        workings=workings,
    )
