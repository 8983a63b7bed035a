"""Job cards (what a job wants) and belt cards (what a belt is)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Literal, get_args

from pydantic import AwareDatetime, Field

from preflight.shop.fields import (
    Backing,
    Density,
    GritField,
    Joint,
    Size,
    Strict,
)
from preflight.shop.instruments import BeltSize, HoursRead, JointStep, MassRead, Position

Stored = Literal["hung a day or more", "straight from the box", "folded or flat"]
STORED: tuple[Stored, ...] = get_args(Stored)


class Part(Strict):
    """One size of part and how many."""

    width: Size
    length: Size
    count: Annotated[int, Field(ge=1, le=100_000)]
    thickness: Size | None = None
    """When it differs from the lot."""


class JobCard(Strict):
    """One job card file."""

    schema_: Annotated[Literal[1], Field(alias="schema")]
    name: Annotated[str, Field(min_length=1)]
    material: str = ""
    """Names a density of the defaults."""
    density: Density | None = None
    damp: bool = False
    reclaimed: bool = False
    """Stock that may hold metal: a scan is needed."""
    faces: Literal[1, 2] = 2
    target_thickness: Size
    parts: Annotated[tuple[Part, ...], Field(min_length=1, max_length=60, strict=False)]
    skew_degrees: Annotated[float, Field(ge=0, lt=90, strict=False)] = 0.0
    glued_up_side_by_side: bool = False
    grits: Mapping[str, GritField] = Field(default_factory=dict)
    """Grit per head id."""
    finish: str = ""


class Weighing(Strict):
    """One weighing of a drying belt."""

    at: AwareDatetime
    mass: MassRead


class Wash(Strict):
    """One wash of a cloth belt."""

    hung: AwareDatetime
    weights: Annotated[tuple[Weighing, ...], Field(max_length=100, strict=False)] = ()


class GlueLine(Strict):
    """A line of glue that stayed on the belt."""

    centre: Position
    """From the belt's left edge, seen in feed direction."""
    width: Position


class BeltCard(Strict):
    """One belt card file."""

    schema_: Annotated[Literal[1], Field(alias="schema")]
    id: Annotated[str, Field(min_length=1)]
    head: str | None = None
    grit: GritField
    backing: Backing
    printed: str = ""
    """As printed on the back."""
    joint: Joint | None = None
    length_left: BeltSize | None = None
    length_right: BeltSize | None = None
    width: BeltSize | None = None
    measured: date | None = None
    hours: HoursRead | None = None
    washed: Annotated[tuple[Wash, ...], Field(max_length=100, strict=False)] = ()
    glue_lines: Annotated[tuple[GlueLine, ...], Field(max_length=50, strict=False)] = ()
    heat_fused: bool = False
    """Black glue fused by heat, usually past saving."""
    joint_step: JointStep | None = None
    """Thickness at the joint minus body, by micrometer, when new."""
    stored: Stored | None = None
    """How it was kept before it went on."""


def keep_off_strips(card: BeltCard, stroke: float, margin: float) -> tuple[tuple[float, float], ...]:
    """Strips of the belt's width not to feed on, (left, right) in m from the belt's left edge, by glue line.

    strip = glue line + oscillation stroke + margin, about the line's centre: the belt swings by the stroke (m,
    end to end) and the margin (m) is shared by both sides. Not cut to the belt's width, since the swing passes it.
    Common practice, no source.
    Raises ValueError for a negative stroke or margin.

    A line of 5 mm on a belt that swings 15 mm keeps 5 + 15 + 10 = 30 mm free:

    >>> from preflight.quantities import Kind, parse
    >>> line = GlueLine(centre=parse("400 mm", Kind.LENGTH), width=parse("5 mm", Kind.LENGTH))
    >>> card = BeltCard(schema=1, id="B", grit="P80", backing="cloth X", glue_lines=(line,))
    >>> [(round(left, 4), round(right, 4)) for left, right in keep_off_strips(card, 0.015, 0.010)]
    [(0.385, 0.415)]
    """
    if stroke < 0 or margin < 0:
        raise ValueError("stroke and margin cannot be below zero")
    halves = [(line.centre.value, (line.width.value + stroke + margin) / 2) for line in card.glue_lines]
    return tuple((centre - half, centre + half) for centre, half in halves)
