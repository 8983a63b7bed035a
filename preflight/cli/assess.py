"""`preflight assess`: the verdicts on a setup sheet without a screen, as lines or as one JSON document."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.checklist.past import past
from preflight.checks.finding import Verdict
from preflight.checks.route import Assessment, assess
from preflight.cli.assessment_text import lines
from preflight.cli.shop_path import shop_path
from preflight.errors import PreflightError
from preflight.sheet import SetupSheet
from preflight.shop.bundled import SAMPLES, bundled, samples
from preflight.shop.files import is_file, load
from preflight.shop.folder import shop_at

if TYPE_CHECKING:
    import argparse

    from preflight.shop.view import ShopView

EXIT_STATUS = {Verdict.OK: 0, Verdict.CAUTION: 1, Verdict.OPEN: 2, Verdict.STOP: 2}


def run(arguments: argparse.Namespace) -> int:
    """Judge the sheet and print the verdicts. Raises `PreflightError` for files that cannot be used."""
    path = sheet_path(arguments.sheet)
    root = shop_path(arguments.shop).existing
    sheet, shop, found = judge_file(path, root, arguments.machine, with_history=bool(arguments.shop))
    said = _unapproved(root, shop) if arguments.shop and root is not None else ()
    if arguments.json:
        print(json.dumps(found.as_json() | ({"unapproved": list(said)} if said else {}), indent=2))
    else:
        for text in said:
            print(f"NOTE: {text}")
        print("\n".join(lines(sheet, shop, found, EXIT_STATUS[found.verdict], everything=arguments.all)))
    return EXIT_STATUS[found.verdict]


def judge_file(
    path: Path, shop: Path | None, machine: str | None = None, *, with_history: bool = False
) -> tuple[SetupSheet, ShopView, Assessment]:
    """The sheet of a file, what it sees of the shop, and the verdicts.

    `machine` stands in for the sheet's; `with_history` judges by the machine's saved records in the shop too.
    """
    sheet = load(path, SetupSheet).value
    view = shop_at(shop).view(sheet, machine=machine, file=path)
    history = past(shop, view.machine.id).history() if with_history and shop is not None else None
    return sheet, view, assess(sheet, view, history)


def _unapproved(root: Path, view: ShopView) -> tuple[str, ...]:
    """Profiles that no lead approved as they are, in a shop that has people."""
    from preflight.checklist.approval import unapproved
    from preflight.checklist.register import read_register, registers

    # Without people nothing is to be checked, and the signature library stays unloaded.
    return unapproved(read_register(root), view) if registers(root) else ()


def sheet_path(ref: str) -> Path:
    """The file that an argument names: a path, else a bundled sample's. Raises `PreflightError` for neither."""
    path, sample = Path(ref), bundled() / SAMPLES / f"{ref}.toml"
    if path.name != ref or is_file(path):
        return path
    if is_file(sample):
        return sample
    if path.suffix or os.path.exists(path):  # noqa: PTH110 (Path.exists raises for a name too long)
        return path
    raise PreflightError(
        f"{ref}: cannot be read: no such file, and no bundled sample of that name.", f"Samples: {', '.join(samples())}"
    )
