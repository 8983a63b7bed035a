"""The search for typed secrets finds one in each place where it could lie, and none where there is none."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

from secrets_left import secrets_left

if TYPE_CHECKING:
    from pathlib import Path

PIN, PASSPHRASE = "48190375", "ash oak and beech"


def test_it_finds_a_secret_in_files_names_and_screens_and_only_there(tmp_path: Path) -> None:
    shop, logs = tmp_path / "shop", tmp_path / "logs"
    for folder in (shop / "drafts", logs):
        folder.mkdir(parents=True)
    (shop / "drafts" / "m.json").write_text('{"typed": {"stock.thinnest": "4819"}}', encoding="utf-8")
    clean = "PIN, not shown\n········"
    assert secrets_left([PIN, PASSPHRASE], [shop, logs, tmp_path / "absent"], [clean]) == []
    (logs / "log").write_bytes(base64.b64encode(PASSPHRASE.encode()))
    (shop / "drafts" / PIN).touch()
    (shop / "a.toml").write_text(f'told = "x{PIN}"', encoding="utf-8")
    wrapped = "Who was told? │ash oak\n and beech│"
    places = secrets_left([PIN, PASSPHRASE], [shop, logs], [clean, wrapped.replace("│", "")])
    assert places == [str(shop / "a.toml"), str(shop / "drafts" / PIN), str(logs / "log"), "screen 1"]
