"""Who else may write to a shop or read a key is said, once and by name; a private group is nobody."""

from __future__ import annotations

import grp
import pwd
from typing import TYPE_CHECKING, NamedTuple

import pytest

from preflight.file_rights import keys_notice, shared_with, shop_notice

if TYPE_CHECKING:
    from pathlib import Path


class Group(NamedTuple):
    gr_name: str
    gr_mem: list[str]


class Owner(NamedTuple):
    pw_name: str


@pytest.fixture(autouse=True)
def sanders(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every file here is of the owner onslow and the group sanders, of two people."""
    monkeypatch.setattr(pwd, "getpwuid", lambda _: Owner("onslow"))
    monkeypatch.setattr(grp, "getgrgid", lambda _: Group("sanders", ["onslow", "varga"]))


def test_a_folder_of_its_owner_alone_is_not_spoken_of(tmp_path: Path) -> None:
    for mode in (0o700, 0o755):
        tmp_path.chmod(mode)
        assert shop_notice(tmp_path) == ""


def test_a_group_and_everybody_are_named(tmp_path: Path) -> None:
    tmp_path.chmod(0o775)
    assert shop_notice(tmp_path) == "The shop folder can be changed by the group sanders."
    tmp_path.chmod(0o777)
    assert shop_notice(tmp_path) == "The shop folder can be changed by everybody on this computer."


def test_the_private_group_of_the_owner_is_nobody(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tmp_path.chmod(0o775)
    monkeypatch.setattr(grp, "getgrgid", lambda _: Group("onslow", []))
    assert shop_notice(tmp_path) == ""
    monkeypatch.setattr(grp, "getgrgid", lambda _: Group("onslow", ["varga"]))
    assert "the group onslow" in shop_notice(tmp_path)


def test_a_group_that_has_no_name_is_told_by_number(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def nobody(_: int) -> None:
        raise KeyError

    tmp_path.chmod(0o775)
    monkeypatch.setattr(grp, "getgrgid", nobody)
    assert shared_with(tmp_path) == f"the group {tmp_path.stat().st_gid}"


def test_key_files_that_others_can_read_are_named_with_what_to_do(tmp_path: Path) -> None:
    tmp_path.chmod(0o700)
    key = tmp_path / "k-1.toml"
    key.write_bytes(b"")
    key.chmod(0o600)
    assert keys_notice(tmp_path) == ""
    key.chmod(0o640)
    assert keys_notice(tmp_path) == f"The key file k-1.toml can be read by the group sanders: chmod 600 {tmp_path}/k-*"
    key.chmod(0o604)
    assert "can be read by everybody on this computer" in keys_notice(tmp_path)
    tmp_path.chmod(0o770)
    assert keys_notice(tmp_path) == (
        f"The folder of key files can be changed by the group sanders: chmod 700 {tmp_path}"
    )


def test_what_is_not_there_is_not_spoken_of(tmp_path: Path) -> None:
    assert shop_notice(tmp_path / "gone") == keys_notice(tmp_path / "gone") == ""


@pytest.mark.parametrize(("mode", "said"), [(0o777, "The shop folder can be changed by everybody"), (0o700, "")])
def test_a_link_that_a_person_named_is_judged_by_where_it_leads(tmp_path: Path, mode: int, said: str) -> None:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop").chmod(mode)
    (tmp_path / "link").symlink_to("shop")
    assert shop_notice(tmp_path / "link").startswith(said)
    assert bool(shop_notice(tmp_path / "link")) is bool(said)
