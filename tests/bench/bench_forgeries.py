"""5,000 forged spellings and 300 intact chains: `python -m tests.bench.bench_forgeries [FORGERIES] [CHAINS]`."""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.forgery_trial import Trial, honest_shops

SEED = 20261128


def main() -> None:
    forgeries, chains = (int(given) for given in (sys.argv[1:] + ["5000", "300"][len(sys.argv) - 1 :]))
    with tempfile.TemporaryDirectory() as name:
        start, trial = time.perf_counter(), Trial(Path(name), SEED)
        trial.run(forgeries)
        print(f"{forgeries} spellings signed by an operator, seed {SEED}, {time.perf_counter() - start:.0f} s:")
        print(f"  taken for a lead's: {len(trial.taken_for_a_lead)}")
        print(f"  accepted as the operator's own: {trial.own}, of them read otherwise by TOML: {len(trial.read_apart)}")
        print(f"  no TOML at all: {trial.no_toml}")
        print(f"  a search for the first [record] would have been fooled by: {trial.would_fool}")
        for reason, count in trial.refusals.most_common(12):
            print(f"  {count:5} {reason}")
    with tempfile.TemporaryDirectory() as name:
        start, found = time.perf_counter(), honest_shops(Path(name), chains, SEED)
        seconds = time.perf_counter() - start
        print(f"{chains} intact chains of {found.records} records, {seconds:.0f} s: {len(found.alarms)} false alarms")
        print("\n".join(found.alarms[:5]))


if __name__ == "__main__":
    main()
