"""A malformed or odd file in a shop folder costs itself: commands go on without it or refuse with its name.

A sample; `python -m tests.bench.bench_hostile_files` runs every command on every one, measured.
"""

from __future__ import annotations

import itertools
import os
import shutil
from typing import TYPE_CHECKING

import pytest
from hostile.malformed import NAMES, malformed
from hostile.odd import ODD, plant, prepare, remove, touched, write

from preflight import clock
from preflight.__main__ import main
from preflight.cli.init import make_shop
from preflight.tui.demo_shop import add_history

if TYPE_CHECKING:
    from pathlib import Path

KINDS = {
    "machine profile": "machines/hall-two.toml",
    "extraction profile": "extraction/hall-duct.toml",
    "job card": "jobs/ash-stair-treads.toml",
    "belt card": "belts/H-204.toml",
    "sheet": "sheets/ok-two-heads.toml",
    "training.toml": "training.toml",
    "audit.toml": "audit.toml",
    "draft": "drafts/MACHINE.json",
    "newest record": "checklists/MACHINE/00000/00000002.toml",
}
PLACES = {
    **KINDS,
    "next record": "checklists/MACHINE/00000/00000003.toml",
    "chain lock": "checklists/MACHINE/.lock",
    "folder of a thousand": "checklists/MACHINE/00000",
    "folder of a chain": "checklists/MACHINE",
    "folder of records": "checklists",
    "folder of machines": "machines",
    "folder of belts": "belts",
    "folder of drafts": "drafts",
    "rule for version control": ".gitattributes",
    "something else": "note.toml",
}


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with yesterday's start-up and run, and files for training and audit."""
    shop = tmp_path_factory.mktemp("template") / "shop"
    make_shop(shop, empty=False)
    counter = itertools.count()
    add_history(shop, clock.now, lambda: f"token-{next(counter):08d}", fed=True)
    (shop / "training.toml").write_text("schema = 1\npassed = 10\n", "utf-8")
    (shop / "audit.toml").write_text("[pace]\nshare = 0.5\n", "utf-8")
    (shop / "drafts" / f"{machine_of(shop)}.json").write_text(
        f'{{"layout": 1, "machine": "{machine_of(shop)}", "changes": 1, "content": {{"typed": {{"tension.1": "4"}}}}}}'
    )
    return shop


@pytest.fixture
def shop(template: Path, tmp_path: Path) -> Path:
    made = tmp_path / "shop"
    shutil.copytree(template, made)
    prepare(made)
    return made


def machine_of(shop: Path) -> str:
    return next(path.name for path in (shop / "checklists").iterdir() if path.name.startswith("m-"))


def commands(shop: Path) -> list[list[str]]:
    here = ["--shop", str(shop)]
    return [
        ["assess", str(shop / "sheets" / "ok-two-heads.toml"), *here],
        ["belts", "--machine", "hall-two", "--head", "1", *here],
        ["profiles", "check", *here],
        ["record", "show", "hall-two", "1", *here],
        ["record", "countersign", "hall-two", "1", "--by", "E. Quist", "--role", "lead", *here],
        ["verify", str(shop)],
        ["audit", "today", *here],
        ["train", "standing", *here],
    ]


def look(shop: Path, path: Path, sound: list[int], capsys: pytest.CaptureFixture[str]) -> None:
    """Every command ends as on the sound shop, or names the file."""
    for argv, as_sound in zip(commands(shop), sound, strict=True):
        status = main(argv)
        said = capsys.readouterr()
        text = said.out + said.err
        assert "own failure" not in text, f"{argv}: {text[-400:]}"
        assert status in (0, 1, 2, 3)
        named = path.name in text or path.stem in text or f"ecord {path.stem.lstrip('0')}" in text
        assert status == as_sound or named, f"{argv}: {status} and {path.name} not named: {text[-400:]}"
    assert not touched(shop)


@pytest.fixture(scope="module")
def sound(template: Path, tmp_path_factory: pytest.TempPathFactory) -> list[int]:
    """What each command ends with on the shop as it is."""
    made = tmp_path_factory.mktemp("sound") / "shop"
    shutil.copytree(template, made)
    return [main(argv) for argv in commands(made)]


SAMPLE = [(kind, what) for number, kind in enumerate(KINDS) for what in NAMES[number % 6 :: 6]]
"""Eight ways for each kind, all forty-eight among them."""


@pytest.mark.parametrize(("kind", "what"), SAMPLE, ids=[f"{kind}, {what}" for kind, what in SAMPLE])
def test_a_malformed_file_costs_itself(
    shop: Path, sound: list[int], kind: str, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = shop / KINDS[kind].replace("MACHINE", machine_of(shop))
    data = malformed(what, path.read_bytes(), as_json=path.suffix == ".json")
    remove(path)
    write(path, data)
    look(shop, path, sound, capsys)


ODD_SAMPLE = [(place, list(ODD)[(number + step) % len(ODD)]) for number, place in enumerate(PLACES) for step in (0, 4)]


@pytest.mark.parametrize(("place", "what"), ODD_SAMPLE, ids=[f"{place}, {what}" for place, what in ODD_SAMPLE])
def test_what_is_no_file_costs_itself(
    shop: Path, sound: list[int], place: str, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = shop / PLACES[place].replace("MACHINE", machine_of(shop))
    if what == "folder" and path.is_dir():
        what = "pipe"
    plant(path, what)
    look(shop, path, sound, capsys)


def test_the_sample_holds_every_way_and_every_kind() -> None:
    assert {what for _, what in SAMPLE} == set(NAMES)
    assert len(NAMES) == 48
    assert {what for _, what in ODD_SAMPLE} == set(ODD)
    assert os.name != "posix" or {"link", "pipe", "folder", "socket"} < set(ODD)
