"""`preflight belts`: which belts on the rack fit a head and a job, and why the others do not."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from preflight.checks.belts.belt_choice import belts_for
from preflight.cli.assessment_text import MARKS
from preflight.cli.shop_files import shop_files
from preflight.errors import PreflightError
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    import argparse

ANY_TIME = datetime(2000, 1, 1, tzinfo=UTC)
"""Cards are judged, not a day."""
MOST_REASONS = 2
"""A line each; all of them with --json."""


def run(arguments: argparse.Namespace) -> int:
    """List the belts. Raises `PreflightError` for an unknown machine, head or job, or a card that cannot be read."""
    shop = shop_files(arguments.shop, arguments.machine)
    profile = shop.load(Machine, arguments.machine)
    around = shop.with_home_of(profile.path)
    cards = {ref: around.load(BeltCard, ref) for ref in around.ids(BeltCard)}
    view = around.machine_view(profile, {}, cards)
    head = view.machine.head(arguments.head)
    if head is None:
        known = ", ".join(one.id for one in view.machine.heads)
        raise PreflightError(f"{view.machine.name} has no head {arguments.head!r}.", f"Its heads: {known}.")
    job = around.load(JobCard, arguments.job).value if arguments.job else None
    fits = belts_for(view, head, job, ANY_TIME, arguments.platen)
    if arguments.json:
        rows = [
            {
                "belt": fit.ref,
                "grit": str(fit.card.grit),
                "backing": fit.card.backing,
                "verdict": fit.verdict.word,
                "fits": fit.fits,
                "reasons": list(fit.reasons),
            }
            for fit in fits
        ]
        document = {"machine": arguments.machine, "head": head.id, "job": job.name if job else None, "belts": rows}
        print(json.dumps(document, indent=2))
        return 0
    count = sum(fit.fits for fit in fits)
    print(f"{view.machine.name}, head {head.id}{f', job {job.name!r}' if job else ''}: {count} of {len(fits)} fit.")
    for fit in fits:
        card = fit.card
        print(
            f"{MARKS[fit.verdict]} {fit.ref}: {card.grit} {card.backing}"
            + (f", joint {card.joint}" if card.joint else "")
        )
        for reason in fit.reasons[:MOST_REASONS]:
            print(f"    {reason}")
        if len(fit.reasons) > MOST_REASONS:
            print(f"    and {len(fit.reasons) - MOST_REASONS} more")
    return 0
