"""Eight processes save 2,000 signed records on one machine: `python -m tests.bench.bench_store [COUNT]`."""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.record_samples import chain_of
from checklist.test_store_concurrent import PEOPLE, save_at_once


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2_000
    for locks in ("locks", "no locks"):
        with tempfile.TemporaryDirectory() as name:
            start = time.perf_counter()
            reported, result = save_at_once(Path(name), count // len(PEOPLE), locks)
            seconds = time.perf_counter() - start
        print(
            f"{len(PEOPLE)} processes, {locks}: {len(reported)} distinct numbers up to {max(reported)}, chain "
            f"{result.status.value}, {len(result.problems)} problems, {seconds:.1f} s with start and verification"
        )
    with tempfile.TemporaryDirectory() as name:
        start = time.perf_counter()
        chain_of(Path(name), 200, "R. Onslow")
        print(
            f"one process: {(time.perf_counter() - start) / 200 * 1e3:.2f} ms a record, waiting for the disk included"
        )


if __name__ == "__main__":
    main()
