"""What a name in a shop stands for: that shop's own file, or an error that names it. Nothing else ever stands in."""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING

import pytest

from preflight.__main__ import main
from preflight.cli.init import make_shop
from preflight.errors import PreflightError
from preflight.shop.bundled import bundled
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.extraction import Extraction
from preflight.shop.folder import FOLDERS, NotInShopError, Shop, home_of, shop_at
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError

if TYPE_CHECKING:
    from pathlib import Path

    from pydantic import BaseModel

NAMED: dict[type[BaseModel], str] = {
    Machine: "hall-two",
    Extraction: "hall-duct",
    JobCard: "ash-stair-treads",
    BeltCard: "H-204",
}
"""What the sample sheet names, of each kind."""


@pytest.fixture(autouse=True)
def no_other_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PREFLIGHT_SHOP", raising=False)
    for variable in ("HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "USERPROFILE", "LOCALAPPDATA"):
        monkeypatch.setenv(variable, str(tmp_path / "home"))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    make_shop(tmp_path / "shop", empty=False)
    return tmp_path / "shop"


def refused(argv: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert main(argv) == 3
    said = capsys.readouterr()
    assert said.out == ""
    assert "own failure" not in said.err
    return said.err


@pytest.mark.parametrize(("model", "ref"), NAMED.items(), ids=FOLDERS.values())
def test_a_file_that_is_renamed_or_gone_is_missed_by_name_and_the_demo_s_never_stands_in(
    shop: Path, model: type[BaseModel], ref: str, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = shop / "sheets" / "ok-two-heads.toml"
    assert main(["assess", str(sheet)]) == 0
    file = shop / FOLDERS[model] / f"{ref}.toml"
    file.rename(file.with_name("other.toml"))
    commands = [["assess", str(sheet)], ["assess", str(sheet), "--shop", str(shop)]]
    commands.append(["assess", "ok-two-heads", "--shop", str(shop)])
    for command in commands:
        assert f"{ref!r} here." in refused(command, capsys)
    shutil.rmtree(file.parent)
    for command in commands:
        assert f"{ref!r} here. Known here: none." in refused(command, capsys).replace("\npreflight:", "")


@pytest.mark.parametrize(
    "words",
    [
        ["airflow", "--open", "two-1", "--machine", "hall-two"],
        ["airflow", "--open", "two-1", "--extraction", "hall-duct"],
        ["feed", "--machine", "hall-two", "--part", "180 mm x 700 mm x 19 mm, 60"],
        ["marks", "--machine", "hall-two", "--span", "121 mm", "--count", "10"],
        ["belts", "--machine", "hall-two", "--head", "1"],
        ["belts", "--machine", "hall-three", "--head", "1", "--job", "ash-stair-treads"],
        ["profiles", "check", "hall-two"],
        ["record", "show", "hall-two", "1"],
        ["audit", "form", "--machine", "hall-two"],
    ],
    ids=" ".join,
)
def test_no_command_takes_the_demo_s_file_for_one_that_the_shop_has_not(
    shop: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    for model, ref in NAMED.items():
        (shop / FOLDERS[model] / f"{ref}.toml").unlink()
    assert " here." in refused([*words, "--shop", str(shop)], capsys)


def test_where_there_is_no_shop_a_command_says_that_it_uses_the_demo_s(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["airflow", "--open", "two-1", "--machine", "hall-two", "--json"]) in (0, 1, 2)
    said = capsys.readouterr()
    assert said.err.startswith("NOTE: There is no shop folder, so these are the demo's profiles.")
    assert said.out.startswith("{")


def test_a_sheet_outside_a_shop_uses_no_demo_files_without_being_a_sample(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "my.toml"
    shutil.copy(bundled() / "sheets" / "ok-two-heads.toml", sheet)
    assert "No machine profile 'hall-two' here." in refused(["assess", str(sheet)], capsys)
    assert main(["assess", "ok-two-heads"]) == 0


def test_the_shop_that_a_file_lies_in(shop: Path, tmp_path: Path) -> None:
    assert home_of(shop / "sheets" / "a.toml") == home_of(shop / "belts" / "a.toml") == home_of(shop / "a.toml") == shop
    assert home_of(tmp_path / "a.toml") is None
    other = Shop((tmp_path / "other",))
    assert other.with_home_of(shop / "machines" / "a.toml").roots == (tmp_path / "other", shop)


@pytest.mark.parametrize(
    ("model", "ref", "twin"),
    [
        (Machine, "hall-two", "Hall-Two"),
        (Extraction, "hall-duct", "HALL-DUCT"),
        (JobCard, "ash-stair-treads", "ash-stair-Treads"),
        (BeltCard, "H-204", "h-204"),
        (
            JobCard,
            "ash-stair-treads",
            "ash\N{HYPHEN}stair-treads".replace("\N{HYPHEN}", "-").replace("s", "\N{LATIN SMALL LETTER LONG S}"),
        ),
    ],
)
def test_ids_that_differ_only_in_case_are_refused_by_name_wherever_they_are_used(
    shop: Path, model: type[BaseModel], ref: str, twin: str, capsys: pytest.CaptureFixture[str]
) -> None:
    file = shop / FOLDERS[model] / f"{ref}.toml"
    shutil.copy(file, file.with_name(f"{twin}.toml"))
    said = f"{file}: differs from {twin}.toml in nothing but case: one of the two needs another name"
    assert said in refused(["assess", "ok-two-heads", "--shop", str(shop)], capsys)
    assert main(["profiles", "check", "--shop", str(shop)]) == 3
    checked = capsys.readouterr().err
    assert said in checked
    assert f"{twin}.toml: differs from {ref}.toml" in checked
    usable, wrong = shop_at(shop).every(model)
    assert not {ref, twin} & set(usable)
    assert len(wrong) == 2


def test_two_machines_of_one_id_are_refused_by_name_wherever_they_are_used(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = shop / "machines" / "hall-two.toml"
    shutil.copy(file, file.with_name("bay-nine.toml"))
    said = f"{file}: id: is that of bay-nine.toml too; every machine has its own: preflight profiles new"
    for words in (
        ["assess", "ok-two-heads"],
        ["record", "show", "hall-two", "1"],
        ["belts", "--machine", "hall-two", "--head", "1"],
    ):
        assert said in refused([*words, "--shop", str(shop)], capsys)
    assert main(["profiles", "check", "--shop", str(shop)]) == 3
    checked = capsys.readouterr().err
    assert said in checked
    assert "bay-nine.toml: id: is that of hall-two.toml too" in checked
    assert list(shop_at(shop).every(Machine)[0]) == ["annex-one", "hall-three"]
    (file.with_name("bay-nine.toml")).write_text("id = 1", "utf-8")  # a file that cannot be used costs itself
    assert list(shop_at(shop).every(Machine)[0]) == ["annex-one", "hall-three", "hall-two"]


def test_a_belt_card_that_calls_itself_something_else_is_not_used(shop: Path) -> None:
    card = shop / "belts" / "H-204.toml"
    card.write_text(card.read_text("utf-8").replace('id = "H-204"', 'id = "H-211"'), "utf-8")
    with pytest.raises(FileProblemsError, match=r"H-204\.toml: id: is 'H-211', but the file is named 'H-204'"):
        shop_at(shop).load(BeltCard, "H-204")
    usable, wrong = shop_at(shop).every(BeltCard)
    assert "H-204" not in usable
    assert len(wrong) == 1


@pytest.mark.parametrize("what", ["link", "pipe", "folder"])
@pytest.mark.parametrize(("model", "ref"), NAMED.items(), ids=FOLDERS.values())
def test_what_is_no_file_is_named_and_costs_itself(
    shop: Path, model: type[BaseModel], ref: str, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    file = shop / FOLDERS[model] / f"{ref}.toml"
    kept = shop.parent / "kept.toml"
    file.rename(kept)
    if what == "link":
        file.symlink_to(kept)  # to a good profile: it is not followed all the same
    elif what == "pipe":
        os.mkfifo(file)
    else:
        file.mkdir()
    assert f"{file}: is not a file but a " in refused(["assess", "ok-two-heads", "--shop", str(shop)], capsys)
    before = len(shop_at(None).ids(model))
    usable, wrong = shop_at(shop).every(model)
    assert len(usable) == before - 1
    assert [error.file for error in wrong if isinstance(error, FileProblemsError)] == [str(file)]
    assert main(["profiles", "check", "--shop", str(shop)]) == 3
    assert f"{file}: is not a file but a " in capsys.readouterr().err


@pytest.mark.parametrize("what", ["link", "pipe", "file"])
@pytest.mark.parametrize("model", NAMED, ids=FOLDERS.values())
def test_a_folder_that_is_none_is_named(
    shop: Path, model: type[BaseModel], what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = shop / FOLDERS[model]
    folder.rename(shop.parent / "kept")
    if what == "link":
        folder.symlink_to(shop.parent / "kept", target_is_directory=True)
    elif what == "pipe":
        os.mkfifo(folder)
    else:
        folder.write_bytes(b"")
    assert f"{folder}: is not a folder but a " in refused(["assess", "ok-two-heads", "--shop", str(shop)], capsys)
    usable, wrong = shop_at(shop).every(model)
    assert (usable, len(wrong)) == ({}, 1)
    assert main(["profiles", "check", "--shop", str(shop)]) == 3
    assert str(folder) in capsys.readouterr().err


def test_a_file_of_the_shop_leads_to_no_file_outside_it(shop: Path, tmp_path: Path) -> None:
    outside = tmp_path / "duct.toml"
    shutil.copy(shop / "extraction" / "hall-duct.toml", outside)
    profile = shop / "machines" / "hall-two.toml"
    text = profile.read_text("utf-8")
    for ref in ("../../duct.toml", str(outside), "../extraction/../../duct.toml"):
        profile.write_text(text.replace('extraction = "hall-duct"', f'extraction = "{ref}"'), "utf-8")
        with pytest.raises(NotInShopError, match="leads out of the shop folder"):
            shop_at(shop).load(Extraction, ref, profile.parent)
        assert main(["profiles", "check", str(profile), "--shop", str(shop)]) == 3
    assert shop_at(shop).load(Extraction, "../extraction/hall-duct.toml", profile.parent).value.name


def test_one_bad_file_of_each_kind_leaves_the_others_usable(shop: Path) -> None:
    for model in NAMED:
        (shop / FOLDERS[model] / "bad.toml").write_bytes(b"\xff" * 100)
        usable, wrong = shop_at(shop).every(model)
        assert list(usable) == shop_at(None).ids(model)
        assert all(isinstance(error, PreflightError) for error in wrong)
        assert len(wrong) == 1


@pytest.mark.parametrize("name", ["bell\x07", "turned\u202eround", "line\nend", "byte\udcff"])
def test_a_file_whose_name_cannot_be_seen_costs_itself(shop: Path, name: str) -> None:
    shutil.copy(shop / "belts" / "H-204.toml", shop / "belts" / f"{name}.toml")
    usable, wrong = shop_at(shop).every(BeltCard)
    assert list(usable) == shop_at(None).ids(BeltCard)
    assert len(wrong) == 1
    assert "its name holds a character that cannot be seen" in wrong[0].message
    assert main(["profiles", "check", "--shop", str(shop)]) == 3


def test_a_card_for_a_head_that_no_machine_has_is_named_by_its_check(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, belt = shop / "jobs" / "walnut-drawer-fronts.toml", shop / "belts" / "H-204.toml"
    job.write_text(job.read_text("utf-8").replace('grits = { "1" = ', 'grits = { "l" = '), "utf-8")
    belt.write_text(belt.read_text("utf-8").replace('head = "1"', 'head = "9"'), "utf-8")
    assert main(["profiles", "check", "--shop", str(shop)]) == 3
    said = capsys.readouterr().err
    assert f"{job}: grits.l: no machine here has a head 'l'; their heads: 1, 2, 3" in said
    assert f"{belt}: head: no machine here has a head '9'; their heads: 1, 2, 3" in said


def test_heads_gates_and_runs_that_differ_in_nothing_but_case_are_refused(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    machine, ducts = shop / "machines" / "hall-two.toml", shop / "extraction" / "hall-duct.toml"
    text = machine.read_text("utf-8").replace('id = "1"', 'id = "top"', 1).replace('id = "2"', 'id = "TOP"', 1)
    machine.write_text(text, "utf-8")
    ducts.write_text(ducts.read_text("utf-8").replace('id = "two-2"', 'id = "Two-1"', 1), "utf-8")
    assert main(["profiles", "check", "--shop", str(shop)]) == 3
    said = capsys.readouterr().err
    assert f"{machine}: heads: head 'TOP' differs from 'top' in nothing but case" in said
    assert f"{ducts}: gates: gate 'Two-1' differs from 'two-1' in nothing but case" in said
