"""2,000 generated drills: is what was planted exactly what is found? `python -m tests.bench.bench_drills [COUNT]`."""

from __future__ import annotations

import sys
import time
from collections import Counter

from preflight.training.drill import expected, not_ok
from preflight.training.generator import generated


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2_000
    start, wrong = time.perf_counter(), 0
    faults: Counter[str] = Counter()
    for seed in range(count):
        drill = generated(seed, 1 + seed % 3)
        faults.update(fault.fault for fault in drill.planted)
        if not_ok(drill.answer()) != expected(drill):
            wrong += 1
            print(f"{drill.id}: {sorted(not_ok(drill.answer()) ^ expected(drill), key=str)}")
    seconds = time.perf_counter() - start
    print(
        f"{count} drills, {faults.total()} faults of {len(faults)} kinds planted, {wrong} drills not exact; "
        f"{seconds / count * 1e3:.1f} ms a drill"
    )


if __name__ == "__main__":
    main()
