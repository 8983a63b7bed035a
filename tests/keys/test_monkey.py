"""Random keys in bursts lose nothing, release nothing and fail nowhere; and the monkey would notice if they did."""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING

import pytest
from keys.keystrokes import KEYS_A_RUN, MOST_IN_A_BURST, SHOWN, Burst, bursts
from keys.ledger import lost, released
from keys.listening import Heard, Kind
from keys.monkey import MORNING, Outcome, planned, play, run, run_at_terminal
from keys.shops import OPERATOR, STATES, Templates, desk_of
from textual.widgets import Input

from preflight.tui.demo_shop import MEANING, YESTERDAY
from preflight.tui.run import Run
from preflight.tui.wiring import Signing

if TYPE_CHECKING:
    from pathlib import Path

    from keys.shops import MonkeyShop

SEEDS = range(12)
AT_A_TERMINAL = (2, 13)
QUICK = 100
"""Keys of a run in the suite; all 300 runs of 400 keys: python -m tests.keys.monkey."""


@pytest.fixture(scope="session")
def templates(tmp_path_factory: pytest.TempPathFactory) -> Templates:
    return Templates(tmp_path_factory.mktemp("monkey"))


@pytest.fixture(autouse=True)
def _own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for variable in ("HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(variable, str(tmp_path / variable))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setattr(Input, "cursor_blink", False)


LOADED = Burst((), SHOWN)


def shop_in(tmp_path: Path, templates: Templates, state: str, *, peopled: bool = False) -> MonkeyShop:
    return templates.shop(tmp_path / "run", state, Random(1), MORNING, peopled=peopled)


def outcome_of(state: str) -> Outcome:
    return Outcome(0, state, peopled=False, size=(80, 24))


@pytest.mark.parametrize("seed", SEEDS)
def test_random_keys_lose_nothing_release_nothing_and_fail_nowhere(
    seed: int, tmp_path: Path, templates: Templates
) -> None:
    outcome = run(seed, tmp_path, templates, QUICK)
    assert outcome.failures == [], outcome.line()
    assert outcome.keys >= QUICK


@pytest.mark.parametrize("seed", AT_A_TERMINAL)
def test_the_same_at_a_real_terminal(seed: int, tmp_path: Path, templates: Templates) -> None:
    outcome = run_at_terminal(seed, tmp_path, templates, QUICK)
    assert outcome.failures == [], outcome.line()
    assert outcome.keys >= QUICK


def test_a_seed_gives_the_same_keys_again() -> None:
    one, other = list(bursts(Random(7))), list(bursts(Random(7)))
    assert one == other
    assert sum(len(burst.keys) for burst in one) == KEYS_A_RUN
    assert max(len(burst.keys) for burst in one) == MOST_IN_A_BURST
    assert len({key for seed in range(20) for burst in bursts(Random(seed)) for key in burst.keys}) > 60


def test_every_state_comes_with_people_and_without() -> None:
    assert len({(planned(seed)[0].state, planned(seed)[0].peopled) for seed in range(16)}) == 2 * len(STATES)


def test_what_enter_left_standing_is_heard_with_its_row(tmp_path: Path, templates: Templates) -> None:
    shop = shop_in(tmp_path, templates, "complete")
    outcome = play(outcome_of("complete"), shop, [LOADED, Burst(("pageup",) * 10 + ("enter",) * 3, "idle")], Random(0))
    assert outcome.failures == []
    rows = {one.row: one.text for one in outcome.heard if one.kind is Kind.COMMITTED}
    assert rows
    assert all(YESTERDAY[row] == text for row, text in rows.items())


def test_an_answer_that_is_nowhere_is_noticed(tmp_path: Path, templates: Templates) -> None:
    shop = shop_in(tmp_path, templates, "complete")
    machine = next((shop.root / "drafts").glob("m-*.json")).stem
    kept, gone = (Heard(Kind.COMMITTED, machine, "tension.1", text) for text in ("4.2", "4.3"))
    assert lost(shop, [kept]) == []
    assert lost(shop, [kept, gone]) == ["tension.1 = '4.3' was left standing by Enter and is nowhere"]
    desk = desk_of(shop)
    loaded = desk.load().run
    desk.keep({**loaded.typed, "tension.1": "4.4"}, loaded.entered, {"tension.1": ((MORNING, "4.3"),)})
    desk.close()
    assert lost(shop, [gone]) == []
    assert lost(shop, [kept]) != []


def test_an_answer_that_the_app_forgets_is_noticed(
    tmp_path: Path, templates: Templates, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = shop_in(tmp_path, templates, "complete")
    monkeypatch.setattr(Run, "accepting", lambda self, _key: self)
    stock = ("pageup",) * 10
    typed = [Burst(stock, "idle"), Burst(("down", "enter", "up", *"29.1", "enter"), "idle")]
    retyped = [
        Burst(stock, "idle"),
        Burst((*("up",) * 8, "down", "backspace", *"31.7", "enter"), "idle"),
    ]
    outcome = play(outcome_of("complete"), shop, [LOADED, *typed, *retyped], Random(0))
    assert any("is nowhere" in failure for failure in outcome.failures), outcome.heard


def test_a_release_is_noticed(tmp_path: Path, templates: Templates) -> None:
    shop = shop_in(tmp_path, templates, "complete")
    assert released(shop, [], secret_known=False) == []
    desk = desk_of(shop)
    desk.sign(desk.load().run, Signing(OPERATOR, MEANING))
    desk.close()
    (found,) = released(shop, [Heard(Kind.CONFIRMED, row="held record")], secret_known=False)
    assert found.startswith(f"released by {OPERATOR} at")
    assert released(shop, [Heard(Kind.CONFIRMED, row="sign")], secret_known=False) == []
    assert len(released(replace(shop, peopled=True), [Heard(Kind.CONFIRMED, row="sign")], secret_known=False)) == 1


def test_a_failure_of_the_app_is_noticed(tmp_path: Path, templates: Templates, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> Run:
        raise RuntimeError("invented")

    shop = shop_in(tmp_path, templates, "complete")
    monkeypatch.setattr(Run, "typing", fails)
    outcome = play(outcome_of("complete"), shop, [LOADED, Burst(("pageup",) * 10 + ("down", "5"), "idle")], Random(0))
    assert outcome.failures
