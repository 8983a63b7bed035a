"""10,000 random tamperings and 10,000 intact chains: `python -m tests.bench.bench_tamper [COUNT]`."""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.record_samples import MACHINE, Keys, record_body, signer
from checklist.tampering import KEYS, TAMPERINGS, Bench

from preflight.checklist.chain import Chain
from preflight.checklist.seal import NO_PREVIOUS, read_seal, seal
from preflight.checklist.verify import Status, verify_chain

SEED = 20261125


def tamper(count: int, folder: Path) -> None:
    bench, rng = Bench(folder), random.Random(SEED)
    done: Counter[str] = Counter()
    unseen: Counter[str] = Counter()
    missed: Counter[str] = Counter()
    start = time.perf_counter()
    while done.total() < count:
        kind = rng.choice(TAMPERINGS)
        tampering = kind(bench, rng)
        if tampering.files == bench.files:
            continue
        done[kind.__name__] += 1
        unseen[kind.__name__] += not tampering.seen_without_head
        if problem := bench.missed(tampering):
            missed[kind.__name__] += 1
            print("  MISSED", kind.__name__, problem)
    seconds = time.perf_counter() - start
    print(f"{'tampering':34} {'done':>6} {'missed':>6} {'only with a head':>16}")
    for name, number in sorted(done.items()):
        print(f"{name:34} {number:6} {missed[name]:6} {unseen[name]:16}")
    print(f"{'all':34} {done.total():6} {missed.total():6} {unseen.total():16}   in {seconds:.1f} s, seed {SEED}")


def intact(count: int, folder: Path) -> None:
    """Chains of one to four records with random texts, each verified with and without its head."""
    rng, alarms, records = random.Random(SEED), 0, 0
    people = [signer(name) for name in ("R. Onslow", "T. Varga")]
    keys: Keys = KEYS
    for _ in range(count):
        chain, previous, length = Chain(folder, MACHINE), NO_PREVIOUS, rng.randint(1, 4)
        for number in range(1, length + 1):
            text = "".join(chr(rng.choice((rng.randint(1, 127), rng.randint(0xA0, 0xD7FF)))) for _ in range(30))
            body = record_body(f"record-{rng.randrange(10**8):08d}", text)
            data = seal(body, machine=MACHINE, sequence=number, previous=previous, signer=rng.choice(people))
            chain.path(number).parent.mkdir(parents=True, exist_ok=True)
            chain.path(number).write_bytes(data)
            previous = read_seal(data).sha256
        for head in (None, chain.head()):
            result = verify_chain(chain.folder, keys, head=head)
            alarms += result.status is not Status.INTACT or result.intact != length
        for number in range(1, length + 1):
            chain.path(number).unlink()
        records += length
    print(f"{count} intact chains of {records} records: {alarms} false alarms")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    for work in (tamper, intact):
        with tempfile.TemporaryDirectory() as name:
            work(count, Path(name))


if __name__ == "__main__":
    main()
