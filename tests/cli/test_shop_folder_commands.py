"""`init`, `where`, `profiles check|new` and `verify` on shop folders."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from preflight.__main__ import main
from preflight.cli.shop_path import NoShopError, shop_path
from preflight.shop.bundled import bundled
from preflight.shop.files import load
from preflight.shop.folder import FOLDERS
from preflight.shop.machine import Machine

CARDS = [(model, path) for model, folder in FOLDERS.items() for path in sorted((bundled() / folder).glob("*.toml"))]


def contents(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_the_option_wins_over_the_variable_and_that_over_the_default(tmp_path: Path) -> None:
    assert shop_path("here", {"PREFLIGHT_SHOP": "there"}).folder == Path("here")
    assert shop_path(None, {"PREFLIGHT_SHOP": "there"}).folder == Path("there")
    assert shop_path(None, {"PREFLIGHT_SHOP": ""}).why == "the user's data folder"


def test_looking_up_a_shop_makes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "gone"
    monkeypatch.setenv("PREFLIGHT_SHOP", str(gone))
    assert main(["where"]) == 0
    said = capsys.readouterr().out
    assert str(gone) in said
    assert "PREFLIGHT_SHOP" in said
    assert "not made yet" in said
    assert str(bundled()) in said
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(NoShopError):
        assert shop_path(None).existing


@pytest.mark.parametrize(
    "words",
    [
        ["people", "list"],
        ["profiles", "approve", "hall-two"],
        ["record", "show", "hall-two", "1"],
        ["verify"],
        ["audit", "today"],
        ["train", "standing"],
        ["train", "run", "fan-last", "--as", "D. Marrow"],
        ["run-record", "ok-two-heads"],
    ],
)
def test_a_command_that_needs_a_shop_says_how_to_name_or_make_one(
    words: list[str], home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 3
    said = capsys.readouterr().err
    assert all(way in said for way in ("--shop DIR", "PREFLIGHT_SHOP", "preflight init"))
    assert str(shop_path(None).folder) in said


def test_the_default_shop_lies_in_the_users_data_folder_and_is_used_once_it_is_made(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    default = shop_path(None).folder
    assert home in default.parents
    assert shop_path(None).existing is None
    assert main(["assess", "ok-two-heads"]) == 0
    assert not default.exists()
    assert main(["init"]) == 0
    assert shop_path(None).existing == default
    assert main(["where"]) == 0
    assert "exists" in capsys.readouterr().out


def test_shop_may_be_named_before_or_after_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for argv in (["--shop", str(tmp_path), "where"], ["where", "--shop", str(tmp_path)]):
        assert main(argv) == 0
        assert f"shop folder       {tmp_path}\n  chosen by       --shop" in capsys.readouterr().out


@pytest.mark.parametrize("path", [path for _, path in CARDS], ids=lambda path: path.stem)
def test_every_bundled_profile_and_card_passes(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["profiles", "check", str(path)]) == 0
    assert capsys.readouterr().out.startswith("ok  ")


def test_all_bundled_files_are_checked_when_none_is_named(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PREFLIGHT_SHOP", str(bundled()))
    assert main(["profiles", "check"]) == 0
    assert f"{len(CARDS)} files checked, none with problems." in capsys.readouterr().out


def test_bundled_machines_are_three_with_ids_of_their_own() -> None:
    machines = [load(path, Machine).value for model, path in CARDS if model is Machine]
    assert len({machine.id for machine in machines}) == len(machines) == 3
    assert {machine.units for machine in machines} == {"inch", "metric"}


def test_a_demo_shop_holds_the_bundled_files_under_fresh_machine_ids(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    assert main(["init", str(one)]) == main(["init", str(two)]) == 0
    assert {f"machines/{path.name}" for model, path in CARDS if model is Machine} < contents(one)
    assert {f"sheets/{path.name}" for path in (bundled() / "sheets").glob("*.toml")} < contents(one)
    assert (one / ".gitattributes").read_text("utf-8") == "checklists/** -text\n"
    ids = [load(root / "machines" / "hall-two.toml", Machine).value.id for root in (bundled(), one, two)]
    assert len(set(ids)) == 3
    capsys.readouterr()
    assert main(["profiles", "check", "--shop", str(one)]) == 0


def test_an_empty_shop_has_the_folders_and_no_profiles(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    assert main(["init", str(shop), "--empty"]) == 0
    assert contents(shop) == {".gitattributes"}
    assert {"machines", "extraction", "jobs", "belts"} < {path.name for path in shop.iterdir()}


def test_init_without_a_folder_makes_the_one_that_where_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PREFLIGHT_SHOP", str(tmp_path / "mine"))
    assert main(["init", "--empty"]) == 0
    assert (tmp_path / "mine" / "machines").is_dir()


def test_init_leaves_a_folder_that_holds_anything_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "note.txt").write_text("mine", "utf-8")
    assert main(["init", str(tmp_path)]) == 3
    assert main(["init", str(tmp_path / "note.txt")]) == 3
    assert "not empty" in capsys.readouterr().err
    assert contents(tmp_path) == {"note.txt"}


def test_init_where_nothing_can_be_made_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "note.txt").write_text("mine", "utf-8")
    assert main(["init", str(tmp_path / "note.txt" / "shop")]) == 3
    assert "cannot be made" in capsys.readouterr().err


def test_a_new_profile_passes_its_check_and_has_an_id_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.toml"
    assert main(["profiles", "new", str(path)]) == 0
    assert main(["profiles", "check", str(path)]) == 0
    capsys.readouterr()
    assert main(["profiles", "new"]) == 0
    printed = capsys.readouterr().out
    written = path.read_text("utf-8")
    ids = [re.findall(r"m-[0-9a-f]{12}", text) for text in (printed, written)]
    assert ids[0] != ids[1]
    assert [len(found) for found in ids] == [1, 1]
    assert printed.replace(ids[0][0], ids[1][0]) == written


def test_every_limit_of_a_new_profile_is_marked_as_unconfirmed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["profiles", "new"]) == 0
    text = capsys.readouterr().out
    limits = [line for line in text.splitlines() if re.match(r'[a-z_" X]+ = \{ (low|high)', line)]
    assert len(limits) > 10
    assert [line for line in limits if 'source = "default"' not in line] == []


def test_a_new_profile_never_replaces_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine", "utf-8")
    assert main(["profiles", "new", str(path)]) == 3
    assert "left alone" in capsys.readouterr().err
    assert path.read_text("utf-8") == "mine"
    assert main(["profiles", "new", str(tmp_path / "gone" / "mine.toml")]) == 3


def test_verify_says_when_there_is_nothing_to_verify(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = tmp_path / "shop"
    assert main(["init", str(shop), "--empty"]) == 0
    assert main(["verify", str(tmp_path / "gone")]) == 3
    capsys.readouterr()
    assert main(["verify", str(shop)]) == 0
    assert "No records here" in capsys.readouterr().out
