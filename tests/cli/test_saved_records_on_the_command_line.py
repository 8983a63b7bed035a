"""`assess --shop` judges by earlier records too; `verify` says what the records are worth."""

from __future__ import annotations

import json
import tomllib
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from checklist.record_samples import whole

from preflight.__main__ import main
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.store import commit, prepare_shop
from preflight.shop.bundled import bundled
from preflight.shop.files import load
from preflight.shop.machine import Machine

if TYPE_CHECKING:
    from pathlib import Path

YESTERDAY = datetime(2026, 11, 24, 5, 50, tzinfo=UTC)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    assert main(["init", str(folder)]) == 0
    return folder


def save_yesterday(shop: Path, gauge: str) -> Path:
    """One unsigned record of yesterday, the same belts on, with this tension on head 1. Returns its file."""
    sheet = tomllib.loads((bundled() / "sheets" / "ok-two-heads.toml").read_text("utf-8"))
    sheet["tension"]["1"] = gauge
    record = {
        "kind": "startup",
        "id": "record-of-yesterday",
        "name": "D. Marrow",
        "utc": YESTERDAY.isoformat(),
        "local": YESTERDAY.isoformat(),
    }
    prepare_shop(shop)
    chain = Chain(shop, load(shop / "machines" / "hall-two.toml", Machine).value.id)
    body = write_body(whole({"record": record, **sheet}))
    commit(chain, lambda _head: body, record_id=record["id"], signer=None, token="tokentoken")
    return chain.path(1)


def assessed(capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, dict[str, Any]]:
    capsys.readouterr()
    status = main(["assess", "ok-two-heads", "--json", *more])
    return status, json.loads(capsys.readouterr().out)


def test_history_counts_only_when_the_shop_is_named_with_the_option(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # common practice, no source: more than 0.3 bar away from the last reading with the same belt asks for a look
    save_yesterday(shop, "3.7 bar")
    monkeypatch.setenv("PREFLIGHT_SHOP", str(shop))
    assert assessed(capsys)[0] == 0
    status, found = assessed(capsys, "--shop", str(shop))
    assert status == 1
    assert [check["check"] for check in found["checks"] if check["verdict"] == "caution"] == ["tension"]


def test_a_shop_without_records_is_judged_as_without_history(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert assessed(capsys, "--shop", str(shop)) == (0, assessed(capsys)[1] | {"profile_sha256": digest(shop)})


def digest(shop: Path) -> str:
    """The demo shop's machine has an id of its own, so its profile has a digest of its own."""
    return load(shop / "machines" / "hall-two.toml", Machine).sha256


def test_an_unsigned_record_is_never_called_intact(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    save_yesterday(shop, "4.1 bar")
    assert main(["verify", str(shop)]) == 1
    said = capsys.readouterr().out
    assert "unsigned, 0 signed and intact, 1 unsigned" in said
    assert "cannot be proven without a head kept elsewhere" in said
    assert "Verification: unsigned (exit status 1)." in said


def test_a_changed_byte_is_found_and_the_file_named(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = save_yesterday(shop, "4.1 bar")
    path.write_bytes(path.read_bytes().replace(b"4.1 bar", b"4.2 bar", 1))
    assert main(["verify", "--shop", str(shop)]) == 2
    said = capsys.readouterr().out
    assert str(path) in said
    assert "Verification: wrong (exit status 2)." in said


def test_a_shop_without_people_takes_a_countersignature_in_a_stated_role(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    save_yesterday(shop, "4.2 bar")
    countersign = ["record", "countersign", "hall-two", "1", "--shop", str(shop), "--by", "S. Ollery"]
    assert main(countersign) == 3
    assert "S. Ollery is operator" in capsys.readouterr().err
    assert main([*countersign, "--role", "lead", "--remark", "gauge compared"]) == 0
    assert "Record 2 saved, unsigned" in capsys.readouterr().out
