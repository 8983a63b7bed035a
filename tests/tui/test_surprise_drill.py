"""A surprise drill after a signed start-up: offered when due, marked as practice, and nothing saved is touched."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from fake_stations import NOON, Bench, all_answered
from practice_samples import book, by, judged, tokens

from preflight.checks.finding import Verdict
from preflight.training.question import causes, remedies
from preflight.training.records import practice
from preflight.tui.dialogues.practice import PracticePick
from preflight.tui.modes.train import TrainScreen
from preflight.tui.practice_desk import PracticeDesk

if TYPE_CHECKING:
    from collections.abc import Callable

    from opened_app import OpenApp
    from textual.pilot import Pilot

    from preflight.tui.wiring import Wiring

NAME = "Bram Ostler"
FORTNIGHT = timedelta(days=14)


@dataclass
class PractisingBench(Bench):
    """A bench at a terminal with practice."""

    shop: Path = field(default_factory=Path)

    def wiring(self) -> Wiring:
        return replace(super().wiring(), practice=lambda: PracticeDesk(self.shop, lambda: NOON, tokens("5eed")))


@pytest.fixture
def bench(tmp_path: Path) -> PractisingBench:
    """Everything answered, by somebody who practised a fortnight ago; a record of a machine lies beside."""
    drill = judged("fan-last")
    book(tmp_path).save_drill(drill.drill, drill.marked, 1, by(NAME, NOON - FORTNIGHT))
    other = tmp_path / "checklists" / "m-7f3a91c2d04e" / "00000" / "00000001.toml"
    other.parent.mkdir(parents=True)
    other.write_bytes(b"as it was\n")
    return PractisingBench(all_answered(), shop=tmp_path)


def digests(shop: Path) -> dict[str, str]:
    """Every file of the shop but those of practice."""
    files = [one for one in shop.rglob("*") if one.is_file() and not one.parents[1].name.startswith("practice-")]
    return {str(one): hashlib.sha256(one.read_bytes()).hexdigest() for one in files}


def shown(pilot: Pilot[None]) -> str:
    screen = pilot.app.screen
    return "\n".join(strip.text for strip in screen._compositor.render_strips(screen.size))


async def until(pilot: Pilot[None], held: Callable[[], object]) -> None:
    for _ in range(100):
        await pilot.pause(0.02)
        if held():
            return
    raise AssertionError("it did not come to that")


async def sign(pilot: Pilot[None]) -> None:
    await pilot.press("f8", "enter", "2", "f8")


async def answer(pilot: Pilot[None], number: int, *then: str) -> None:
    """Pick a line of the practice box that is open, or comes next."""
    await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
    dialogue = pilot.app.screen
    assert "PRACTICE" in shown(pilot)
    await pilot.press(str(number), *then)
    await until(pilot, lambda: pilot.app.screen is not dialogue)


async def test_it_is_offered_after_the_signature_and_kept_apart(open_app: OpenApp, bench: PractisingBench) -> None:
    async with open_app(bench) as (screen, pilot):
        await sign(pilot)
        await until(pilot, lambda: "The start-up is saved" in shown(pilot))
        assert len(bench.signed) == 1
        before, drafts = digests(bench.shop), list(bench.saved)
        sheet = screen.run
        await answer(pilot, 1)
        await until(pilot, lambda: "I practise; nothing is started." in shown(pilot))
        assert "PRACTICE" in shown(pilot)
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, TrainScreen))
        view = pilot.app.screen
        assert isinstance(view, TrainScreen)
        assert view.sitting is not None
        drill, (check,) = view.sitting.drill, view.sitting.drill.asked
        await until(pilot, lambda: "PRACTICE" in shown(pilot) and "0 of 1 judged" in shown(pilot))
        assert drill.situation.split(".")[0] in shown(pilot)
        await pilot.press("enter")
        verdict = view.sitting.result(check).verdict
        await answer(pilot, int(verdict) + 1, "enter")
        for fault in drill.faults_at(check):
            await answer(pilot, causes(drill, check).choices.index(fault.cause) + 1, "enter")
            await answer(pilot, remedies(drill, check).choices.index(fault.remedy) + 1, "enter")
        await until(pilot, lambda: f"it is {verdict.word}" in shown(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: "Score 100 of 100" in shown(pilot))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, PracticePick))
        assert "next drill" not in shown(pilot)
        assert "Kept as practice of Bram Ostler" in shown(pilot)
        await answer(pilot, 1)
        await until(pilot, lambda: "Saved as record 12" in shown(pilot))
        kept = practice(bench.shop)[-1]
        assert (kept.trainee, kept.table["surprise"], kept.table["random"]) == (NAME, True, False)
        assert digests(bench.shop) == before
        assert (screen.run, bench.saved, len(bench.signed)) == (sheet, drafts, 1)


async def test_not_today_leads_straight_on(open_app: OpenApp, bench: PractisingBench) -> None:
    async with open_app(bench) as (_, pilot):
        await sign(pilot)
        await answer(pilot, 2)
        await until(pilot, lambda: "Saved as record 12" in shown(pilot))
        assert len(practice(bench.shop)) == 1


@pytest.mark.parametrize("why", ["opted out", "not due", "never practised", "held"])
async def test_it_is_not_offered(open_app: OpenApp, bench: PractisingBench, why: str) -> None:
    if why == "opted out":
        (bench.shop / "training.toml").write_text("surprise_days = 0\n", encoding="utf-8")
    elif why == "not due":
        (bench.shop / "training.toml").write_text("surprise_days = 15\n", encoding="utf-8")
    elif why == "held":
        bench.typed = {**bench.typed, "tension.1": "5.1"}
    async with open_app(bench) as (screen, pilot):
        if why == "held":
            assert screen.run.overall is Verdict.STOP
            await pilot.press("f8", "h", "2", "enter", *"Ida", "enter", *"air", "enter", "f8")
        else:
            await pilot.press("f8", "enter", "1" if why == "never practised" else "2", "f8")
        await until(pilot, lambda: "Saved as " in shown(pilot))
        assert "PRACTICE" not in shown(pilot)


async def test_the_key_that_leaves_the_app_gives_up_a_drill_on_record(
    open_app: OpenApp, bench: PractisingBench
) -> None:
    async with open_app(bench) as (screen, pilot):
        await pilot.press("ctrl+t")
        await answer(pilot, 1)  # Bram Ostler
        await answer(pilot, 3)
        await until(pilot, lambda: "PRACTICE" in shown(pilot) and "F8 or Ctrl+S" in shown(pilot))
        await pilot.press("f8")
        await until(pilot, lambda: isinstance(pilot.app.screen, TrainScreen) and not pilot.app.screen.talking)
        await pilot.press("ctrl+q")
        await until(pilot, lambda: "Leave this drill? 0 of 11 stations judged." in shown(pilot))
        await answer(pilot, 2)
        await until(pilot, lambda: "given up: record 3" in shown(pilot))
        assert practice(bench.shop)[-1].drill.given_up
        await pilot.press("escape")
        await until(pilot, lambda: pilot.app.screen is screen)
