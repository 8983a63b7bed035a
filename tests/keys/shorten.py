"""Of a failing run the fewest bursts that still fail alike: python -m tests.keys.shorten SEED [--keys 400]."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
import tempfile
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from keys.keystrokes import KEYS_A_RUN
from keys.monkey import MORNING, planned, play, pressed
from keys.shops import Templates

if TYPE_CHECKING:
    from keys.keystrokes import Burst

WORDS = 2
"""First words of a failure by which two are alike."""


class Failing:
    """One seed's run, played again and again with fewer bursts."""

    def __init__(self, seed: int, folder: Path) -> None:
        self._seed = seed
        self._folder = folder
        self._templates = Templates(folder / "templates")
        self._played = 0

    def failure(self, keys: list[Burst]) -> str:
        """What these bursts fail with; empty when all holds."""
        outcome, chance = planned(self._seed)
        self._played += 1
        into = self._folder / f"try-{self._played}"
        shop = self._templates.shop(into, outcome.state, chance, MORNING, peopled=outcome.peopled)
        found = play(outcome, shop, keys, Random(self._seed)).failures
        return found[0] if found else ""

    def keys(self, count: int) -> list[Burst]:
        """The bursts of that seed."""
        outcome, chance = planned(self._seed)
        self._templates.shop(self._folder / "first", outcome.state, chance, MORNING, peopled=outcome.peopled)
        return pressed(outcome, chance, count)


def alike(one: str, other: str) -> bool:
    """Whether two failures begin alike."""
    return bool(one) and one.split()[:WORDS] == other.split()[:WORDS]


def shortened(run: Failing, keys: list[Burst], failure: str) -> list[Burst]:
    """Fewer and fewer bursts, leaving out ever smaller parts, as long as the failure stays alike."""
    size = len(keys) // 2
    while size:
        at = 0
        while at < len(keys):
            fewer = keys[:at] + keys[at + size :]
            if fewer and alike(run.failure(fewer), failure):
                keys = fewer
            else:
                at += size
        size //= 2
    return keys


def main() -> int:
    """Print the failure and the bursts that are left; status 1 when there was one."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("seed", type=int)
    parser.add_argument("--keys", type=int, default=KEYS_A_RUN)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="monkey-") as name, Path(os.devnull).open("w") as nowhere:
        run = Failing(asked.seed, Path(name))
        keys = run.keys(asked.keys)
        with contextlib.redirect_stderr(nowhere), contextlib.redirect_stdout(nowhere):
            failure = run.failure(keys)
            fewest = shortened(run, keys, failure) if failure else []
    print(failure or "held")
    for burst in fewest:
        print(f"  {' '.join(burst.keys)}   [{burst.wait}]")
    return int(bool(failure))


if __name__ == "__main__":
    sys.exit(main())
