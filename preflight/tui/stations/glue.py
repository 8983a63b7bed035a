"""Station 2: squeeze-out removed upstream."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.quantities import Kind
from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from preflight.tui.run import Run

STATES = ("none", "scraped", "beads standing", "smeared")
BEAD, AGE = ("bead height", "bite"), ("glue age",)
"""Subjects of the rows that come only with some states; without its row a finding marks the state."""


def rows(run: Run) -> list[Row]:
    """State first; who scraped, bead height and hours only where the state asks for them."""
    if run.view is None:
        return []
    unit = Kind.LENGTH.unit_in(run.view.machine.units)
    state = run.typed.get("glue.state", "")
    has_beads, has_glue = state in ("beads standing", "smeared"), state not in ("", "none")
    elsewhere = (*(() if has_beads else BEAD), *(() if has_glue else AGE))
    asked = [
        Row(
            "glue.state",
            "squeeze-out",
            choices=tuple(Choice(word, ((("glue", "state"), word),)) for word in STATES),
            hint="Look at both faces and inside the corners of the worst panel.",
            subjects=("glue", "glue under the nail", *elsewhere),
        )
    ]
    if state == "scraped":
        asked.append(Row("glue.by", "scraped by", ("glue", "by"), hint="Name or bench."))
    if has_beads:
        asked.append(
            Row(
                "glue.bead",
                f"highest bead, {unit}",
                ("glue", "bead_height"),
                Kind.LENGTH,
                unit,
                hint="Depth rod of the caliper on the worst bead.",
                subjects=BEAD,
            )
        )
    if has_glue:
        asked.append(
            Row(
                "glue.hours",
                "hours since clamps off",
                ("glue", "hours_since_clamps"),
                reads=hours,
                hint="Only when it was glued today or yesterday.",
                subjects=AGE,
                optional=state == "scraped",
            )
        )
    return asked


def hours(typed: str) -> float:
    """Reader of a count of hours, "26" or "26 h"."""
    digits = typed.removesuffix("h").strip().replace(",", ".")
    try:
        value = float(digits) if digits.replace(".", "", 1).isdigit() and digits.isascii() else -1.0
    except ValueError:
        value = -1.0
    if not 0 <= value <= 10_000:
        raise ValueError(f"{typed!r} is not a count of hours, as in 26.")
    return value
