"""Kills of a desk that signs with a sealed key: at every operation that changes the disk, the others at random moments.

After each the shop is opened again: every number once, no record half, no draft of a saved record offered again, and a
draft that became nothing is signed. Run: python -m tests.bench.bench_kill_signing [KILLS]
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.kill_at_signing import Point, signer_in


def main() -> None:
    """Kill, look, count; a shop that is not whole ends it with what was found."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    chance, found = random.Random(20261126), Counter[str]()
    with tempfile.TemporaryDirectory(prefix="preflight-kill-") as name:
        for variable in ("HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
            os.environ[variable] = str(Path(name, "home"))
        signer = signer_in(Path(name))
        began = time.monotonic()
        done = signer.operations()
        whole = time.monotonic() - began
        points = [Point(number, after) for number in range(len(done)) for after in (False, True)]
        for point in points:
            what = signer.killed_at(point)
            found[what] += 1
            print(f"{'after' if point.after else 'before'} {point.number + 1} {done[point.number]}: {what}", flush=True)
        for number in range(kills - len(points)):
            found[signer.killed_after(chance.uniform(0, whole / 3), f"moment-{number}")] += 1
            if number % 50 == 49:
                print(f"{number + 1} kills at random moments: {dict(found)}", flush=True)
    print(
        f"{sum(found.values())} kills while signing with a sealed key, {len(points)} at each of {len(done)} operations:"
    )
    print(", ".join(f"{what} {count}" for what, count in sorted(found.items())))


if __name__ == "__main__":
    main()
