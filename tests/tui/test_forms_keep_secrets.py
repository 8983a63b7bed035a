"""A PIN or passphrase typed into the wrong field of a form: refused, taken out, and nowhere afterwards. Every form."""

from __future__ import annotations

import hashlib
import threading
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, cast

import pytest
from checklist.people_samples import PASSPHRASE, PIN, PeopledShop
from desk_samples import MORNING, Clock, filled, tokens
from opened_app import burst
from textual.widgets import Input

from preflight.checklist.key_folder import KeyFolder
from preflight.shop.folder import shop_at
from preflight.shop.machine import Machine
from preflight.training.drill_file import written_drill
from preflight.training.sitting import begin
from preflight.tui.app import PreflightApp
from preflight.tui.charset import UNICODE
from preflight.tui.demo_shop import MACHINE
from preflight.tui.desk_door import DeskDoor
from preflight.tui.dialogues.form import Form
from preflight.tui.dialogues.practice import PracticeTalk
from preflight.tui.modes.audit import AuditScreen
from preflight.tui.practice_desk import PracticeDesk

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable
    from datetime import datetime
    from pathlib import Path

    from secrets_left import NoSecretLeft
    from textual.app import App
    from textual.pilot import Pilot

    from preflight.checklist.signing import Ed25519Signer
    from preflight.tui.modes.run import RunScreen

OPERATOR, TRAINER = "D. Marrow", "N. Fell"
WRONG = "20481937"
SIZES = [(60, 20), (80, 24)]
FORMS = ("sign", "hold", "job done", "countersign", "practice")


@pytest.fixture
def people(shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PeopledShop:
    """The shop founded this morning with an operator and a trainer, profiles approved; all keys on this terminal."""
    made = PeopledShop.founded(shop, tmp_path / "keys", MORNING - timedelta(hours=6))
    made.admit(OPERATOR, "operator", keep=True)
    made.admit(TRAINER, "trainer", keep=True)
    for folder, profile in (("machines", MACHINE), ("extraction", "hall-duct")):
        path = shop / folder / f"{profile}.toml"
        made.approve(f"{folder}/{path.stem}", hashlib.sha256(path.read_bytes()).hexdigest())
    monkeypatch.setenv("PREFLIGHT_KEYS", str(tmp_path / "keys"))
    return made


@dataclass
class OpenForm:
    """A form that somebody is about to fill in."""

    pilot: Pilot[None]
    secret: str
    """What opens the key of whoever signs."""
    wrong_field: str
    """A field that is no secret's."""
    rest: dict[str, str]
    """Good answers to everything but the secret."""
    after: str = ""
    """What stands on the screen once it is saved and everything was read anew."""
    screens: list[str] = field(default_factory=list)

    @property
    def form(self) -> Form:
        assert isinstance(self.pilot.app.screen, Form)
        return self.pilot.app.screen

    def value(self, key: str) -> str:
        return self.form.query_one(f"#{key}", Input).value

    @property
    def at(self) -> str:
        """The field where the next key goes."""
        focused = self.form.focused
        return (focused.id or "") if focused is not None else ""

    def shown(self) -> str:
        """What stands in the form's box; the whole screen is kept for the search."""
        screen = self.pilot.app.screen
        lines = [strip.text for strip in screen._compositor.render_strips(screen.size)]
        self.screens.append("\n".join(lines))
        box = screen.query_one("#frame").region if isinstance(screen, Form) else screen.region
        inside = (line[box.x : box.right].strip("│ ") for line in lines[box.y : box.bottom])
        return " ".join(" ".join(inside).split())

    async def type_at(self, key: str, text: str) -> None:
        """Go there and type it, in place of what stands there."""
        entry = self.form.query_one(f"#{key}", Input)
        entry.value = ""
        entry.focus()
        await self.pilot.pause()
        await self.pilot.press(*("space" if one == " " else one for one in text))

    async def answer(self) -> None:
        """Fill in everything but the secret."""
        for key, text in self.rest.items():
            self.form.query_one(f"#{key}", Input).value = text
        await self.pilot.pause()

    async def saved(self) -> None:
        """Until the record is there, the form is gone and all was read anew."""
        app = self.pilot.app
        await until(self.pilot, lambda: not isinstance(app.screen, Form))
        await until(self.pilot, lambda: self.after in _text(self.pilot))

    async def confirm(self) -> None:
        """The key that saves; then until the form has answered."""
        form = self.form
        await self.pilot.press("f8")
        await until(self.pilot, lambda: self.pilot.app.screen is not form or not form.saving)
        await self.pilot.pause()


async def until(pilot: Pilot[None], held: Callable[[], object]) -> None:
    for _ in range(6000):
        if held():
            return
        await pilot.pause(0.01)
    raise AssertionError("it never came to that")


def records(shop: Path) -> int:
    return len(list(shop.glob("checklists/*/*/*.toml")))


async def opened_form(kind: str, pilot: Pilot[None], people: PeopledShop) -> OpenForm:
    """The form of that kind in the app, as one comes to it by keys."""
    app, shop = pilot.app, people.shop
    if kind == "practice":
        desk = PracticeDesk(shop, Clock(), tokens("5eed"), people.keys)
        talk = PracticeTalk(cast("App[object]", app), desk, UNICODE)
        app.run_worker(talk.begin(begin(written_drill("fan-last"), 2), False, OPERATOR))
        await until(pilot, lambda: _is_open(pilot))
        return OpenForm(pilot, PIN, "name", {"name": OPERATOR})
    if kind == "countersign":
        await pilot.press("ctrl+r")
        await until(pilot, lambda: isinstance(app.screen, AuditScreen))
        audit = cast("AuditScreen", app.screen)
        await until(pilot, lambda: audit.desk.looked)
        await pilot.press("f3")
        await until(pilot, lambda: bool(audit.page.rows))
        machine = shop_at(shop).load(Machine, MACHINE).value.id
        await until(pilot, lambda: any(one.machine == machine for one in audit.page.rows))
        row = next(n for n, one in enumerate(audit.page.rows) if one.machine == machine)
        await pilot.press(*["down"] * row, "enter")
        await until(pilot, lambda: audit.view == "record")
        await pilot.press("f8")
        await until(pilot, lambda: "Who countersigns" in _text(pilot))
        await pilot.press("1")
        await until(pilot, lambda: _is_open(pilot))
        return OpenForm(pilot, PASSPHRASE, "remark", {"remark": "read with him"})
    keys, number = {
        "sign": (("f8", "s"), "4"),  # another name
        "hold": (("f8", "h"), "2"),
        "job done": (("ctrl+o",), "2"),
    }[kind]
    await pilot.press(*keys)
    await until(pilot, lambda: "Who signs" in _text(pilot))
    await pilot.press(number)
    await until(pilot, lambda: _is_open(pilot))
    if kind == "sign":
        return OpenForm(pilot, PIN, "name", {"name": OPERATOR}, "go on: feed")
    if kind == "hold":
        answers = {"what": "regulator sticks", "told": "Ida", "tried": "tapped it"}
        return OpenForm(pilot, PIN, "told", answers, "go on from here")
    return OpenForm(pilot, PIN, "fed", {"hours": "2"}, "back to the sheet")


def _is_open(pilot: Pilot[None]) -> bool:
    return isinstance(pilot.app.screen, Form) and pilot.app.screen.focused is not None


def _text(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return " ".join(strip.text for strip in screen._compositor.render_strips(screen.size))


@asynccontextmanager
async def opened(people: PeopledShop, kind: str, size: tuple[int, int]) -> AsyncIterator[OpenForm]:
    door = DeskDoor(people.shop, MACHINE, Clock(), tokens("door"), "bench", 7)
    app = PreflightApp(door.wiring())
    app.animation_level = "none"
    try:
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await app.workers.wait_for_complete()
            await pilot.pause()
            screen = cast("RunScreen", app.screen)
            screen.run = filled(screen.run, **({"tension__1": "5.9"} if kind == "hold" else {}))
            screen.keep()
            yield await opened_form(kind, pilot, people)
    finally:
        door.close()


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("kind", FORMS)
async def test_a_pin_in_the_wrong_field_is_taken_out_said_in_front_and_left_nowhere(
    people: PeopledShop, no_secret_left: NoSecretLeft, kind: str, size: tuple[int, int]
) -> None:
    before = records(people.shop)
    async with opened(people, kind, size) as one:
        await one.type_at(one.wrong_field, one.secret + one.secret if kind != "countersign" else PIN)
        await one.pilot.press("enter")
        await one.pilot.pause()
        text = one.shown()
        assert "looked like a PIN" in text
        assert (one.value(one.wrong_field), one.at) == ("", one.wrong_field)
        assert PIN not in text
        await one.answer()
        # typed where it belongs, and before that once more in the wrong place, this time with words around it
        await one.type_at(one.wrong_field, f"it is {one.secret}")
        await one.type_at("secret", one.secret)
        await one.confirm()
        text = one.shown()
        assert "held the PIN or passphrase" in text
        assert "taken out and kept nowhere" in text
        assert (one.value(one.wrong_field), one.at) == ("", one.wrong_field)
        assert records(people.shop) == before
        await one.answer()
        await one.type_at("secret", one.secret)
        await one.confirm()
        await one.saved()
        assert records(people.shop) == before + 1
        one.shown()
    no_secret_left([PIN, PASSPHRASE], people.shop, one.screens)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("kind", FORMS)
async def test_after_a_wrong_secret_the_cursor_is_in_its_emptied_field_and_a_retyped_one_goes_there(
    people: PeopledShop, no_secret_left: NoSecretLeft, kind: str, size: tuple[int, int]
) -> None:
    before = records(people.shop)
    async with opened(people, kind, size) as one:
        await one.answer()
        await one.type_at("secret", WRONG)
        await one.pilot.press("enter")
        await one.confirm()
        text = one.shown()
        assert "This does not open the key" in text
        assert (one.value("secret"), one.at) == ("", "secret")
        assert all(one.value(key) == answer for key, answer in one.rest.items())
        secret = one.form.query_one("#secret")
        assert one.form.query_one("#fields").region.contains_region(secret.region)  # in view, under the refusal
        await one.pilot.press(*("space" if letter == " " else letter for letter in one.secret), "enter")
        await one.confirm()
        await one.saved()
        assert records(people.shop) == before + 1
        one.shown()
    no_secret_left([PIN, PASSPHRASE, WRONG], people.shop, one.screens)


@pytest.mark.parametrize("kind", ["hold", "countersign"])
async def test_a_text_that_opens_the_key_of_somebody_else_here_does_not_leave_the_form(
    people: PeopledShop, no_secret_left: NoSecretLeft, kind: str
) -> None:
    before = records(people.shop)
    async with opened(people, kind, (80, 24)) as one:
        await one.answer()
        other = PASSPHRASE if one.secret == PIN else f"pressed {PIN} by habit"
        await one.type_at(one.wrong_field, other)
        await one.type_at("secret", one.secret)
        await one.confirm()
        text = one.shown()
        assert "opens a key" in text
        assert (one.value(one.wrong_field), one.at) == ("", one.wrong_field)
        assert records(people.shop) == before
        tries = list(people.keys.path.glob("*.tries"))
        assert tries == []  # it was no try to sign
    no_secret_left([PIN, PASSPHRASE], people.shop, one.screens)


@pytest.mark.parametrize("kind", FORMS)
async def test_two_hundred_enters_save_nothing_from_any_form(people: PeopledShop, kind: str) -> None:
    before = records(people.shop)
    async with opened(people, kind, (60, 20)) as one:
        await one.answer()
        await one.type_at("secret", one.secret)
        for _ in range(20):
            await burst(one.pilot, *["enter"] * 10)
        assert one.at == "confirm"
        assert "Enter does not do this: F8, or Ctrl+S." in one.shown()
        button = one.form.query_one("#confirm")
        assert one.form.query_one("#fields").region.contains_region(button.region)  # in view, under what is said
        assert records(people.shop) == before
        await one.pilot.press("ctrl+s")
        await one.saved()
        assert records(people.shop) == before + 1


@pytest.mark.parametrize("kind", FORMS)
async def test_while_a_record_is_saved_no_key_leaves_the_form_or_changes_it(
    people: PeopledShop, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, opens, go_on = records(people.shop), threading.Event(), threading.Event()
    opened_before = KeyFolder.opened

    def slowly(keys: KeyFolder, key_id: str, name: str, secret: str, now: datetime) -> Ed25519Signer:
        opens.set()
        assert go_on.wait(60)
        return opened_before(keys, key_id, name, secret, now)

    monkeypatch.setattr(KeyFolder, "opened", slowly)
    async with opened(people, kind, (80, 24)) as one:
        await one.answer()
        await one.type_at("secret", one.secret)
        form = one.form
        await one.pilot.press("f8")
        await until(one.pilot, opens.is_set)
        await one.pilot.press("escape", "f8", "1", "enter", "ctrl+s", "ctrl+q")
        assert one.form is form
        assert records(people.shop) == before
        go_on.set()
        await one.saved()
        assert records(people.shop) == before + 1
