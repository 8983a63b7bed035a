"""`preflight` and `preflight demo`: open the app; without a terminal say how to go on without one."""

from __future__ import annotations

import importlib
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from preflight import clock
from preflight.cli.shop_path import NAME_IT, NoShopError, shop_path
from preflight.errors import PreflightError
from preflight.outside_text import joined, overwrite

if TYPE_CHECKING:
    import argparse
    from datetime import datetime

DEMO_SHEET = "ok-two-heads"
"""The bundled sample that `demo` judges when there is no terminal."""


DEMO_MACHINE = "hall-two"
MOST_DAYS = 730
"""Days of invented records at most."""


CANNOT_DRAW = ("dumb", "unknown")
"""Kinds of terminal, by the variable TERM, that show text line by line and nothing else."""
PLAIN_COMMANDS = """\
In plain lines: preflight assess SHEET (verdicts), airflow, feed, marks,
belts, run-record, record, audit, train, verify. All: preflight --help
If this terminal can do more, set TERM to what it is."""


class NoTerminalError(PreflightError):
    """The app was asked for where nothing can be drawn or typed."""


def run(arguments: argparse.Namespace) -> int:
    """Open the app on the shop, or on a throwaway demo shop."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        if arguments.demo:
            return _finished_assessment()
        raise NoTerminalError(
            "The app needs a terminal.", "Without one: preflight assess SHEET, or preflight demo for an example."
        )
    if (kind := os.environ.get("TERM", "")) in CANNOT_DRAW:
        raise NoTerminalError(f"The app needs a terminal that can draw; this one says TERM={kind}.", PLAIN_COMMANDS)
    if not arguments.demo:
        return open_app(shop_path(arguments.shop).existing)
    import tempfile

    from preflight.cli.init import make_shop

    with tempfile.TemporaryDirectory(prefix="preflight-demo-") as folder:
        shop = Path(folder, "shop")
        make_shop(shop, empty=False)
        start = importlib.import_module("preflight.tui.start")
        if arguments.days > 0:
            _invent(shop, clock.now(), arguments.days)
        else:
            importlib.import_module("preflight.tui.demo_shop").add_history(shop, clock.now, start.token, fed=True)
        return open_app(shop, machine=DEMO_MACHINE)


def _invent(shop: Path, until: datetime, days: int) -> None:
    """Records of so many days; says how far it is, since a year takes a minute."""
    from preflight.audit.history_maker import make_history

    def progress(done: int, all_days: int) -> None:
        overwrite(sys.stderr, f"Inventing records: day {done} of {all_days}")

    make_history(shop, until, min(days, MOST_DAYS), progress=progress)
    print(file=sys.stderr)


def open_app(shop: Path | None, *, machine: str = "") -> int:
    """Open the app on a shop folder and one of its machines ("" for the last one). Returns the exit status.

    The screens are found by name: the command line does not depend on them, so that nothing here can
    import Textual by accident.
    """
    if shop is None:
        raise NoShopError("There is no shop folder yet.", f"{NAME_IT}. To look around: preflight demo")
    return int(importlib.import_module("preflight.tui.start").run(shop, machine=machine))


def _finished_assessment() -> int:
    from preflight.cli.assess import EXIT_STATUS, judge_file, sheet_path
    from preflight.cli.assessment_text import lines
    from preflight.shop.folder import shop_at

    file, shop, found = judge_file(sheet_path(DEMO_SHEET), shop_at(None))
    status = EXIT_STATUS[found.verdict]
    print(joined(lines(file.value, shop, found, status, everything=True)))
    return status
