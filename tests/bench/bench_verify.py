"""Verifying records against bare read, SHA-256 and Ed25519: `python -m tests.bench.bench_verify [COUNT [BODIES]]`.

Start-ups as long as real ones, and runs between them. Seals, links and signatures of all of them with bodies that were
read before; what it costs to read a body for the first time is taken from BODIES of them and printed apart. The runs
alternate over the same files; figures are of the fastest run of each, in the processor's time.
"""

from __future__ import annotations

import hashlib
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from datetime import timedelta

from checklist.record_samples import MACHINE, Keys, signer
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from bench.real_records import NOW, OPERATOR, bodies, generate
from preflight.checklist.body_memory import BodyMemory
from preflight.checklist.chain import Chain
from preflight.checklist.heading import Heading
from preflight.checklist.record import heading_in
from preflight.checklist.signing import AdmittedKey
from preflight.checklist.verify import Status, verify_chain

LONG_AGO = NOW - timedelta(days=100 * 365)
KEYS = Keys(
    {(key := signer(OPERATOR)).key_id: AdmittedKey(key.public, OPERATOR, LONG_AGO, roles=((LONG_AGO, "operator"),))}
)
"""Admitted since a time and as something, as people are: time, name and role of each record are compared too."""
RUNS = 3
Part = tuple[str, bytes, int]


def bare(parts: list[Part]) -> float:
    key = Ed25519PublicKey.from_public_bytes(signer(OPERATOR).public)
    start = time.process_time()
    for path, signature, length in parts:
        with open(path, "rb") as file:  # noqa: PTH123  # the bare way
            data = file.read()
        hashlib.sha256(data).digest()
        key.verify(signature, b"preflight/record/1\n" + data[:length])
    return time.process_time() - start


def verified(chain: Chain, count: int, path: Path) -> float:
    start = time.process_time()
    with BodyMemory(path) as memory:
        result = verify_chain(chain.folder, KEYS, head=chain.head(), headings=memory.heading)
    seconds = time.process_time() - start
    if result.status is not Status.INTACT or result.intact != count:
        raise AssertionError(result)
    return seconds


def first_reading(chain: Chain, count: int, path: Path) -> float:
    """Seconds a body, read and remembered."""
    from preflight.checklist.seal import read_seal

    sealed = [read_seal(chain.path(number).read_bytes()) for number in range(1, count + 1)]
    start = time.process_time()
    with BodyMemory(path) as memory:
        for record in sealed:
            memory.heading(record)
    return (time.process_time() - start) / count


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    sample = min(count, int(sys.argv[2]) if len(sys.argv) > 2 else 500)
    with tempfile.TemporaryDirectory() as name:
        chain, memory = Chain(Path(name), MACHINE), Path(name, "memory", "bodies.sqlite3")
        models, parts, size = bodies(Path(name)), [], 0
        with BodyMemory(memory) as known:
            for sealed in generate(chain, models, count, signer(OPERATOR)):
                if sealed.sequence <= len(models):
                    heading = heading_in(sealed)
                    assert isinstance(heading, Heading)
                known.remember(sealed.sha256, heading)  # of another time and id, which verifying does not compare
                parts.append((str(chain.path(sealed.sequence)), sealed.signature, sealed.signed_bytes))
                size += len(sealed.data)
        pairs = [(bare(parts), verified(chain, count, memory)) for _ in range(RUNS)]
        body = first_reading(chain, sample, Path(name, "first", "bodies.sqlite3"))
    lower, ours = min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)
    print(f"{count} records of {size // count} bytes on average: bare {lower:.2f} s, verified {ours:.2f} s,")
    print(f"ratio {ours / lower:.2f}; a body for the first time {body * 1000:.2f} ms, of all {body * count:.0f} s")


if __name__ == "__main__":
    main()
