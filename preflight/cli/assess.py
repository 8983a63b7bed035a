"""`preflight assess`: the verdicts on a setup sheet without a screen, as lines or as one JSON document."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.checklist.body_memory import memory_for
from preflight.checklist.past import past
from preflight.checklist.register import read_register
from preflight.checks.finding import Verdict
from preflight.checks.route import Assessment, assess
from preflight.checks.sheet_names import refuse_strange_names
from preflight.cli.assessment_text import lines
from preflight.cli.shop_files import files_for_sheet
from preflight.cli.shop_path import shop_path
from preflight.errors import PreflightError
from preflight.outside_text import joined
from preflight.sheet import SetupSheet
from preflight.shop.bundled import SAMPLES, bundled, samples
from preflight.shop.files import is_file, load

if TYPE_CHECKING:
    import argparse

    from preflight.shop.files import Loaded
    from preflight.shop.folder import Shop
    from preflight.shop.view import ShopView

EXIT_STATUS = {Verdict.OK: 0, Verdict.CAUTION: 1, Verdict.OPEN: 2, Verdict.STOP: 2}


def run(arguments: argparse.Namespace) -> int:
    """Judge the sheet and print the verdicts. Raises `PreflightError` for files that cannot be used."""
    path = sheet_path(arguments.sheet)
    root = shop_path(arguments.shop).needed if arguments.shop else None
    notes: list[str] = []
    file, shop, found = judge_file(path, files_for_sheet(path, arguments.shop), root, arguments.machine, notes)
    said = _unapproved(root, shop) if root is not None else ()
    if arguments.json:
        more = {"unapproved": list(said), "not_counted": notes}
        print(json.dumps(found.as_json() | {key: texts for key, texts in more.items() if texts}, indent=2))
    else:
        for text in (*said, *notes):
            print(f"NOTE: {text}")
        print(joined(lines(file.value, shop, found, EXIT_STATUS[found.verdict], everything=arguments.all)))
    return EXIT_STATUS[found.verdict]


def judge_file(
    path: Path, files: Shop, root: Path | None = None, machine: str | None = None, notes: list[str] | None = None
) -> tuple[Loaded[SetupSheet], ShopView, Assessment]:
    """The sheet of a file, what it sees of the shop, and the verdicts.

    `root`: the shop folder whose saved records count too; `machine` stands in for the sheet's; `notes` takes what is to
    be said of those records.
    """
    sheet = load(path, SetupSheet)
    view = files.view(sheet.value, machine=machine, file=path)
    refuse_strange_names(path, sheet.value, view)
    history = None
    if root is not None:
        with memory_for(root) as bodies:
            earlier = past(root, view.machine.id, read_register(root), bodies)
        history = earlier.history()
        if notes is not None and earlier.notice:
            notes.append(earlier.notice)
    return sheet, view, assess(sheet.value, view, history)


def _unapproved(root: Path, view: ShopView) -> tuple[str, ...]:
    """Profiles that no lead approved as they are, in a shop that has people; or that its register is not its own."""
    from preflight.checklist.approval import unapproved

    register = read_register(root)
    return (str(register.alarm),) if register.alarm else unapproved(register, view)


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
