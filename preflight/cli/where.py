"""`preflight where`: the shop folder that would be used and why, the bundled profiles, the versions."""

from __future__ import annotations

import importlib.metadata
import platform
from typing import TYPE_CHECKING

from preflight import __version__
from preflight.checklist.key_folder import key_folder
from preflight.cli.shop_path import shop_path
from preflight.file_rights import keys_notice, shop_notice
from preflight.outside_text import shown
from preflight.shop.bundled import bundled

if TYPE_CHECKING:
    import argparse

LIBRARIES = ("textual", "pydantic", "cryptography", "tomli-w", "platformdirs")


def run(arguments: argparse.Namespace) -> int:
    """Print it. Creates nothing, imports none of the libraries."""
    shop = shop_path(arguments.shop)
    state = "exists" if shop.folder.is_dir() else "not made yet: preflight init"
    print(shown(f"shop folder       {shop.folder}"))
    print(f"  chosen by       {shop.why}")
    print(f"  state           {state}")
    keys = key_folder()
    print(shown(f"key files         {keys}"))
    print(f"bundled profiles  {bundled()}")
    print(f"preflight         {__version__}")
    print(f"python            {platform.python_version()}")
    for library in LIBRARIES:
        print(f"{library:<17} {_version(library)}")
    for notice in filter(None, (shop_notice(shop.folder), keys_notice(keys))):
        print(shown(f"NOTE: {notice}"))
    return 0


def _version(library: str) -> str:
    try:
        return importlib.metadata.version(library)
    except importlib.metadata.PackageNotFoundError:
        return "not installed"
