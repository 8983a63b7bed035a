"""Verifying stored records against bare read + SHA-256 + Ed25519: `python -m tests.bench.bench_verify [COUNT]`.

The runs alternate over the same files; figures are of the fastest run of each.
"""

from __future__ import annotations

import hashlib
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.record_samples import DAWN, MACHINE, Keys, record_body, signer
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from preflight.checklist.chain import Chain
from preflight.checklist.seal import NO_PREVIOUS, read_seal, seal
from preflight.checklist.signing import AdmittedKey
from preflight.checklist.verify import Status, verify_chain

PERSON = "R. Onslow"
KEYS = Keys({(key := signer(PERSON)).key_id: AdmittedKey(key.public, PERSON, DAWN, roles=((DAWN, "operator"),))})
"""Admitted since a time and as something, as people are: time, name and role of each record are compared too."""
RUNS = 3


def generate(chain: Chain, count: int) -> list[tuple[str, bytes, int]]:
    """Write the chain; path, signature and length of the signed part of each record."""
    previous, by, parts = NO_PREVIOUS, signer(PERSON), []
    for number in range(1, count + 1):
        body = record_body(f"record-{number:08d}", "drum sound, conveyor sound, eye clean. " * 300)
        data = seal(body, machine=MACHINE, sequence=number, previous=previous, signer=by)
        path = chain.path(number)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        record = read_seal(data)
        previous = record.sha256
        parts.append((str(path), record.signature, record.signed_bytes))
    return parts


def bare(parts: list[tuple[str, bytes, int]]) -> float:
    key = Ed25519PublicKey.from_public_bytes(signer(PERSON).public)
    start = time.perf_counter()
    for path, signature, length in parts:
        with open(path, "rb") as file:  # noqa: PTH123  # the bare way
            data = file.read()
        hashlib.sha256(data).digest()
        key.verify(signature, b"preflight/record/1\n" + data[:length])
    return time.perf_counter() - start


def verified(chain: Chain, count: int) -> float:
    start = time.perf_counter()
    result = verify_chain(chain.folder, KEYS, head=chain.head())
    seconds = time.perf_counter() - start
    if result.status is not Status.INTACT or result.intact != count:
        raise AssertionError(result)
    return seconds


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    with tempfile.TemporaryDirectory() as name:
        chain = Chain(Path(name), MACHINE)
        parts = generate(chain, count)
        pairs = [(bare(parts), verified(chain, count)) for _ in range(RUNS)]
        size = Path(parts[0][0]).stat().st_size
    lower, ours = min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)
    print(f"{count} records of {size} bytes: bare {lower:.2f} s, verified {ours:.2f} s, ratio {ours / lower:.2f}")


if __name__ == "__main__":
    main()
