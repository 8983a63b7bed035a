"""The app as it is started, with every answer that Enter leaves standing noted in a file at once.

Run by the monkey on a terminal of its own: python listened_app.py SHOP MACHINE FILE; without a machine it is asked for.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import asdict
from pathlib import Path

HERE = Path(__file__).parents[1]
sys.path[:0] = [str(HERE.parent), str(HERE)]


def main(shop: str, machine: str, file: str) -> int:
    """Open the app on that shop; the status it ends with."""
    from keys.listening import Committed, listening

    from preflight.tui.start import run

    notes = os.open(file, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def told(committed: Committed) -> None:
        os.write(notes, json.dumps(asdict(committed)).encode() + b"\n")  # whole, also when the process is killed next

    with listening(told):
        return run(Path(shop), machine=machine)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
