"""The app as it is started; what is typed, accepted and left standing by Enter is noted in a file at once.

Run by the monkey on a terminal of its own: python listened_app.py SHOP MACHINE FILE; without a machine it is asked for.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING
from unittest import mock

if TYPE_CHECKING:
    from preflight.tui.wiring import Loaded

HERE = Path(__file__).parents[1]
sys.path[:0] = [str(HERE.parent), str(HERE)]


def main(shop: str, machine: str, file: str) -> int:
    """Open the app on that shop; the status it ends with."""
    from keys.listening import Committed, listening

    from preflight.tui.modes.run import RunScreen
    from preflight.tui.start import run

    notes = os.open(file, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def note(kind: str, answer: Committed) -> None:
        line = json.dumps({"kind": kind, **asdict(answer)}).encode()
        os.write(notes, line + b"\n")  # whole, also when the process is killed next

    def typing(answer: Committed, half: bool) -> None:
        note("half" if half else "accepted", answer)

    def shown(screen: RunScreen, loaded: Loaded) -> None:
        take(screen, loaded)
        note("shown", Committed("", "", ""))

    take = RunScreen.take
    with listening(partial(note, "committed"), typing), mock.patch.object(RunScreen, "take", shown):
        return run(Path(shop), machine=machine)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
