"""Chains of records as long as real ones, for the benches: a start-up and a run of the invented history, in turn."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from preflight.audit.history_maker import make_history
from preflight.checklist.body import write_body
from preflight.checklist.body_reader import read_body
from preflight.checklist.seal import NO_PREVIOUS, Sealed, read_seal, seal
from preflight.cli.init import make_shop

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from preflight.checklist.chain import Chain
    from preflight.checklist.signing import Ed25519Signer

OPERATOR = "D. Marrow"
NOW = datetime.fromisoformat("2026-11-26T06:40:00+00:00")
_TIME, _ID = b"2000-01-01T00:00:00+00:00", b"I" * 32


def bodies(folder: Path) -> list[bytes]:
    """A real start-up and a real run of the operator, each with a time and an id to be put in."""
    shop = folder / "history"
    make_shop(shop, empty=False)
    make_history(shop, NOW, 3, sheets=("ok-two-heads",))
    read = [read_body(read_seal(path.read_bytes()).body) for path in sorted(shop.glob("checklists/*/*/*.toml"))]
    shutil.rmtree(shop)
    made = []
    for kind in ("startup", "run"):
        model: dict[str, Any] = next(body for body in read if body["record"]["kind"] == kind)
        record = model["record"] | {"name": OPERATOR, "role": "operator", "id": _ID.decode()}
        made.append(write_body({**model, "record": record | dict.fromkeys(("utc", "local"), _TIME.decode())}))
    return made


def generate(chain: Chain, models: list[bytes], count: int, by: Ed25519Signer) -> Iterator[Sealed]:
    """Write so many signed records, six hours apart, the newest of yesterday; each as it was written."""
    previous = NO_PREVIOUS
    for number in range(1, count + 1):
        at = NOW - timedelta(days=1) - timedelta(hours=6) * (count - number)
        body = models[(number + count) % len(models)].replace(_TIME, at.isoformat().encode())
        body = body.replace(_ID, f"{number:032x}".encode())
        data = seal(body, machine=chain.machine, sequence=number, previous=previous, signer=by)
        path = chain.path(number)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        sealed = read_seal(data)
        previous = sealed.sha256
        yield sealed
