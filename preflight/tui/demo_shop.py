"""History for the throwaway demo shop: what its invented people signed on the days before."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from preflight.errors import OWN_FAILURE, PreflightError
from preflight.tui.desk import Desk, Terminal
from preflight.tui.wiring import Finished, Signing

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

MACHINE = "hall-two"
NAME = "D. Marrow"
MEANING = "I made this check at the machine and read these figures myself."

YESTERDAY: Mapping[str, str] = {
    "stock.job": "Ash stair treads",
    "stock.thickest": "27.7",
    "stock.thinnest": "27.6",
    "stock.metal": "0",
    "stock.resolution": "0.01",
    "glue.state": "none",
    "belts.1.card": "H-204  P100 cloth X",
    "belts.1.look": "all heads, all four good",
    "belts.2.card": "H-211  P150 paper",
    "backing.2.platen": "lifted",
    "condition.inside": "all sound",
    "condition.conveyor": "sound",
    "tension.1": "4.2",
    "tension.2": "3.4",
    "extraction.static": "930",
    "extraction.bin": "20",
    "extraction.spark": "healthy",
    "extraction.gate.two-1": "open",
    "extraction.gate.two-2": "open",
    "extraction.gate.make-up": "open",
    "running.stop.1": "6.5",
    "running.stop.2": "7.0",
    "running.restart": "stays still",
    "running.bar": "stops the feed",
    "running.tracking": "evenly, all heads",
    "running.current.1": "11.1",
    "running.current.2": "9.0",
    "test_board.before": "27.70",
    "test_board.left": "27.44",
    "test_board.centre": "27.45",
    "test_board.right": "27.43",
    "test_board.light": "clean",
}
"""Answers by row key, as typed at the machine."""
RUN = timedelta(hours=2, minutes=40)
FED: Mapping[str, str] = {"hours": "2.4", "thickness": "27.02 27.03 27.02", "current": "14.2 10.1"}
"""What became of it: all boards as planned."""


def add_history(shop: Path, clock: Callable[[], datetime], token: Callable[[], str], *, fed: bool = False) -> None:
    """Yesterday's signed start-up of the two-head machine, so that belts and gates are as yesterday; `fed`: and the
    run after it, so that the wear map is not empty.

    Made through the same run, judging and signing as any other record. Raises `PreflightError` when the demo's
    own answers are not released, which is a fault of the demo.
    """
    from preflight.shop.folder import shop_at

    at = clock() - timedelta(days=1)
    moments = [at]
    desk = Desk(shop_at(shop), shop, lambda: moments[-1], token, Terminal("demo", 0), MACHINE)
    run = desk.load().run
    for station in run.stations:
        known = [row for row in station.rows(run) if row.choices]
        for gate in known:
            if gate.key.startswith("extraction.gate.") and gate.key not in YESTERDAY:
                run = run.typing(gate.key, "shut", at)
    run = run.resumed({**run.typed, **YESTERDAY}, dict.fromkeys(YESTERDAY, at), {})
    try:
        if not run.releasable:
            open_ones = [f"{s.id}: {f.statement}" for s in run.stations for f in run.findings(s.id) if f.verdict > 1]
            raise PreflightError(
                "The demo's yesterday is not released: " + " ".join(open_ones), exit_status=OWN_FAILURE
            )
        desk.sign(run, Signing(NAME, MEANING))
        if fed:
            moments.append(at + RUN)
            desk.done(run, Finished(FED, NAME))
    finally:
        desk.close()
