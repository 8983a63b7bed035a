"""Who else may write to a folder, or read a private key: looked at and said, changed by whoever owns it.

Only where the system has owners and groups; elsewhere nothing is known and nothing is said.
"""

from __future__ import annotations

import stat
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def shared_with(path: Path, *, reading: bool = False) -> str:
    """Who but its owner may write to it, or with `reading` read it: "everybody on this computer", "the group sanders".

    Empty when nobody may, or it cannot be told. A group that holds nobody but the owner is nobody.
    """
    if sys.platform == "win32":
        return ""
    try:
        status = path.stat()
    except OSError:
        return ""
    others, group = (
        (stat.S_IROTH | stat.S_IWOTH, stat.S_IRGRP | stat.S_IWGRP) if reading else (stat.S_IWOTH, stat.S_IWGRP)
    )
    if status.st_mode & others:
        return "everybody on this computer"
    return _group(status.st_gid, status.st_uid) if status.st_mode & group else ""


def _group(group_id: int, owner_id: int) -> str:
    if sys.platform == "win32":
        return ""
    import grp
    import pwd

    try:
        group, owner = grp.getgrgid(group_id), pwd.getpwuid(owner_id)
    except KeyError:
        return f"the group {group_id}"
    alone = group.gr_name == owner.pw_name and set(group.gr_mem) <= {owner.pw_name}
    return "" if alone else f"the group {group.gr_name}"


def shop_notice(shop: Path) -> str:
    """Who else can change the profiles and drafts of a shop folder, one sentence; empty when nobody can."""
    who = shared_with(shop)
    return f"The shop folder can be changed by {who}." if who else ""


def keys_notice(folder: Path) -> str:
    """Who else can read or change the key files in a folder, and what to do; empty when nobody can."""
    if who := shared_with(folder):
        return f"The folder of key files can be changed by {who}: chmod 700 {folder}"
    try:
        files = sorted(folder.glob("k-*.toml"))
    except OSError:
        return ""
    for file in files:
        if who := shared_with(file, reading=True):
            return f"The key file {file.name} can be read by {who}: chmod 600 {folder}/k-*"
    return ""
