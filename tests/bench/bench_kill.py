"""SIGKILL at 1,000 random moments of saving and 1,000 of typing: `python -m tests.bench.bench_kill [COUNT]`."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.test_kill import Spawner, save_and_kill, type_and_kill

from preflight.checklist.store import prepare_shop


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000
    for work in (type_and_kill, save_and_kill):
        with tempfile.TemporaryDirectory() as name:
            prepare_shop(Path(name))
            spawner = Spawner(Path(name), Path(name) / "log")
            try:
                print(work(spawner, count))
            finally:
                spawner.close()


if __name__ == "__main__":
    main()
