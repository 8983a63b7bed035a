"""The card of a belt measured at the machine: written once, whole, under a number that no other belt has."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from preflight.cli.init import make_shop
from preflight.errors import PreflightError
from preflight.shop.cards import BeltCard, JobCard
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.belt_card_file import write_cards
from preflight.tui.run import Run

if TYPE_CHECKING:
    from pathlib import Path

SIZES = {"grit": "P100", "backing": "cloth X", "length_left": "1900 mm", "length_right": "1900 mm", "width": "940 mm"}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    make_shop(tmp_path / "shop", empty=False)
    return tmp_path / "shop"


def measured(shop: Path, number: str, **more: Any) -> Run:
    """A run in which a new belt of that number was measured for head 1."""
    files = shop_at(shop)
    profile, jobs, belts = files.load(Machine, "hall-two"), files.every(JobCard)[0], files.every(BeltCard)[0]
    card = {"schema": 1, "id": number, "head": "1", "measured": date(2026, 11, 25), **SIZES, **more}
    return replace(Run(()), view=files.machine_view(profile, jobs, belts), raw={"belts": [{"head": "1", "card": card}]})


def test_a_new_belt_gets_a_card_that_is_used_from_then_on(shop: Path) -> None:
    write_cards(shop, measured(shop, "H-300"))
    assert shop_at(shop).load(BeltCard, "H-300").value.grit.number == 100
    assert not list((shop / "belts").glob(".*"))


def test_a_second_try_of_the_same_signature_finds_its_card_there(shop: Path) -> None:
    for _ in range(2):
        write_cards(shop, measured(shop, "H-300"))
    assert tomllib.loads((shop / "belts" / "H-300.toml").read_text("utf-8"))["id"] == "H-300"


@pytest.mark.parametrize("number", ["H-204", "h-204"])
def test_a_number_that_another_belt_has_is_refused_and_its_card_stays(shop: Path, number: str) -> None:
    before = (shop / "belts" / "H-204.toml").read_bytes()
    with pytest.raises(
        PreflightError, match=f"There is a belt H-204 already, so the new one cannot be called {number}"
    ):
        write_cards(shop, measured(shop, number))
    assert (shop / "belts" / "H-204.toml").read_bytes() == before
    assert not (shop / "belts" / "h-204.toml").exists()


def test_a_card_is_not_written_through_a_link(shop: Path) -> None:
    (shop.parent / "key").write_bytes(b"a key")
    (shop / "belts" / "H-300.toml").symlink_to(shop.parent / "key")
    with pytest.raises(PreflightError, match="is not a file but a link"):
        write_cards(shop, measured(shop, "H-300"))
    (shop / "belts").rename(shop.parent / "elsewhere")
    (shop / "belts").symlink_to(shop.parent / "elsewhere", target_is_directory=True)
    with pytest.raises(PreflightError, match="is not a folder but a link"):
        write_cards(shop, measured(shop, "H-301"))
    assert (shop.parent / "key").read_bytes() == b"a key"
    assert not (shop.parent / "elsewhere" / "H-301.toml").exists()
