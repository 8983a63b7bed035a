"""`record correct` reaches every typed field of every kind of record; what it hides is hidden, sealed bytes stay."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from desk_samples import Clock, filled, tokens
from secrets_left import secrets_left

from preflight import clock as clock_of_the_system
from preflight.__main__ import main
from preflight.checklist.corrected import HIDDEN, typed_texts
from preflight.checklist.machine_records import record, records
from preflight.checklist.register import Register
from preflight.cli.init import make_shop
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.tui.demo_shop import MACHINE, add_history
from preflight.tui.desk import Desk, Terminal
from preflight.tui.wiring import Finished, Holding

if TYPE_CHECKING:
    from pathlib import Path

    from preflight.checklist.machine_records import Kept

PIN = "48190375"
BY = "D. Marrow"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A start-up and its run, a held one in which a PIN was typed three times, a run, a repair, a countersignature."""
    folder = tmp_path / "shop"
    make_shop(folder, empty=False)
    monkeypatch.setenv("PREFLIGHT_SHOP", str(folder))
    clock = Clock()
    clock.now = clock_of_the_system.now().replace(microsecond=0)
    add_history(folder, clock, tokens("demo"), fed=True)
    desk = Desk(shop_at(folder), folder, clock, tokens("desk"), Terminal("bench", 1), MACHINE)
    run = filled(desk.load().run, running__restart="starts by itself")
    desk.hold(run, Holding(f"it starts by itself {PIN}", PIN, f"reset, then {PIN}", BY))
    run = filled(desk.load().run)
    desk.done(run, Finished({"hours": "2", "off": "2 worn out"}, BY))
    desk.close()
    about = ["--check", "running", "--subject", "restart", "--by", BY]
    assert (
        main(["record", "repair", MACHINE, "3", *about, "--done", "new relay", "--who", "E. Q.", "--measured", "ok"])
        == 0
    )
    assert main(["record", "countersign", MACHINE, "3", "--by", "A. Brandt", "--role", "lead", "--remark", "seen"]) == 0
    return folder


def kept(shop: Path, number: int) -> Kept:
    machine = shop_at(shop).load(Machine, MACHINE).value.id
    return record(shop, machine, number, Register())


def newest(shop: Path) -> Kept:
    machine = shop_at(shop).load(Machine, MACHINE).value.id
    return next(records(shop, machine, Register()))


def correct(number: int, key: str, text: str, *more: str) -> int:
    reason = ["--reason", "typed in the wrong field", "--by", BY]
    return main(["record", "correct", MACHINE, str(number), "--key", key, "--text", text, *reason, *more])


def shown(capsys: pytest.CaptureFixture[str], *more: str) -> str:
    capsys.readouterr()
    assert main(list(more)) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize(
    ("number", "key", "was"),
    [
        (1, "tension.2", "3.4"),
        (1, "stock.thickness.1", "27.7 mm"),
        (3, "held.told", PIN),
        (3, "held.tried", f"reset, then {PIN}"),
        (4, "run.hours", "2 h"),
        (4, "run.off.1.why", "worn out"),
        (5, "repair.who", "E. Q."),
        (6, "countersign.remark", "seen"),
        (6, "record.name", "A. Brandt"),
    ],
)
def test_every_typed_field_of_every_kind_can_be_corrected(shop: Path, number: int, key: str, was: str) -> None:
    if key.startswith("stock"):
        key = next(one for one, text in typed_texts(kept(shop, number).document).items() if text == was and "." in one)
    assert correct(number, key, "the right one") == 0
    made = newest(shop).document
    assert made["correction"] == {
        "key": key,
        "was": was,
        "text": "the right one",
        "reason": "typed in the wrong field",
    }
    assert made["refers"]["sequence"] == number


def test_a_correction_itself_and_a_value_that_stood_before_can_be_corrected(shop: Path) -> None:
    assert correct(1, "tension.2", "3.5") == 0
    number = newest(shop).reference.sequence
    assert correct(number, "correction.text", "3.6") == 0
    assert newest(shop).document["correction"]["was"] == "3.5"


def test_a_key_that_is_not_there_is_refused_with_those_that_are_and_none_of_their_texts(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert correct(3, "held.nobody", "x y") == 3
    error = capsys.readouterr().err
    assert "held.told" in error
    assert "tension.1" in error
    assert PIN not in error


def test_what_a_correction_hides_is_on_no_page_and_in_no_list_until_it_is_asked_for(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (shop / "checklists").glob("m-*/*/00000003.toml")
    path = next(iter(before))
    signed = path.read_bytes()
    for key, text in (("held.told", "Ida"), ("held.tried", "reset"), ("held.what", "it starts by itself")):
        assert correct(3, key, text, "--hide") == 0
        made = newest(shop).document["correction"]
        assert (made["hides"], "was" in made) == (True, False)
    assert path.read_bytes() == signed
    new = sorted((shop / "checklists").glob("m-*/*/*.toml"))[6:]
    assert secrets_left([PIN], new) == []
    page = shown(capsys, "record", "show", MACHINE, "3")
    assert PIN not in page
    assert page.startswith(f"CORRECTED: held.told is Ida, not {HIDDEN}: typed in the wrong field. D. Marrow, ")
    assert "--reveal shows it" in page
    assert f"told: {HIDDEN}" in page
    revealed = shown(capsys, "record", "show", MACHINE, "3", "--reveal")
    assert f"told: {PIN}" in revealed
    assert revealed.startswith(f"CORRECTED: held.told is Ida, not {PIN}: typed")
    audit = shown(capsys, "audit", "show", f"{MACHINE}/3")
    assert audit.splitlines()[1] == "Corrected"
    pages = [audit, *(shown(capsys, "audit", what) for what in ("list", "today"))]
    pages += [shown(capsys, "audit", "list", form) for form in ("--json", "--csv")]
    pages.append(shown(capsys, "audit", "show", f"{MACHINE}/3", "--html", "-"))
    assert secrets_left([PIN], [], pages) == []
    assert HIDDEN in pages[1]
    assert PIN in shown(capsys, "audit", "show", f"{MACHINE}/3", "--reveal")
    assert main(["verify"]) in (0, 1)


def test_a_short_hidden_text_is_hidden_at_its_key_and_stays_elsewhere(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert correct(1, "tension.2", "3.5", "--hide") == 0
    page = shown(capsys, "record", "show", MACHINE, "1")
    assert f"tension.2: {HIDDEN} at" in page
    assert "3.4" not in next(line for line in page.splitlines() if "tension.2:" in line)


def test_the_next_start_up_does_not_repeat_what_is_hidden(shop: Path) -> None:
    for key, text in (("held.told", "Ida"), ("held.tried", "reset"), ("held.what", "it starts by itself")):
        assert correct(3, key, text, "--hide") == 0
    clock = Clock()
    clock.now = clock_of_the_system.now().replace(microsecond=0)
    desk = Desk(shop_at(shop), shop, clock, tokens("next"), Terminal("bench", 2), MACHINE)
    notice = desk.load().notice
    desk.close()
    assert "Held 20" in notice
    assert PIN not in notice
