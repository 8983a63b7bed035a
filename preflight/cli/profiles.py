"""`preflight profiles check`: everything that is wrong with profiles and cards, file by file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.cli.shop_files import shop_files
from preflight.errors import INPUT, PreflightError
from preflight.outside_text import shown
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.consistency import extraction_problems, machine_problems, unknown_heads
from preflight.shop.extraction import Extraction
from preflight.shop.files import AnyTable, is_file, load
from preflight.shop.folder import FOLDERS, WORDS, NotInShopError, Shop, is_path
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError, Problem

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from pydantic import BaseModel

MODELS: dict[str, type[BaseModel]] = {folder: model for model, folder in FOLDERS.items()}


def run(arguments: argparse.Namespace) -> int:
    """Check what was named, else all of the shop. 0 when nothing is wrong, 3 when something is."""
    shop = shop_files(arguments.shop, *arguments.refs)
    heads = _heads_of(shop)
    bad = total = 0
    for path in _named(shop, arguments.refs) if arguments.refs else _everything(shop):
        total += 1
        try:
            word = check_file(path, shop, heads)
        except PreflightError as error:
            bad += 1
            complain(error)
        else:
            print(shown(f"ok  {word} {path.stem}"))
    print(f"{total} file{'' if total == 1 else 's'} checked, {bad or 'none'} with problems.")
    return INPUT if bad else 0


def complain(error: PreflightError) -> None:
    """Print an error and go on with the next file."""
    for line in str(error).splitlines():
        print(line, file=sys.stderr)


def check_file(path: Path, shop: Shop, heads: frozenset[str] = frozenset()) -> str:
    """Check one file by what it is and return the word for that. Raises `FileProblemsError` with all that is wrong.

    `heads`: those of all machines of the shop, to hold cards against; empty: cards are held against none.
    """
    model = kind_of(path)
    value = shop.load_file(model, path).value
    problems: list[Problem] = []
    if isinstance(value, Machine):
        ducts, unusable = _ducts_of(value, path, shop)
        problems = [*unusable, *machine_problems(value, ducts)]
    elif isinstance(value, Extraction):
        problems = extraction_problems(value)
    elif isinstance(value, (JobCard, BeltCard)):
        problems = unknown_heads(value, heads)
    if problems:
        raise FileProblemsError(str(path), problems)
    return WORDS[model]


def _heads_of(shop: Shop) -> frozenset[str]:
    usable, _ = shop.every(Machine)
    return frozenset(head.id for machine in usable.values() for head in machine.value.heads)


def kind_of(path: Path) -> type[BaseModel]:
    """Which kind of file this is: by its folder's name, else by the keys it holds. Raises `FileProblemsError`."""
    if path.parent.name in MODELS:
        return MODELS[path.parent.name]
    keys = set(load(path, AnyTable).value.model_extra or ())
    if {"machine", "at"} <= keys:
        raise FileProblemsError(str(path), [Problem("", "is a setup sheet; judge it with: preflight assess")])
    for model, telling in (
        (Machine, {"heads", "conveyor"}),
        (Extraction, {"runs", "gates", "fan"}),
        (JobCard, {"target_thickness", "parts"}),
        (BeltCard, {"backing", "grit"}),
    ):
        if keys & telling:
            return model
    raise FileProblemsError(str(path), [Problem("", f"holds no {', '.join(list(WORDS.values())[:-1])} or belt card")])


def _ducts_of(machine: Machine, path: Path, shop: Shop) -> tuple[Extraction | None, list[Problem]]:
    if machine.extraction is None:
        return None, []
    around = shop.with_home_of(path)
    try:
        return around.load(Extraction, machine.extraction, path.parent).value, []
    except FileProblemsError as error:
        return None, [Problem("extraction", f"{machine.extraction!r} cannot be read; check {error.file} first")]
    except NotInShopError as error:
        return None, [Problem("extraction", str(error))]


def _named(shop: Shop, refs: list[str]) -> Iterator[Path]:
    for ref in refs:
        if is_file(Path(ref)) or is_path(ref):
            yield Path(ref)
            continue
        named = [path for path in _everything(shop) if path.stem == ref]
        if not named:
            known = ", ".join(path.stem for path in _everything(shop))
            raise NotInShopError(f"No profile or card {ref!r} here.", f"Known here: {known}.")
        yield from named


def _everything(shop: Shop) -> Iterator[Path]:
    """Every profile and card; in place of those in a folder that cannot be listed, that folder."""
    for model in FOLDERS:
        try:
            yield from [shop.find(model, identity) for identity in shop.ids(model)]
        except FileProblemsError as error:
            yield Path(error.file)
