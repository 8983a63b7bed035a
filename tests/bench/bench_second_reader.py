"""The product against a second reader: `python -m tests.bench.bench_second_reader [SHOPS [BODIES]] [misplaced]`.

The second reader was written from the specification alone. With `misplaced` kinds of the register are laid into
machines' chains and the other way round.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.second_trial import Agreement, Bodies, Shops

SEED = 20261128


def main() -> None:
    numbers = [given for given in sys.argv[1:] if given.isdigit()]
    shops, bodies = (int(given) for given in (numbers + ["1000", "5000"][len(numbers) :]))
    for what in ("shops", "bodies"):
        found, start = Agreement(), time.perf_counter()
        with tempfile.TemporaryDirectory() as name:
            os.environ["HOME"] = os.environ["XDG_DATA_HOME"] = name  # no memory of founders
            if what == "shops":
                Shops(Path(name), SEED, misplaced="misplaced" in sys.argv).run(shops, found)
                looked = f"{found.shops} tampered shops, with and without a head, {found.records} records"
            else:
                Bodies(Path(name), SEED).compare(bodies, found)
                looked = (
                    f"{found.bodies} forged bodies ({found.beyond} refused for a quantity, beyond the specification)"
                )
        print(f"{looked}, {found.wrong} of them wrong: {len(found.disagreements)} disagreements")
        print(f"  {time.perf_counter() - start:.0f} s, seed {SEED}")
        print("\n".join(f"  {text}" for text in found.disagreements), end="\n" if found.disagreements else "")


if __name__ == "__main__":
    main()
