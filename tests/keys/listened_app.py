"""The app as it is started; what is heard of it is noted in a file at once.

Run by the monkey on a terminal of its own: python listened_app.py SHOP FILE.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from keys.listening import Heard

HERE = Path(__file__).parents[1]
sys.path[:0] = [str(HERE.parent), str(HERE)]


def main(shop: str, file: str) -> int:
    """Open the app on that shop by its own command; the status it ends with."""
    from keys.listening import listening

    from preflight.__main__ import main as preflight

    notes = os.open(file, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def note(heard: Heard) -> None:
        os.write(notes, json.dumps(asdict(heard)).encode() + b"\n")  # whole, also when the process is killed next

    with listening(note):
        return preflight(["--shop", shop])


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
