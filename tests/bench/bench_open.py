"""Opening a machine with 10, 1,000 and 10,000 records: `python -m tests.bench.bench_open [COUNT …]`.

The load of the app's start and `assess --shop`, in a shop with people, cold (no body was read before) and warm, against
a bare read with SHA-256 and Ed25519 of the newest records in the same run. Start-ups are as long as real ones; every
second record is a run. Times are the processor's, so that others at work on the machine do not count.
"""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

import hashlib
from typing import TYPE_CHECKING

from checklist.people_samples import PeopledShop
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from bench.real_records import NOW, OPERATOR, bodies, generate
from preflight.__main__ import main as preflight
from preflight.checklist.chain import Chain
from preflight.checklist.seal import read_seal
from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.desk import Desk, Terminal

if TYPE_CHECKING:
    from collections.abc import Callable

MACHINE = "hall-two"
RUNS = 3
LOOKED_AT = 120
"""Newest records that a start looks at where there are as many: sixty start-ups and the runs between them."""


def chain_of(shop: Path) -> Chain:
    """Of the machine that is opened."""
    return Chain(shop, shop_at(shop).load(Machine, MACHINE).value.id)


def bare(people: PeopledShop, count: int) -> float:
    """Read, digest and signature of the newest records that a start looks at, and nothing else."""
    chain, key = chain_of(people.shop), Ed25519PublicKey.from_public_bytes(people.signer(OPERATOR).public)
    numbers = range(max(1, count - LOOKED_AT + 1), count + 1)
    parts = [(chain.path(n), read_seal(chain.path(n).read_bytes())) for n in numbers]
    start = time.process_time()
    for path, sealed in parts:
        data = path.read_bytes()
        hashlib.sha256(data).digest()
        key.verify(sealed.signature, b"preflight/record/1\n" + data[: sealed.signed_bytes])
    return time.process_time() - start


def load(people: PeopledShop) -> float:
    """The load of the app's start."""
    tokens = iter(f"bench-token-{n:06d}" for n in range(99))
    desk = Desk(shop_at(people.shop), people.shop, lambda: NOW, lambda: next(tokens), Terminal("bench", 1), MACHINE)
    start = time.process_time()
    loaded = desk.load()
    seconds = time.process_time() - start
    desk.close()
    shutil.rmtree(people.shop / "drafts")
    assert loaded.run.history is not None
    assert loaded.run.history.sheets
    return seconds


def assess(people: PeopledShop) -> float:
    """`preflight assess --shop`."""
    start = time.process_time()
    with contextlib.redirect_stdout(io.StringIO()):
        preflight(["assess", "ok-two-heads", "--shop", str(people.shop)])
    return time.process_time() - start


def timed(work: Callable[[], float], cache: Path) -> tuple[float, float]:
    """Fastest without and with a memory of bodies."""
    cold = []
    for _ in range(RUNS):
        shutil.rmtree(cache, ignore_errors=True)
        cold.append(work())
    return min(cold), min(work() for _ in range(RUNS))


def main() -> None:
    counts = [int(given) for given in sys.argv[1:]] or [10, 1_000, 10_000]
    print(" records  load cold  load warm  assess cold  assess warm  bare newest   (processor time)")
    with tempfile.TemporaryDirectory() as name:
        cache = Path(name, "cache")
        os.environ |= {"XDG_CACHE_HOME": str(cache), "XDG_DATA_HOME": str(Path(name, "data"))}
        models = bodies(Path(name))
        for count in counts:
            shop = Path(name, str(count))
            os.environ["XDG_DATA_HOME"] = str(Path(name, "data", str(count)))  # the same founder in several shops
            make_shop(shop, empty=False)
            people = PeopledShop.founded(shop, Path(name, "keys", str(count)), NOW - timedelta(days=4000))
            people.admit(OPERATOR, "operator")
            for _ in generate(chain_of(shop), models, count, people.signer(OPERATOR)):
                pass
            loads, assessed = timed(lambda: load(people), cache), timed(lambda: assess(people), cache)  # noqa: B023
            figures = (*loads, *assessed, bare(people, count))
            widths = (10, 10, 12, 12, 12)
            print(f"{count:8}" + "".join(f" {s * 1000:{w - 3}.0f} ms" for s, w in zip(figures, widths, strict=True)))
            shutil.rmtree(shop)


if __name__ == "__main__":
    main()
