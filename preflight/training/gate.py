"""What a shop asks before somebody works alone: `training.toml` in the shop folder, every key with a default.

Common practice, no source, throughout: a shop sets its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from preflight.disk import entries
from preflight.quantities import Kind, parse
from preflight.shop.fields import Length, Strict
from preflight.shop.files import load

if TYPE_CHECKING:
    from pathlib import Path

FILE = "training.toml"
Count = Annotated[int, Field(ge=0, le=1000)]


class Gate(Strict):
    """The gate for working alone."""

    schema_: Annotated[Literal[1], Field(alias="schema")] = 1
    passed: Count = 12
    """Of the last `out_of` drills drawn at random, so many without a miss and without a false alarm."""
    out_of: Annotated[int, Field(ge=1, le=1000)] = 15
    no_stop_missed_in: Count = 10
    """Last drills in which no stop may be missed."""
    false_alarms: Annotated[float, Field(ge=0, le=1, strict=False)] = 0.25
    """Share of stations in order that may be called wrong; fewer than this."""
    observed_starts: Count = 5
    """Real start-ups made under a trainer's eye."""
    strips: Count = 10
    """Strips of the measuring test; 0: none is asked."""
    strips_within: Length = parse("0.03 mm", Kind.LENGTH)
    """Furthest that a reading may be from the reference."""
    strips_repeat: Length = parse("0.015 mm", Kind.LENGTH)
    """Standard deviation of the person's own repeat."""
    lasts_days: Annotated[int, Field(ge=1, le=3650)] = 365
    """From the trainer's mark."""
    away_days: Annotated[int, Field(ge=1, le=3650)] = 60
    """Without any practice after which it has to be shown again."""
    surprise_days: Annotated[int, Field(ge=0, le=365)] = 14
    """Days from one surprise drill to the next, offered after a signed start-up to those who practise; 0: none."""


def gate_of(shop: Path) -> Gate:
    """The shop's gate, else the defaults. Raises `FileProblemsError` for a file that cannot be used."""
    if not any(entry.name == FILE for entry in entries(shop)):
        return Gate()
    return load(shop / FILE, Gate, shop).value
