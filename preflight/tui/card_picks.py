"""What can be picked under "job, belts": the machine, the job card, the belt of each head; and the cards there are."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from preflight.errors import PreflightError
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError
from preflight.tui.wiring import Pick

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preflight.shop.folder import Shop
    from preflight.tui.run import Run

MACHINE = "machine"
MOST_NAMED = 4
"""Files named in one sentence."""


def unusable_sentence(errors: Sequence[PreflightError]) -> str:
    """Which files were left out, and where it stands what is wrong with each."""
    names = [Path(error.file).name if isinstance(error, FileProblemsError) else error.message for error in errors]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"Left out, cannot be used: {', '.join(names[:MOST_NAMED])}{more}. See: preflight profiles check"


def subjects(run: Run) -> list[Pick]:
    """Machine, job, and the belt of each head; on a sheet that is read only the machine alone."""
    if run.signed is not None:
        return [Pick(MACHINE, "machine", "Job and belts of this sheet are signed: F2 asks them again.")]
    heads = run.view.machine.heads if run.view else ()
    belts = [Pick(f"belts.{head.id}.card", f"belt on head {head.id}") for head in heads]
    return [Pick(MACHINE, "machine"), Pick("stock.job", "job card"), *belts]


def picks(shop: Shop, run: Run, subject: str) -> list[Pick]:
    """The machines, or the answers of that row."""
    if subject == MACHINE:
        return [Pick(ref, *_machine_words(shop, ref, run)) for ref in shop.ids(Machine)]
    rows = {row.key: row for station in run.stations for row in station.rows(run)}
    return [Pick(choice.label, choice.label) for choice in rows[subject].choices] if subject in rows else []


def _machine_words(shop: Shop, ref: str, run: Run) -> tuple[str, str]:
    here = ", on the screen now" if run.view is not None and run.view.machine_id == ref else ""
    try:
        return shop.load(Machine, ref).value.name, f"{ref}{here}"
    except PreflightError:
        return ref, "its profile cannot be read"
