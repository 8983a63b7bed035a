"""Hostile text in every field of every file that a shop's people write, and in the names of files."""

from __future__ import annotations

import json
import os
import shutil
import tomllib
from typing import TYPE_CHECKING

import pytest
from hostile.hostile_samples import UNSEEN, VISIBLE, assert_shown, each_kind, put, put_key, toml

from preflight.__main__ import main
from preflight.audit.rules import Rules
from preflight.cli.init import make_shop
from preflight.outside_text import shown
from preflight.sheet import SetupSheet
from preflight.shop.bundled import bundled
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.extraction import Extraction
from preflight.shop.files import load
from preflight.shop.machine import Machine
from preflight.shop.problems import FileProblemsError
from preflight.training.gate import Gate

if TYPE_CHECKING:
    from pathlib import Path

    from pydantic import BaseModel

MACHINE = "machines/hall-two.toml"
KINDS: list[tuple[str, type[BaseModel]]] = [
    (MACHINE, Machine),
    ("extraction/hall-duct.toml", Extraction),
    ("jobs/ash-stair-treads.toml", JobCard),
    ("belts/H-204.toml", BeltCard),
    ("sheets/ok-two-heads.toml", SetupSheet),
]
TRAINING = {"schema": 1, "strips_within": "0.03 mm", "strips_repeat": "0.015 mm"}
AUDIT = {"schema": 1, "prices": {"currency": "EUR"}}


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    monkeypatch.setenv("PREFLIGHT_SHOP", str(folder))
    return folder


@pytest.mark.parametrize(("name", "model"), KINDS, ids=[name for name, _ in KINDS])
def test_no_field_and_no_key_of_a_file_takes_what_cannot_be_seen(
    name: str, model: type[BaseModel], shop: Path, tmp_path: Path
) -> None:
    table = tomllib.loads((shop / name).read_text(encoding="utf-8"))
    file = tmp_path / "odd.toml"
    kinds = each_kind(table)
    assert len(kinds) > 4
    for place in kinds:
        for odd in (put(table, place, f"a{UNSEEN}"), put_key(table, place, f"k{UNSEEN}")):
            file.write_text(toml(odd), encoding="utf-8")
            with pytest.raises(FileProblemsError) as refused:
                load(file, model)
            assert_shown(str(refused.value))
            assert "holds a character that cannot be seen: U+001B" in str(refused.value)
            assert all(line.startswith(f"{file}: ") for line in str(refused.value).splitlines())


@pytest.mark.parametrize(("model", "table"), [(Gate, TRAINING), (Rules, AUDIT)], ids=["training.toml", "audit.toml"])
def test_nor_do_the_files_of_rules(model: type[BaseModel], table: dict[str, object], tmp_path: Path) -> None:
    for place in each_kind(table):
        (tmp_path / "odd.toml").write_text(toml(put(table, place, UNSEEN)), encoding="utf-8")
        with pytest.raises(FileProblemsError, match="cannot be seen"):
            load(tmp_path / "odd.toml", model)


COMMANDS = [
    ["profiles", "check"],
    ["assess", "ok-two-heads"],
    ["assess", "{sheet}"],
    ["assess", "{sheet}", "--json"],
    ["airflow", "--open", "two-1", "--machine", "hall-two"],
    ["airflow", "--open", "two-1", "--machine", "hall-two", "--json"],
    ["feed", "--machine", "hall-two", "--part", "180 mm x 700 mm x 19 mm, 6"],
    ["belts", "--machine", "hall-two", "--head", "1"],
    ["belts", "--machine", "hall-two", "--head", "1", "--job", "ash-stair-treads", "--json"],
    ["marks", "--machine", "hall-two", "--span", "121 mm", "--count", "4"],
    ["audit", "form", "--machine", "hall-two", "--html", "-"],
    ["train", "standing"],
    ["audit", "today"],
    ["audit", "report"],
    ["run-record", "{sheet}", "--by", "R. Onslow"],
    ["record", "show", "hall-two", "1"],
    ["people", "list"],
    ["verify"],
    ["where"],
]
"""Every command that reads a file of the shop."""


def said_by(argv: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert main(argv) in (0, 1, 2, 3), argv
    told = capsys.readouterr()
    assert_shown(told.out + "\n" + told.err)
    if "--json" in argv and told.out:
        json.loads(told.out)
    return told.out + told.err


def test_every_command_over_files_full_of_it_says_what_is_wrong_and_prints_none_of_it(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, _ in KINDS:
        path = shop / name
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        for place in each_kind(table):
            table = put(table, place, UNSEEN)
        path.write_text(toml({**table, f"key{UNSEEN}": 1}), encoding="utf-8")
    for name, rules in (("training.toml", TRAINING), ("audit.toml", AUDIT)):
        (shop / name).write_text(toml({**rules, UNSEEN: UNSEEN}), encoding="utf-8")
    sheet = str(shop / "sheets" / "ok-two-heads.toml")
    said = [said_by([part.format(sheet=sheet) for part in argv], capsys) for argv in COMMANDS]
    assert sum("cannot be seen" in one for one in said) >= 12


def test_visible_text_of_any_kind_is_taken_and_comes_out_as_it_is(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, place in (
        (MACHINE, ("name",)),
        (MACHINE, ("book",)),
        ("extraction/hall-duct.toml", ("name",)),
        ("jobs/ash-stair-treads.toml", ("name",)),
        ("belts/H-204.toml", ("printed",)),
        ("sheets/ok-two-heads.toml", ("operator",)),
    ):
        path = shop / name
        path.write_text(toml(put(tomllib.loads(path.read_text("utf-8")), place, VISIBLE)), encoding="utf-8")
    sheet = str(shop / "sheets" / "ok-two-heads.toml")
    said = {tuple(argv): said_by([part.format(sheet=sheet) for part in argv], capsys) for argv in COMMANDS}
    assert VISIBLE in said["belts", "--machine", "hall-two", "--head", "1"]
    form = said["audit", "form", "--machine", "hall-two", "--html", "-"]
    assert "<script" not in form
    assert "&lt;script&gt;" in form


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such names")
def test_names_of_files_and_folders_are_shown_and_begin_no_line(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    odd = UNSEEN.replace("/", "")
    for folder in ("machines", "extraction", "jobs", "belts"):
        for file in list((shop / folder).glob("*.toml"))[:1]:
            shutil.copy(file, shop / folder / f"{odd}.toml")
            (shop / folder / f"bad{odd}.toml").write_text("x = [", encoding="utf-8")
    (shop / "checklists" / odd / "00000").mkdir(parents=True)
    (shop / "checklists" / odd / "00000" / "00000001.toml").write_text("x", encoding="utf-8")
    (shop / "checklists" / "m-7f3a91c2d04e" / "00000").mkdir(parents=True)
    (shop / "checklists" / "m-7f3a91c2d04e" / "00000" / f"{odd}.toml").write_text("x", encoding="utf-8")
    sheet = str(bundled() / "sheets" / "ok-two-heads.toml")
    said = [said_by([part.format(sheet=sheet) for part in argv], capsys) for argv in COMMANDS]
    assert any(shown(odd) in one for one in said), "it is named"


def test_what_is_asked_for_by_name_is_refused_with_it(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for argv in (
        ["people", "found", UNSEEN],
        ["record", "correct", "hall-two", "1", "--key", "x", "--text", UNSEEN, "--reason", "x"],
        ["record", "countersign", "hall-two", "1", "--remark", UNSEEN],
        ["train", "mark", "R. Onslow", "observed-start", "--by", UNSEEN],
        ["assess", UNSEEN],
        ["audit", "list", "--person", UNSEEN],
        [UNSEEN],
    ):
        assert "cannot be seen" in said_by(argv, capsys)
