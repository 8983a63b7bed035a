"""`preflight profiles new`: a commented machine profile to begin from, with an id of its own."""

from __future__ import annotations

import re
import secrets
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.errors import PreflightError
from preflight.shop.bundled import bundled

if TYPE_CHECKING:
    import argparse

STARTER = Path("starter", "machine.toml")
_ID = re.compile(r'^id = "m-[0-9a-f]{12}"', re.MULTILINE)


class FileInTheWayError(PreflightError):
    """A file or folder that is there already, or cannot be made."""


def run(arguments: argparse.Namespace) -> int:
    """Write the starter to the path given, never over a file, else to standard output."""
    text = with_fresh_id((bundled() / STARTER).read_text(encoding="utf-8"))
    if arguments.path is None:
        print(text, end="")
        return 0
    path = Path(arguments.path)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError as error:
        raise FileInTheWayError(f"{path}: is there already and is left alone.", "Choose another name.") from error
    except OSError as error:
        raise FileInTheWayError(f"{path}: cannot be written: {error.strerror}.") from error
    print(f"{path} written; put this machine's own figures in, then: preflight profiles check {path}")
    return 0


def with_fresh_id(profile: str) -> str:
    """The text of a machine profile with a new random id: two machines must never share a chain of records."""
    return _ID.sub(f'id = "m-{secrets.token_hex(6)}"', profile, count=1)
