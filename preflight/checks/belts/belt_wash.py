"""Washed belts: cloth only, dry only when two weighings hours apart agree, and taped again afterwards."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.checks.finding import Finding, Verdict
from preflight.checks.judge import missing
from preflight.quantities import Kind, show, show_beside
from preflight.shop import defaults
from preflight.shop.fields import CLOTH

if TYPE_CHECKING:
    from preflight.quantities import Quantity
    from preflight.sheet import BeltOnHead
    from preflight.shop.cards import BeltCard, Wash

ACTIONS = ("other belt put on", "belt kept for rough work", "lead told")


def washing(head: str, card: BeltCard, on: BeltOnHead | None = None) -> list[Finding]:
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
                allowed=CLOTH,
                basis=f"belt card {card.id}.backing",
                source=defaults.PRACTICE,
            )
        )
        return found
    last = max(card.washed, key=lambda wash: wash.hung)
    found.append(_dryness(head, card, last, on))
    if card.measured is None or card.measured < last.hung.date():
        found.append(
            missing(
                f"head {head} taped after washing",
                f"Belt {card.id} was last measured {card.measured}, before its wash of {last.hung.date()}."
                if card.measured
                else f"Belt {card.id} was washed on {last.hung.date()}; its card does not say when it was measured.",
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


def is_dry(card: BeltCard) -> bool:
    """Whether the card itself proves the belt dry after its last wash."""
    return bool(card.washed) and _dryness("", card, max(card.washed, key=lambda wash: wash.hung), None).verdict is (
        Verdict.OK
    )


def _pair(wash: Wash, on: BeltOnHead | None) -> tuple[Quantity, Quantity] | None:
    """Two weighings far enough apart: those of the sheet, else the last of the card and one hours before it."""
    apart = defaults.WEIGHINGS_APART.value
    if on is not None and on.weighed is not None:
        own = on.weighed
        return (own.first, own.second) if own.hours_between.value >= apart and own.first.value > 0 else None
    weights = sorted((weight for weight in wash.weights if weight.at >= wash.hung), key=lambda weight: weight.at)
    early = next((w for w in reversed(weights) if (weights[-1].at - w.at).total_seconds() >= apart), None)
    return (early.mass, weights[-1].mass) if early is not None else None


def _dryness(head: str, card: BeltCard, wash: Wash, on: BeltOnHead | None) -> Finding:
    """Dry when the last weighing agrees with one hours before it; the weight before washing proves nothing."""
    subject, asks = f"head {head} dryness", f"belts.{head}.weighed"
    field = f"belt card {card.id}.washed"
    apart = defaults.WEIGHINGS_APART.value
    pair = _pair(wash, on)
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
    lost = abs(early.value - late.value)
    allowed = defaults.WEIGHINGS_AGREE * early.value
    words = f"{early} and {late}"
    workings = f"|{early} - {late}| against {defaults.WEIGHINGS_AGREE:.1%} of the first"
    if lost <= allowed:
        return Finding(
            subject,
            Verdict.OK,
            f"Belt {card.id} is dry: its last weighings agree ({words}).",
            measured=late,
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
        measured=late,
        basis=field,
        source=defaults.PRACTICE,
        workings=workings,
    )
