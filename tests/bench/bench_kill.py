"""SIGKILL at random moments of typing, of saving, and of saving signed: `python -m tests.bench.bench_kill [COUNT]`.

1,000 each; signed a fifth of that, since each child first opens its sealed key at the full cost of scrypt.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # the samples are those of the tests

from checklist.people_samples import PIN, PeopledShop, seed
from checklist.record_samples import PERSON
from checklist.test_kill import Spawner, save_and_kill, type_and_kill

from preflight.checklist.people import enrol
from preflight.checklist.register import Register, read_register
from preflight.checklist.store import prepare_shop


def peopled(shop: Path) -> Register:
    """The shop founded, one operator admitted, with keys sealed as the product seals them."""
    made = PeopledShop.founded(shop, shop.parent / "keys")
    made.keys.keep(enrol(PERSON, "operator", PIN, seed=seed(PERSON), salt=bytes(16), nonce=bytes(12)))
    made.admit(PERSON, "operator")
    return read_register(shop)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000
    for kind in ("typing", "saving", "signing"):
        with tempfile.TemporaryDirectory() as name:
            shop = Path(name, "shop")
            shop.mkdir()
            prepare_shop(shop)
            register = peopled(shop) if kind == "signing" else None
            spawner = Spawner(shop, Path(name, "log"))
            try:
                if kind == "typing":
                    print(type_and_kill(spawner, count))
                else:
                    print(save_and_kill(spawner, count // 5 if register else count, register), flush=True)
            finally:
                spawner.close()


if __name__ == "__main__":
    main()
