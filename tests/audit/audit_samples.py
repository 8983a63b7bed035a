"""A small invented shop with records, made once a test sitting, and a plain way to add records to a chain."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from checklist.record_samples import whole

from preflight.audit.history_maker import make_history
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.store import Saved, commit, prepare_shop
from preflight.cli.init import make_shop

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.signing import Signer

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MACHINE = "m-7f3a91c2d04e"


def invented_shop(folder: Path, days: int = 14) -> Path:
    """The bundled machines with that many days of records."""
    shop = folder / "shop"
    make_shop(shop, empty=False)
    make_history(shop, NOW, days)
    return shop


def copied(shop: Path, folder: Path) -> Path:
    """A shop that a test may spoil."""
    return shutil.copytree(shop, folder / "copy")


def add_record(shop: Path, number: int, machine: str = MACHINE, *, by: Signer | None = None, **more: Any) -> Saved:
    """One small record, signed by `by`; `more` are tables, or fields of its heading as `heading={...}`."""
    prepare_shop(shop)
    at = NOW - timedelta(hours=number)
    heading = {"kind": "startup", "id": f"record-{number:08d}", "name": "D. Marrow"}
    heading |= {"utc": at.isoformat(), "local": at.isoformat(), **more.pop("heading", {})}
    job = {"job": f"job {number}"} if heading["kind"] in ("startup", "held", "late") else {}
    body = write_body(whole({"record": heading, **job, **more}))
    return commit(Chain(shop, machine), lambda _: body, record_id=heading["id"], signer=by, token="tokentoken")
