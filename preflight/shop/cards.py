"""Job cards (what a job wants) and belt cards (what a belt is)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import Field

from preflight.shop.fields import (
    Backing,
    Density,
    GritField,
    Hours,
    Joint,
    Length,
    Mass,
    Strict,
)


class Part(Strict):
    """One size of part and how many."""

    width: Length
    length: Length
    count: Annotated[int, Field(ge=1, le=100_000)]
    thickness: Length | None = None
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
    target_thickness: Length
    parts: Annotated[tuple[Part, ...], Field(min_length=1, strict=False)]
    skew_degrees: Annotated[float, Field(ge=0, lt=90, strict=False)] = 0.0
    glued_up_side_by_side: bool = False
    grits: Mapping[str, GritField] = Field(default_factory=dict)
    """Grit per head id."""
    finish: str = ""


class Weighing(Strict):
    """One weighing of a drying belt."""

    at: datetime
    mass: Mass


class Wash(Strict):
    """One wash of a cloth belt."""

    hung: datetime
    weights: Annotated[tuple[Weighing, ...], Field(strict=False)] = ()


class GlueLine(Strict):
    """A line of glue that stayed on the belt."""

    centre: Length
    """From the belt's left edge, seen in feed direction."""
    width: Length


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
    length_left: Length | None = None
    length_right: Length | None = None
    width: Length | None = None
    measured: date | None = None
    hours: Hours | None = None
    washed: Annotated[tuple[Wash, ...], Field(strict=False)] = ()
    glue_lines: Annotated[tuple[GlueLine, ...], Field(strict=False)] = ()
    heat_fused: bool = False
    """Black glue fused by heat, usually past saving."""
