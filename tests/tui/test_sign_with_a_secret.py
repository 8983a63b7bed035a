"""Signing with a PIN on the screen: masked, asked again when it was wrong, and in no text of the app."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from fake_stations import Bench, all_answered
from rich.console import Console
from rich.traceback import Traceback
from textual.widgets import Input
from textual.worker import WorkerFailed

from preflight.checklist.people import WrongSecretError

if TYPE_CHECKING:
    from opened_app import OpenApp
    from textual.pilot import Pilot

    from preflight.tui.run import Run
    from preflight.tui.wiring import Holding, Signing, Wiring

PIN = "48190375"


class LockedBench(Bench):
    """A bench whose people have a PIN, the first try of which is wrong."""

    def wiring(self) -> Wiring:
        def sign(_: Run, signing: Signing) -> str:
            self.signed.append(signing)
            if len(self.signed) == 1:
                raise WrongSecretError("This does not open the key of Bram Ostler.", "Try again.")
            return "Released for this job: record 12, signed by Bram Ostler."

        def hold(_: Run, holding: Holding) -> str:
            self.held.append(holding)
            if len(self.held) == 1:
                raise WrongSecretError("This does not open the key of Ada Quill.", "Try again.")
            return "Held: record 13, signed by Ada Quill."

        return replace(super().wiring(), sign=sign, hold=hold, secret_word=lambda _: "PIN")


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))


async def test_a_pin_is_masked_and_asked_again_when_it_was_wrong(open_app: OpenApp) -> None:
    bench = LockedBench(all_answered())
    async with open_app(bench) as (_, pilot):
        app = pilot.app
        await pilot.press("f8", "enter")
        await pilot.press("2")
        await pilot.press(*PIN[:-1], "6")
        assert app.screen.query_one("#secret", Input).password
        assert PIN[:-1] not in shown(pilot)
        assert "PIN, not shown" in shown(pilot)
        await pilot.press("enter", "f8")
        await pilot.pause(0.05)
        assert "This does not open the key of Bram Ostler. Try again." in shown(pilot)
        assert app.screen.query_one("#secret", Input).value == ""
        await pilot.press(*PIN, "enter", "f8")
        await pilot.pause(0.05)
        assert "signed by Bram Ostler" in shown(pilot)
        assert [signing.secret.reveal() for signing in bench.signed] == [PIN[:-1] + "6", PIN]
        assert PIN not in repr(bench.signed)


async def test_without_a_pin_nothing_is_signed(open_app: OpenApp) -> None:
    bench = LockedBench(all_answered())
    async with open_app(bench) as (_, pilot):
        app = pilot.app
        await pilot.press("f8", "enter")
        await pilot.press("2")
        await pilot.press("enter", "enter", "f8")
        assert app.screen.query_one("#secret", Input).has_focus
        assert bench.signed == []
        await pilot.press("escape")
        assert bench.signed == []


async def test_a_held_record_keeps_what_was_typed_when_the_pin_was_wrong(open_app: OpenApp) -> None:
    bench = LockedBench({**all_answered(), "tension.1": "5.1"})
    async with open_app(bench) as (_, pilot):
        app = pilot.app
        await pilot.press("f8", "h")
        await pilot.press("1")
        await pilot.press("enter", *"Ida", "enter", *"air", "enter", "1", "enter", "f8")
        await pilot.pause(0.05)
        assert "This does not open the key of Ada Quill." in shown(pilot)
        assert "48190375" not in shown(pilot)
        app.screen.query_one("#secret", Input).value = PIN
        await pilot.press("f8")
        await pilot.pause(0.05)
        assert [(one.told, one.tried, one.secret.reveal()) for one in bench.held] == [
            ("Ida", "air", "1"),
            ("Ida", "air", PIN),
        ]


async def test_a_crash_report_with_all_local_variables_holds_no_pin(open_app: OpenApp) -> None:
    class Broken(LockedBench):
        def wiring(self) -> Wiring:
            def sign(run: Run, signing: Signing) -> str:
                raise RuntimeError(f"a fault while signing for {signing.name}")

            return replace(super().wiring(), sign=sign)

    async def signed() -> None:
        async with open_app(Broken(all_answered())) as (_, pilot):
            await pilot.press("f8", "enter")
            await pilot.press("2")
            await pilot.press(*PIN, "enter", "f8")
            await pilot.app.workers.wait_for_complete()

    with pytest.raises(WorkerFailed) as caught:
        await signed()
    console = Console(file=io.StringIO(), width=200, record=True)
    error = caught.value.error
    console.print(Traceback.from_exception(type(error), error, error.__traceback__, show_locals=True))
    report = console.export_text()
    assert "signing = " in report
    assert "Secret(not shown)" in report
    assert PIN not in report
