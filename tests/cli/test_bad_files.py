"""Bad files: the message names file, key and what was expected; exit status 3; never a traceback."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from preflight.__main__ import main
from preflight.cli.init import make_shop
from preflight.shop.bundled import bundled

if TYPE_CHECKING:
    from pathlib import Path

SHEET = (bundled() / "sheets" / "ok-two-heads.toml").read_text("utf-8")
MACHINE = (bundled() / "machines" / "hall-two.toml").read_text("utf-8")
DUCT = (bundled() / "extraction" / "hall-duct.toml").read_text("utf-8")


@pytest.fixture(autouse=True)
def the_demo_s_files(monkeypatch: pytest.MonkeyPatch) -> None:
    """The shop whose profiles and cards the sheets here name."""
    monkeypatch.setenv("PREFLIGHT_SHOP", str(bundled()))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop of the demo's files, to damage one of them."""
    make_shop(tmp_path / "shop", empty=False)
    return tmp_path / "shop"


def refused(argv: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert main(argv) == 3
    said = capsys.readouterr().err
    assert "Traceback" not in said
    assert "own failure" not in said
    return said


def replaced(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new, 1)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('state = "scraped"', 'state = "scrapped"', ["glue.state", "'scraped'", "did you mean 'scraped'"]),
        ('"1" = "4.1 bar"', '"1" = "4.1"', ["tension.gauge.1", "'4.1 bar' or '4.1 psi'"]),
        ('"1" = "4.1 bar"', '"1" = "4.1 mm"', ["tension.gauge.1", "'mm' is a length"]),
        ("[stock]", "[stok]", ["stok: unknown key", "did you mean 'stock'"]),
        ("at = 2026-11-25T06:52:00+01:00", "at = 2026-11-25T06:52:00", ["at:", "with its offset"]),
        ("schema = 1", "schema = 2", ["schema", "1 is wanted"]),
        ("metal_found = 0", "metal_found = -1", ["stock.metal_found"]),
        ("bin_full = 0.35", "bin_full = nan", ["extraction.bin_full"]),
        ('machine = "hall-two"', 'machine = "hall-tow"', ["No machine profile 'hall-tow'", "'hall-two'"]),
        ('machine = "hall-two"', 'machine = "a\\u0000b.toml"', ["cannot be seen"]),
        ('machine = "hall-two"', f'machine = "{"a" * 300}.toml"', ["cannot be read"]),
        ('card = "H-204"', 'card = "H-2O4"', ["No belt card 'H-2O4'", "'H-204'"]),
        ('job = "ash-stair-treads"', 'job = "nix/job.toml"', ["job.toml", "cannot be read"]),
        ("[glue]", "[glue", ["is not valid TOML", "line"]),
    ],
)
def test_a_bad_sheet_names_the_key_and_what_was_expected(
    old: str, new: str, said: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "sheet.toml"
    path.write_text(replaced(SHEET, old, new), "utf-8")
    message = refused(["assess", str(path)], capsys)
    for words in said:
        assert words in message


def test_several_problems_come_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "sheet.toml"
    text = replaced(SHEET, 'supply = "6.4 bar"', 'supply = "6.4"')
    path.write_text(replaced(text, 'fan = "on"', 'fan = "humming"'), "utf-8")
    message = refused(["assess", str(path)], capsys)
    assert f"{path}: tension.supply" in message
    assert f"{path}: extraction.fan" in message


@pytest.mark.parametrize("data", [b"\xff\xfe", b"\x00" * 10, b"a = " + b"[" * 3000, b"schema = 1", b""])
def test_bytes_that_are_no_sheet_are_refused(data: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "sheet.toml"
    path.write_bytes(data)
    assert str(path) in refused(["assess", str(path)], capsys)


@pytest.mark.parametrize("ref", ["nope.toml", "nope", "a" * 300, "a" * 300 + ".toml"])
def test_a_sheet_that_is_not_there_is_refused(ref: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "cannot be read" in refused(["assess", ref], capsys)


def test_a_folder_is_no_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for ref in (str(tmp_path), "", "/"):
        assert "is not a file" in refused(["assess", ref], capsys)


def test_a_shop_that_was_named_must_be_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "gone"
    assert "--shop" in refused(["assess", "ok-two-heads", "--shop", str(gone)], capsys)
    monkeypatch.setenv("PREFLIGHT_SHOP", str(gone))
    assert "PREFLIGHT_SHOP" in refused(["profiles", "check"], capsys)
    assert not gone.exists()


MACHINE_FAULTS = [
    ('id = "2"\nkind', 'id = "1"\nkind', "heads: head '1' is given 2 times"),
    ("two-2 = { flow", "tow-2 = { flow", "sander_gates.tow-2: is no gate of extraction profile 'hall-duct'"),
    (
        '"cloth heavier" = { low = "4.5 bar", high = "5.5 bar" }',
        '"cloth heavier" = { low = "4.5 bar" }',
        "heads.1.tension.cloth heavier: has no upper end",
    ),
    ('extraction = "hall-duct"', 'extraction = "hal-duct"', "extraction: No extraction profile 'hal-duct'"),
    ('edge_margin = "15 mm"', 'edge_margin = "480 mm"', "conveyor.edge_margin: (480 mm) leaves nothing"),
    ('P100 = "0.40 mm"', 'P100 = "0.70 mm"', "removal_caps: the removal cap of P100 is above that of the coarser P80"),
    ('finest_grit = "P150"', 'finest_grit = "P40"', "heads.1.finest_grit: (P40) is coarser than coarsest_grit (P60)"),
    ('kind = "rubber drum"', 'kind = "steel drum"', "heads.1.paper_from: does not belong on a steel drum"),
    ('kind = "drum and platen"', 'kind = "rubber drum"', "heads.2.platen: does not belong on a rubber drum"),
    ('drum_width = "970 mm"', 'drum_width = "900 mm"', "heads.1.belt_width.high: (950 mm) is wider than the drum"),
    (
        'run_down = { high = "10 s", caution_high = "8 s" }',
        'brake = "none"',
        "heads.1.run_down: is missing: without a brake",
    ),
    ("book = ", "boook = ", "boook: unknown key; did you mean 'book'?"),
    ("removal = { high", "removal = { hihg", "heads.1.removal.hihg: unknown key; did you mean 'high'?"),
    ('low = "1893 mm"', 'low = "1908 mm"', "heads.1.belt_length: low (1908 mm) is above high (1907 mm)"),
    ('id = "m-8de350431919"', 'id = "hall-two"', "id: "),
]


@pytest.mark.parametrize(("old", "new", "said"), MACHINE_FAULTS)
def test_profiles_check_names_what_is_wrong_with_a_machine(
    old: str, new: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "machines" / "mine.toml"
    path.parent.mkdir()
    path.write_text(replaced(MACHINE, old, new), "utf-8")
    assert f"{path}: {said}" in refused(["profiles", "check", str(path)], capsys)


def test_profiles_check_lists_every_contradiction_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = MACHINE
    faults = [fault for fault in MACHINE_FAULTS[:5] if fault[0] != 'extraction = "hall-duct"']
    for old, new, _ in faults:
        text = replaced(text, old, new)
    path = tmp_path / "mine.toml"
    path.write_text(text, "utf-8")
    message = refused(["profiles", "check", str(path)], capsys)
    for *_, said in faults:
        assert said in message


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([('into = "east"', 'into = "oest"')], ["leads into 'oest', which does not exist"]),
        ([('into = "collector"', 'into = "east"')], ["no run leads into the collector", "lead in a circle"]),
        ([('run = "two-drop-1"', 'run = "two-drop"')], ["gate 'two-1' opens into run 'two-drop'"]),
        ([('id = "two-2"', 'id = "two-1"')], ["gate 'two-1' is given 2 times"]),
        ([('kind = "elbow 45', 'kind = "elbwo 45')], ["is not known", "did you mean 'elbow 45"]),
        ([('"3330 Pa"', '"3730 Pa"')], ["the fan curve rises at point 3"]),
        ([('change_drop = "780 Pa"', 'change_drop = "400 Pa"')], ["filter.change_drop", "must be above clean_drop"]),
        ([('at_flow = "16200 m3/h"\n', "")], ["filter.at_flow: is missing"]),
        (
            [('into = "east"', 'into = "oest"'), ('run = "two-drop-1"', 'run = "two-drop"')],
            ["leads into 'oest'", "opens into run 'two-drop'"],
        ),
    ],
)
def test_profiles_check_names_what_is_wrong_with_a_duct_system(
    changes: list[tuple[str, str]], said: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = DUCT
    for old, new in changes:
        text = replaced(text, old, new)
    path = tmp_path / "mine.toml"
    path.write_text(text, "utf-8")
    message = refused(["profiles", "check", str(path)], capsys)
    for words in said:
        assert words in message


def test_assess_refuses_to_judge_by_a_profile_that_contradicts_itself(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    duct = shop / "extraction" / "hall-duct.toml"
    duct.write_text(replaced(DUCT, 'into = "collector"', 'into = "east"'), "utf-8")
    message = refused(["assess", "ok-two-heads", "--shop", str(shop)], capsys)
    assert "hall-duct" in message
    assert "no run leads into the collector" in message


def test_a_part_without_a_size_is_refused_before_any_verdict(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    card = shop / "jobs" / "ash-stair-treads.toml"
    text = (bundled() / "jobs" / card.name).read_text("utf-8")
    card.write_text(replaced(text, 'width = "290 mm"', 'width = "0 mm"'), "utf-8")
    assert f"{card}: parts.1.width: (0 mm) must be above zero" in refused(["profiles", "check", str(card)], capsys)
    assert "parts.1.width: (0 mm)" in refused(["assess", "ok-two-heads", "--shop", str(shop)], capsys)


def test_a_belt_card_is_found_by_its_file_name_so_its_id_must_match(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "H-999.toml"
    path.write_text((bundled() / "belts" / "H-204.toml").read_text("utf-8"), "utf-8")
    assert f"{path}: id: is 'H-204'" in refused(["profiles", "check", str(path)], capsys)


def test_a_setup_sheet_is_no_profile(capsys: pytest.CaptureFixture[str]) -> None:
    sheet = bundled() / "sheets" / "ok-two-heads.toml"
    assert "is a setup sheet" in refused(["profiles", "check", str(sheet)], capsys)


def test_a_file_of_no_known_kind_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "shopping.toml"
    path.write_text('milk = "2 L"', "utf-8")
    assert re.search(r"holds no machine profile, .* or belt card", refused(["profiles", "check", str(path)], capsys))


def test_an_unknown_id_names_the_known_ones(capsys: pytest.CaptureFixture[str]) -> None:
    assert "hall-two" in refused(["profiles", "check", "hall-tow"], capsys)
