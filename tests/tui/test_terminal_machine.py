"""Which machine a terminal opens on, and when it asks first."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from preflight.cli.init import make_shop
from preflight.errors import PreflightError
from preflight.shop.folder import Shop, shop_at
from preflight.shop.machine import Machine
from preflight.tui.terminal_machine import TerminalMachine

if TYPE_CHECKING:
    from pathlib import Path

    from desk_samples import OpenDesk

MACHINES = ["annex-one", "hall-three", "hall-two"]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A fresh shop with several machines, in which nothing was ever opened."""
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    assert shop_at(folder).ids(Machine) == MACHINES
    return folder


def test_a_fresh_shop_with_several_machines_asks_first(shop: Path, desks: OpenDesk) -> None:
    desk = desks(shop, machine="")
    assert [pick.id for pick in desk.machines()] == MACHINES
    desk.open_on("hall-three")
    assert desk.machines() == []
    view = desk.load().run.view
    assert view is not None
    assert view.machine_id == "hall-three"


def test_a_shop_with_one_machine_opens_on_it(shop: Path, desks: OpenDesk) -> None:
    for machine in MACHINES[:2]:
        (shop / "machines" / f"{machine}.toml").unlink()
    assert desks(shop, machine="").machines() == []


def test_a_terminal_opens_on_the_machine_it_had_last(shop: Path, desks: OpenDesk) -> None:
    for machine in ("annex-one", "hall-two"):
        desk = desks(shop, machine=machine)
        desk.load()
        desk.close()
    again = desks(shop, machine="")
    assert again.machines() == []
    assert again.load().machine.startswith("Hall, two heads")


def test_another_terminal_opens_on_the_newest_draft(shop: Path, desks: OpenDesk) -> None:
    for age, machine in enumerate(("hall-three", "annex-one")):
        desk = desks(shop, machine=machine)
        run = desk.load().run
        desk.keep(run.typed, {}, {})
        desk.close()
        assert run.view is not None
        file = shop / "drafts" / f"{run.view.machine.id}.json"
        os.utime(file, (1_000_000 - age, 1_000_000 - age))
    other = desks(shop, machine="", host="other")
    assert other.machines() == []
    view = other.load().run.view
    assert view is not None
    assert view.machine_id == "hall-three"


def test_a_machine_that_another_terminal_has_open_is_not_opened_but_asked_about(shop: Path, desks: OpenDesk) -> None:
    desk = desks(shop, machine="hall-two")
    desk.load()
    desk.close()
    desks(shop, machine="hall-two", host="annex", pid=7).load()
    picks = desks(shop, machine="").machines()
    assert [pick.id for pick in picks] == MACHINES
    assert picks[2].detail.startswith("open at annex since")


def test_a_shop_without_a_machine_says_how_to_make_one(tmp_path: Path) -> None:
    here = TerminalMachine(Shop((tmp_path,)), tmp_path, "bench")
    with pytest.raises(PreflightError, match="no machine profile"):
        here.known()


def test_a_shop_without_a_machine_says_so_and_never_offers_the_demo_s(tmp_path: Path) -> None:
    bare = TerminalMachine(shop_at(tmp_path), tmp_path, "bench")
    assert bare.picks() == []
    with pytest.raises(PreflightError, match=r"This shop has no machine profile\."):
        bare.known()


def test_a_machine_held_elsewhere_is_named_as_printed_its_code_after_it(shop: Path, desks: OpenDesk) -> None:
    run = desks(shop, machine="hall-two", host="annex", pid=7).load().run
    assert run.view is not None
    with pytest.raises(PreflightError) as refused:
        desks(shop, machine="hall-two").load()
    named = f"The draft of {run.view.machine.name} ({run.view.machine.id}) is open already:"
    assert str(refused.value).startswith(named)


def test_a_machine_whose_profile_cannot_be_used_costs_itself_and_the_others_are_offered(
    shop: Path, desks: OpenDesk
) -> None:
    desks(shop, machine="hall-two").load()
    (shop / "machines" / "hall-two.toml").write_text("schema = 1", "utf-8")
    desk = desks(shop, machine="")
    assert [(pick.id, pick.detail) for pick in desk.machines()] == [
        ("annex-one", "annex-one"),
        ("hall-three", "hall-three"),
        ("hall-two", "its profile cannot be used; see: preflight profiles check"),
    ]
    desk.open_on("hall-three")
    assert desk.load().run.view is not None


def test_a_shop_whose_only_profiles_cannot_be_used_names_one(shop: Path) -> None:
    for file in (shop / "machines").iterdir():
        file.write_text("schema = 1", "utf-8")
    with pytest.raises(PreflightError, match=r"annex-one\.toml: "):
        TerminalMachine(shop_at(shop), shop, "bench").known()
