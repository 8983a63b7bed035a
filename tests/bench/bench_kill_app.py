"""Kills the running app with SIGKILL while somebody types and while somebody signs, and counts what was lost.

The real program on a pseudo-terminal, a shop of its own for each kill.
Run: python -m tests.bench.bench_kill_app [KILLS]
"""

from __future__ import annotations

import itertools
import json
import os
import pty
import random
import select
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from preflight.checklist.verify import Status, verify_shop
from preflight.cli.init import make_shop
from preflight.tui.demo_shop import YESTERDAY, add_history
from preflight.tui.terminal_machine import DRAFTS

LOADED = b"job card"
BETWEEN_KEYS = 0.15
"""Seconds; slower than a key takes to its paint, so that at the kill one key at most is on its way."""
TO_TENSION = b"\x1b[6~" * 5
DIGITS = b"4.2731865"
SIGNING = (b"\x1b[19~", b"s", b"\r", b"\r", b"\r")
"""F8, sign, the first name, the meaning, sign."""


class App:
    """The program on a pseudo-terminal of 80x24."""

    def __init__(self, shop: Path) -> None:
        self.written = b""
        self.process, self.terminal = pty.fork()
        if self.process == 0:
            os.environ.update(LINES="24", COLUMNS="80", TERM="xterm-256color")
            os.execv(sys.executable, [sys.executable, "-m", "preflight", "--shop", str(shop)])

    def read(self, seconds: float, marker: bytes = b"") -> bool:
        """Read for that long, or until the marker came; whether it did."""
        end = time.perf_counter() + seconds
        while (left := end - time.perf_counter()) > 0:
            if select.select([self.terminal], [], [], left)[0]:
                with suppress(OSError):
                    self.written += os.read(self.terminal, 65536)
            if marker and marker in self.written:
                return True
        return False

    def kill(self) -> None:
        """SIGKILL, now."""
        os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)
        with suppress(OSError):
            while select.select([self.terminal], [], [], 0.05)[0]:
                more = os.read(self.terminal, 65536)
                if not more:
                    break
                self.written += more
        os.close(self.terminal)


def draft_of(shop: Path) -> dict[str, str]:
    """The answers of the shop's draft; empty when there is none."""
    for file in (shop / DRAFTS).glob("m-*.json"):
        content = json.loads(file.read_text(encoding="utf-8"))
        return dict(content.get("content", content).get("typed", {}))
    return {}


def killed_while_typing(shop: Path, chance: random.Random) -> str:
    """One kill at a random moment of typing; what was lost, in words."""
    app = App(shop)
    if not app.read(20, LOADED):
        return "did not start"
    os.write(app.terminal, TO_TENSION)
    app.read(0.4)
    moment, sent = time.perf_counter() + chance.uniform(0.05, BETWEEN_KEYS * len(DIGITS)), 0
    while time.perf_counter() < moment and sent < len(DIGITS):
        os.write(app.terminal, DIGITS[sent : sent + 1])
        sent += 1
        app.read(min(BETWEEN_KEYS, max(0.0, moment - time.perf_counter())))
    app.kill()
    kept = draft_of(shop).get("tension.1", "")
    if not DIGITS.decode().startswith(kept):
        return "another text"
    return {0: "nothing lost", 1: "last keystroke lost"}.get(sent - len(kept), "more than one keystroke lost")


def killed_while_signing(shop: Path, chance: random.Random) -> str:
    """One kill at a random moment between opening the review and the answer that the record is saved."""
    app = App(shop)
    if not app.read(20, LOADED):
        return "did not start"
    app.read(0.5)
    moment = time.perf_counter() + chance.uniform(0.1, 2.6)
    for keys in SIGNING:
        if time.perf_counter() < moment:
            os.write(app.terminal, keys)
        app.read(min(0.4, max(0.0, moment - time.perf_counter())))
    app.read(max(0.0, moment - time.perf_counter()))
    app.kill()
    found = verify_shop(shop, None)
    records = len(list(shop.glob("checklists/m-*/*/*.toml")))
    if found.status is not Status.UNSIGNED:
        return f"records are {found.status.name.lower()}"
    told = b"Released for this job" in app.written
    draft = draft_of(shop)
    if told and records != 2:
        return "reported saved and lost"
    if records == 1 and draft.get("test_board.left") != YESTERDAY["test_board.left"]:
        return "neither record nor draft"
    return "record saved" if records == 2 else "draft kept"


def prepared(folder: Path) -> Path:
    """A shop with yesterday's record and a draft of today in which everything is answered."""
    shop = folder / "shop"
    make_shop(shop, empty=False)
    counter = itertools.count()
    add_history(shop, now, lambda: f"bench-{next(counter):08d}")
    return shop


def with_everything_answered(shop: Path) -> None:
    """Write the draft that a person leaves behind who has answered everything and not signed."""
    from preflight.tui.desk import Desk, Terminal

    counter = itertools.count()
    from preflight.shop.folder import shop_at

    desk = Desk(shop_at(shop), shop, now, lambda: f"draft-{next(counter):08d}", Terminal("bench", 1), "hall-two")
    run = desk.load().run
    typed = {**run.typed, **YESTERDAY}
    desk.keep(typed, dict.fromkeys(typed, now()), {})
    desk.close()


def now() -> datetime:
    """Local time with its offset."""
    return datetime.now().astimezone()


def main() -> None:
    """Kill, look, count."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    chance, typing, signing = random.Random(20261125), Counter[str](), Counter[str]()
    with tempfile.TemporaryDirectory(prefix="preflight-kill-") as name:
        base = prepared(Path(name))
        (base / DRAFTS).mkdir(exist_ok=True)
        for file in (base / DRAFTS).glob("*.machine"):
            file.unlink()
        (base / DRAFTS / f"{os.uname().nodename}.machine").write_text("hall-two", encoding="utf-8")
        for number in range(kills):
            shop = Path(name, f"shop-{number}")
            shutil.copytree(base, shop)
            if number % 2:
                with_everything_answered(shop)
                (shop / DRAFTS / f"{os.uname().nodename}.machine").write_text("hall-two", encoding="utf-8")
                signing[killed_while_signing(shop, chance)] += 1
            else:
                typing[killed_while_typing(shop, chance)] += 1
            shutil.rmtree(shop)
    for what, counts in (("typing", typing), ("signing", signing)):
        said = ", ".join(f"{text} {count}" for text, count in sorted(counts.items()))
        print(f"killed while {what}, {sum(counts.values())} times: {said}")


if __name__ == "__main__":
    main()
