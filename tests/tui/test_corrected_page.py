"""The page of a corrected record: what is right stands first, what is hidden is shown by a key and by nothing else."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, cast

import pytest
from audit.audit_samples import MACHINE, NOW, add_record
from fake_stations import Bench
from secrets_left import secrets_left

from preflight.checklist.addition import correction, save_addition
from preflight.checklist.heading import Signature
from preflight.checklist.machine_records import record
from preflight.checklist.register import Register
from preflight.checklist.signatory import Signatory
from preflight.tui.app import PreflightApp
from preflight.tui.audit_desk import AuditDesk
from preflight.tui.modes.audit import AuditScreen

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from textual.pilot import Pilot

PIN = "48190375"
BY = "D. Marrow"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A held record in which a PIN stands under "told", and the correction that hides it."""
    folder = tmp_path / "shop"
    folder.mkdir()
    held = {"what": "restart by itself", "told": PIN, "tried": f"reset, {PIN}"}
    add_record(folder, 1, heading={"kind": "held", "verdict": "stop"}, held=held)
    about = record(folder, MACHINE, 1, Register())
    for key, text in (("held.told", "Ida"), ("held.tried", "reset")):
        word = f"correcting-{key}".replace(".", "-")
        signature = Signature(BY, "operator", "This answer was recorded wrongly; the right one stands here.", NOW)
        body = correction(about, key, text, "wrong field", word, signature, hides=True)
        save_addition(folder, MACHINE, body, word, Signatory(BY, "operator", None), f"{word}-file")
    return folder


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))


async def until(pilot: Pilot[None], held: Callable[[], object]) -> None:
    for _ in range(3000):
        if held():
            return
        await pilot.pause(0.01)
    raise AssertionError("it never came to that")


async def test_the_correction_stands_first_and_a_key_shows_what_it_hides(shop: Path, tmp_path: Path) -> None:
    app = PreflightApp(Bench().wiring())
    app.animation_level = "none"
    count = itertools.count()
    async with app.run_test(size=(80, 24)) as pilot:
        desk = AuditDesk(shop, lambda: NOW, tmp_path / "cache", None, lambda: f"token-{next(count):08d}")
        await app.push_screen(AuditScreen(desk, app.charset))
        screen = cast("AuditScreen", app.screen)
        await until(pilot, lambda: desk.looked)
        screens = [shown(pilot)]
        await pilot.press("f3")
        await until(pilot, lambda: len(screen.page.rows) == 3)
        screens.append(shown(pilot))
        place = next(n for n, one in enumerate(screen.page.rows) if one.kind == "held")
        await pilot.press(*["down"] * place, "enter")
        await until(pilot, lambda: screen.view == "record")
        await pilot.pause()
        lines = shown(pilot).splitlines()
        assert lines[1].strip() == "Corrected"
        assert "held.told is Ida, not [hidden]: wrong field." in lines[2]
        assert "F9 shows it" in shown(pilot)
        for _ in range(10):
            screens.append(shown(pilot))
            await pilot.press("pagedown")
        assert secrets_left([PIN], [], screens) == []
        await pilot.press("f9")
        await until(pilot, lambda: f"held.told is Ida, not {PIN}" in shown(pilot))
        await pilot.press("f9")
        await until(pilot, lambda: "held.told is Ida, not [hidden]" in shown(pilot))
        assert PIN not in shown(pilot)
