"""What a test board says beyond its curve: snipe, repeatability, which adjuster to move, what gluing up adds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.engine.thickness import ThicknessFit

Side = Literal["left", "right"]
Moves = Literal["bed", "head"]


@dataclass(frozen=True, slots=True)
class Correction:
    """One move of one side's adjuster."""

    amount: float
    """m, not negative"""
    side: Side
    """the thick side, seen as the readings were taken"""
    moves: Moves
    direction: Literal["raise", "lower"]


@dataclass(frozen=True, slots=True)
class Repeat:
    """A second pass at the same setting."""

    mean: float
    """further removal, m: spring of heads, bed and rollers"""
    largest: float
    """m"""


def adjuster_correction(taper: float, span: float, adjuster_spacing: float, moves: Moves) -> Correction:
    """Move the thick side by |taper| · spacing / span: the bed up or the head down.

    Taper (right minus left, m) over `span` between the readings; span and adjuster spacing in m, above zero.
    Before moving anything, swap the strips left for right: an error that moves with the strip was in the wood.

    >>> fix = adjuster_correction(0.18e-3, 0.9, 1.1, "bed")
    >>> round(fix.amount * 1000, 2), fix.side, fix.direction
    (0.22, 'right', 'raise')
    """
    if not (span > 0 and adjuster_spacing > 0):
        raise ValueError("the span of the readings and the adjuster spacing must be above zero")
    return Correction(
        amount=abs(taper) * adjuster_spacing / span,
        side="right" if taper > 0 else "left",
        moves=moves,
        direction="raise" if moves == "bed" else "lower",
    )


def snipe(lead: float, middle: float, trail: float) -> tuple[float, float]:
    """Lead and trail end minus the middle of one strip, m; negative: a dip at that end.

    >>> [round(end * 1e6) for end in snipe(0.01998, 0.02, 0.0199)]
    [-20, -100]
    """
    return lead - middle, trail - middle


def repeatability(first: Sequence[float], second: Sequence[float]) -> Repeat:
    """Further removal of a second pass at the same setting, place by place; thicknesses in m.

    Raises ValueError for no readings or unequal counts.

    >>> round(repeatability([0.0200, 0.0201], [0.01998, 0.02006]).mean * 1e6)
    30
    """
    if not first or len(first) != len(second):
        raise ValueError("both passes need readings at the same places")
    taken = [a - b for a, b in zip(first, second, strict=True)]
    return Repeat(math.fsum(taken) / len(taken), max(taken, key=abs))


def glued_up_bow(part_taper: float, parts: int, *, turned: bool = False) -> float:
    """Height of the bow, m, of a panel glued from `parts` equal wedges: n² · |taper| / 8.

    Each wedge turns the panel by taper / width, so what hides in one part grows with the square of their
    number. Every other part turned end for end, each joint undoes the one before. Plain geometry, for edges
    square to the middle plane; edges square to one face give a step of one taper at each joint instead.

    >>> round(glued_up_bow(0.03e-3, 8) * 1000, 2), glued_up_bow(0.03e-3, 8, turned=True)
    (0.24, 0.0)
    """
    if parts < 1:
        raise ValueError("a panel has at least one part")
    return 0.0 if turned else parts**2 * abs(part_taper) / 8


def largest_joint_step(fit: ThicknessFit) -> float:
    """Largest step at a joint, m, when a part from the thickest place meets one from the thinnest.

    The range of the curve between the outermost readings: single narrow boards hide it, glued up it shows.
    """
    places = [fit.left, fit.right]
    _, slope, bend = fit.coefficients()
    if bend != 0 and fit.left < (vertex := -slope / (2 * bend)) < fit.right:
        places.append(vertex)
    heights = [fit.at(x) for x in places]
    return max(heights) - min(heights)
