"""`preflight init`: make a shop folder, with the bundled demo profiles and cards or empty."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from preflight.checklist.register_alarm import known_founders
from preflight.cli.shop_path import shop_path
from preflight.cli.starter import FileInTheWayError, with_fresh_id
from preflight.disk import Folder
from preflight.shop.bundled import bundled

if TYPE_CHECKING:
    import argparse

FOLDERS = ("machines", "extraction", "jobs", "belts", "sheets")
ANEW = "preflight people founder --accept nobody"
ATTRIBUTES = "checklists/** -text\n"
"""Keeps version control from changing line ends of signed records."""


def run(arguments: argparse.Namespace) -> int:
    """Make the folder and say what to do next."""
    folder = Path(arguments.folder) if arguments.folder else shop_path(arguments.shop).folder
    make_shop(folder, empty=arguments.empty)
    print(f"Shop folder {folder} made{' empty' if arguments.empty else ' with the demo profiles and cards'}.")
    print(f"Use it with --shop {folder}, or set PREFLIGHT_SHOP to it.")
    for one in known_founders(folder):
        print(f"This terminal remembers the shop that {one.words} founded here, seen last on {one.seen}.")
        print(f"Nothing is signed here until it is told that this is another: {ANEW} --shop {folder}")
    return 0


def make_shop(folder: Path, *, empty: bool) -> None:
    """A shop folder with the bundled profiles and cards, each machine under an id of its own, or `empty`.

    Raises `FileInTheWayError` when the folder holds anything already, or cannot be made.
    """
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise FileInTheWayError(
                f"{folder}: is there already and not empty; nothing was changed.", "Choose another folder."
            )
        folder.mkdir(parents=True, exist_ok=True)
        with Folder.open(folder) as shop:
            for name in FOLDERS:
                with shop.folder(name, make=True) as files:
                    for file in sorted((bundled() / name).glob("*.toml")) if not empty else ():
                        text = file.read_text(encoding="utf-8")
                        made = with_fresh_id(text) if name == "machines" else text
                        files.write_new(file.name, made.encode(), durable=False)
            shop.write_new(".gitattributes", ATTRIBUTES.encode(), durable=False)
    except OSError as error:
        raise FileInTheWayError(f"{folder}: cannot be made: {error.strerror}.") from error
