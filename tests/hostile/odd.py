"""What can lie under a name in a shop folder and is no file, and the names that a shop folder has."""

from __future__ import annotations

import os
import shutil
import socket
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from hostile.malformed import HUGE, ZEROS

if TYPE_CHECKING:
    from collections.abc import Callable

SECRET = b"what a link led to\n"
"""Content of the file outside the shop that links lead to; nothing may change it."""


def _link(path: Path) -> None:
    path.symlink_to(outside(path))


def _link_to_itself(path: Path) -> None:
    path.symlink_to(path.name)


def _dead_link(path: Path) -> None:
    path.symlink_to(outside(path).with_name("nothing-here"))


def _link_to_zero(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _link_to_folder(path: Path) -> None:
    path.symlink_to(outside(path).parent, target_is_directory=True)


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _folder(path: Path) -> None:
    path.mkdir()
    (path / "inside.toml").write_bytes(b"x = 1\n")


def _device(path: Path) -> None:
    os.mknod(path, stat.S_IFCHR | 0o666, os.makedev(1, 5))  # endless zeros


def _socket(path: Path) -> None:
    before = Path.cwd()
    os.chdir(path.parent)  # the name of a socket is short
    try:
        with socket.socket(socket.AF_UNIX) as listener:
            listener.bind(path.name)
    finally:
        os.chdir(before)


def _zeros(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(HUGE)  # sparse: it takes no room


ODD: dict[str, Callable[[Path], None]] = {
    "link": _link,
    "link to nothing": _dead_link,
    "link to itself": _link_to_itself,
    "link to a device": _link_to_zero,
    "link to a folder": _link_to_folder,
    "pipe": _pipe,
    "folder": _folder,
    "socket": _socket,
    "a gigabyte of zeros": _zeros,
}
"""What lies there instead, by name."""
if hasattr(os, "geteuid") and os.geteuid() == 0:
    ODD["device"] = _device


def outside(path: Path) -> Path:
    """The file that links lead to: beside the shop folder that a path lies in."""
    shop = next(folder for folder in path.parents if folder.name == "shop")
    return shop.parent / "outside" / "secret.toml"


def prepare(shop: Path) -> None:
    """Put the file there that links lead to."""
    outside(shop / "x").parent.mkdir(exist_ok=True)
    outside(shop / "x").write_bytes(SECRET)


def plant(path: Path, what: str) -> None:
    """Put it under that name, in place of what lies there."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
    path.parent.mkdir(parents=True, exist_ok=True)
    ODD[what](path)


def write(path: Path, data: bytes) -> None:
    """Write a malformed file, the sparse one as such."""
    if data == ZEROS:
        _zeros(path)
    else:
        path.write_bytes(data)


def remove(path: Path) -> None:
    """Take away whatever lies there."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def touched(shop: Path) -> bool:
    """Whether the file that links lead to was changed, or something was written beside it."""
    folder = outside(shop / "x").parent
    return [path.name for path in folder.iterdir()] != ["secret.toml"] or outside(shop / "x").read_bytes() != SECRET
