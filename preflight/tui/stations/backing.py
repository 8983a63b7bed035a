"""Station 4: does backing and grit suit each head, worked out from the cards."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preflight.tui.rows import Choice, Row

if TYPE_CHECKING:
    from preflight.tui.run import Run

OF_HEAD = ("", " backing", " coarsest grit", " finest grit", " joint", " ordered grit", " hardness")
"""What a belt on its head is judged by, as in the findings' subjects."""

BELT = "Which belt is on a head is said at station belts, or with F7."


def rows(run: Run) -> list[Row]:
    """What is on each head, shown; the platen's state is a carried fact."""
    view = run.view
    if view is None:
        return []
    asked: list[Row] = []
    for index, head in enumerate(view.machine.heads):
        on = run.sheet.belt_on(head.id) if run.sheet else None
        card = view.belt(on)
        text = f"{card.grit} {card.backing} on {head.kind}" if card else f"no belt named yet, {head.kind}"
        before = [f"heads {other.id} and {head.id}" for other in view.machine.heads[:index]]
        subjects = (
            *(f"head {head.id}{what}" for what in OF_HEAD),
            *(f"{pair} {what}" for pair in before for what in ("order", "scratches")),
        )
        asked.append(Row(f"backing.{head.id}", f"head {head.id}", shown=text, subjects=subjects, set_by=BELT))
        if head.has_platen:
            asked.append(
                Row(
                    f"backing.{head.id}.platen",
                    "  platen",
                    choices=(
                        Choice("lifted", ((("belts", index, "head"), head.id), (("belts", index, "platen"), "lifted"))),
                        Choice("down", ((("belts", index, "head"), head.id), (("belts", index, "platen"), "down"))),
                    ),
                    hint="For finishing only; its rules hold while it is down.",
                    subjects=tuple(f"head {head.id} platen{what}" for what in ("", " grit", " backing")),
                    fact=True,
                )
            )
    return asked
