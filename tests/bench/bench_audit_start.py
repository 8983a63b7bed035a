"""How soon the audit shows its first list beside the plain start: `python -m tests.bench.bench_audit_start`.

A pseudo-terminal of 80x24, an invented shop of two months, its index warm. Median of 5 alternating runs: from
starting Python to the run's first frame, and from the audit's key to its first list with the index looked through.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1]))  # the terminal is that of the bench beside this one

from bench.bench_start import FIRST_FRAME, first_frame, open_first, running
from preflight.audit.history_maker import make_history
from preflight.audit.shop_audit import ShopAudit
from preflight.cli.init import make_shop

if TYPE_CHECKING:
    from collections.abc import Sequence

RUNS = 5
TARGET = 1.3
AUDIT_KEY = b"\x12"
LIST_SHOWN = b"last start-up"


def audit_shown(command: Sequence[str]) -> float:
    """Seconds from the key, on a loaded run, to the first lines of the audit."""
    with running(command) as terminal:
        open_first(terminal)
        terminal.settle(2.0)  # keys of the run count once it is loaded
        terminal.send(AUDIT_KEY)
        return terminal.until(LIST_SHOWN)


def main() -> None:
    """Print the figures; never fails on them."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = str(Path(folder, "cache"))
        shop = Path(folder, "shop")
        make_shop(shop, empty=False)
        make_history(shop, datetime.now(UTC), 60)
        audit = ShopAudit(shop)
        audit.fill()
        audit.close()
        command = [sys.executable, "-m", "preflight", "--shop", str(shop)]
        plain, ours = [], []
        for _ in range(RUNS):
            plain.append(first_frame(command, FIRST_FRAME))
            ours.append(audit_shown(command))
        ratio = statistics.median(ours) / statistics.median(plain)
        print(f"first frame of the run {statistics.median(plain) * 1e3:.0f} ms, worst {max(plain) * 1e3:.0f}")
        print(f"audit's first list {statistics.median(ours) * 1e3:.0f} ms, worst {max(ours) * 1e3:.0f}")
        print(f"ratio {ratio:.2f}, target under {TARGET}")


if __name__ == "__main__":
    main()
