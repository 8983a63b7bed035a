"""Four attacks on a shop's register, each against signing in the app, founding, a late entry and verification."""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest
from checklist.people_samples import FOUNDER, PASSPHRASE, PIN, PeopledShop
from desk_samples import Clock, filled, tokens

from preflight.__main__ import main
from preflight.checklist.register import RegisterAlarmError, read_register
from preflight.checklist.secret import Secret
from preflight.cli.init import make_shop
from preflight.errors import PreflightError
from preflight.shop.folder import shop_at
from preflight.tui.demo_shop import MACHINE, MEANING
from preflight.tui.desk import Desk, Terminal
from preflight.tui.wiring import Holding, Signing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

OPERATOR, RIVAL = "D. Marrow", "A. Brandt"
STOPPED = Holding("regulator sticks", RIVAL, "tapped it", OPERATOR, Secret(PIN))
MORNING = Clock().now.replace(day=27)
"""After the people were admitted."""


@dataclass(frozen=True, slots=True)
class Attacked:
    """A shop with people and one signed, held start-up, seen by this terminal; and a rival's register."""

    people: PeopledShop
    rival: Path
    desks: Callable[[], Desk]

    @property
    def register(self) -> Path:
        """The shop's own."""
        return self.people.shop / "checklists" / f"shop-{self.people.signer(FOUNDER).key_id.removeprefix('k-')}"


@pytest.fixture
def attacked(tmp_path: Path) -> Iterator[Attacked]:
    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    people = PeopledShop.founded(shop, tmp_path / "keys")
    people.admit(OPERATOR, "operator", keep=True)
    rival = PeopledShop(tmp_path / "rival", people.keys)
    (rival.shop / "checklists").mkdir(parents=True)
    rival.book.found(rival.person(RIVAL, "lead"), rival.signer(RIVAL))
    opened: list[Desk] = []
    word = tokens("desk")

    def desks() -> Desk:
        for one in opened:
            one.close()
        terminal = Terminal("bench", 1)
        opened.append(Desk(shop_at(shop), shop, lambda: MORNING, word, terminal, MACHINE, keys=people.keys))
        return opened[-1]

    desk = desks()
    desk.hold(filled(desk.load().run, tension__1="5.0"), STOPPED)
    desks().load()
    yield Attacked(people, rival.shop / "checklists" / read_register(rival.shop).chain, desks)
    for one in opened:
        one.close()


def deleted(shop: Attacked) -> None:
    shutil.rmtree(shop.register)


def emptied(shop: Attacked) -> None:
    for path in shop.register.glob("*/*"):
        path.unlink()


def swapped(shop: Attacked) -> None:
    shutil.rmtree(shop.register)
    shutil.copytree(shop.rival, shop.register.parent / shop.rival.name)


def second(shop: Attacked) -> None:
    shutil.copytree(shop.rival, shop.register.parent / shop.rival.name)


ATTACKS = [deleted, emptied, swapped, second]


def records(shop: Path) -> list[Path]:
    return sorted(shop.glob("checklists/[!s]*/*/*.toml"))


@pytest.mark.parametrize("attack", ATTACKS)
@pytest.mark.parametrize("known", [True, False], ids=["a terminal that saw the shop", "another terminal"])
def test_nobody_signs_founds_or_enters_late_under_a_register_that_is_not_the_shops(
    attacked: Attacked,
    attack: Callable[[Attacked], None],
    known: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    people, shop = attacked.people, ["--shop", str(attacked.people.shop)]
    monkeypatch.setenv("PREFLIGHT_KEYS", str(people.keys.path))
    desk = attacked.desks()
    run = filled(desk.load().run)
    if not known:
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another terminal"))
    attack(attacked)
    before = records(people.shop)

    for by in (Signing(OPERATOR, MEANING, Secret(PIN)), Signing(FOUNDER, MEANING, Secret(PASSPHRASE))):
        with pytest.raises(RegisterAlarmError):  # the app stood open when it happened
            desk.sign(run, by)
    desk = attacked.desks()
    loaded = desk.load()
    assert loaded.machine.endswith("register alarm")
    assert "Nothing is founded or signed here until that is cleared" in loaded.notice
    for by in (Signing(OPERATOR, MEANING, Secret(PIN)), Signing(RIVAL, MEANING, Secret(PASSPHRASE))):
        with pytest.raises(RegisterAlarmError):
            desk.sign(filled(loaded.run), by)
    with pytest.raises(PreflightError):
        desk.hold(filled(loaded.run, tension__1="5.0"), STOPPED)

    sheet = people.shop / "sheets" / "ok-two-heads.toml"
    late = tmp_path / "late.toml"
    late.write_text(re.sub(r"(?m)^at = \d{4}", "at = 2020", sheet.read_text("utf-8")), encoding="utf-8")
    for argv in (
        ["people", "found", RIVAL],
        ["record", "late", MACHINE, str(late), "--why", "power was off", "--by", OPERATOR],
        ["people", "add", "R. Onslow", "--by", RIVAL],
    ):
        capsys.readouterr()
        assert main([*argv, *shop]) == 3
        assert "Nothing is founded or signed here until that is cleared" in capsys.readouterr().err, argv
    assert records(people.shop) == before

    signatures_alone = attack in (deleted, emptied) and not known
    assert main(["verify", *shop]) == (3 if signatures_alone else 2)
    assert main(["people", "founder", *shop]) == 2
